//! Demand by brake pipe: a closed end cock takes away charging and demand behind it, and leaves
//! what is commanded by wire.

use domain::circuit::Mode;
use domain::circuit::state::Impaired;
use domain::circuit::train::TrainCircuit;
use domain::configuration::car::Orientation;
use domain::isolation::effect::{Effect, effect};
use domain::isolation::{CutOutState, Supply};
use tests::car_type_text::car_type;
use tests::reference_unit::{compiled, cut_out, train};

/// A car with a distributor on the brake pipe and an auxiliary reservoir filled from it, and a
/// magnet valve commanded by wire in service.
pub(super) const COACH: &str = "
    bogies 2
    =H-Q1 cock kind=end_cock
    =H-Q2 cock kind=end_cock
    end1:brake_pipe <> =H-Q1 brake_pipe_air
    end1:brake_pipe <> =H-Q1 brake_pipe_demand
    end2:brake_pipe <> =H-Q2 brake_pipe_air
    end2:brake_pipe <> =H-Q2 brake_pipe_demand
    =H-Q1 <> =H-Q2 brake_pipe_air
    =H-Q1 <> =H-Q2 brake_pipe_demand
    =H-V1 check_valve
    =H-Q1 > =H-V1 brake_pipe_air
    =H-Q2 > =H-V1 brake_pipe_air
    =H-R1 reservoir
    =H-V1 > =H-R1 brake_pipe_air
    =H-K1 all_of kind=distributor_valve
    =H-R1 > supply@=H-K1 brake_pipe_air
    =H-Q1 > brake_pipe@=H-K1 brake_pipe_demand
    =H-Q2 > brake_pipe@=H-K1 brake_pipe_demand
    =E-X1 pass
    end1:brake_wire <> =E-X1 electrical_demand
    end2:brake_wire <> =E-X1 electrical_demand
    =E-Y1 all_of kind=magnet_valve
    =E-X1 > command@=E-Y1 electrical_demand
    =H-R1 > supply@=E-Y1 brake_pipe_air
    =B-W1 any_of
    =H-K1 > =B-W1 cylinder_pressure
    =E-Y1 > =B-W1 cylinder_pressure
    =B-C1 air axle=1
    =B-W1 > =B-C1 cylinder_pressure
";

/// What the leading car has besides: brake valve, controller, supply of the brake pipe.
const CAB: &str = "
    =H-G1 source always
    =H-G1 > =H-Q1 brake_pipe_air
    =H-G1 > =H-Q2 brake_pipe_air
    =H-A1 source emergency kind=brake_controller
    =H-A1 > =H-Q1 brake_pipe_demand
    =H-A1 > =H-Q2 brake_pipe_demand
    =E-A1 source service kind=brake_controller
    =E-A1 > =E-X1 electrical_demand
";

pub(super) fn four_cars() -> TrainCircuit {
    four_cars_of(COACH)
}

/// The same with other coaches behind the leading car.
pub(super) fn four_cars_of(coach: &str) -> TrainCircuit {
    let cab = compiled(&car_type("cab", &format!("{COACH}{CAB}")));
    let coach = compiled(&car_type("coach", coach));
    train(&[
        (&cab, Orientation::Forward),
        (&coach, Orientation::Forward),
        (&coach, Orientation::Reversed),
        (&coach, Orientation::Forward),
    ])
}

fn braking(effect: &Effect) -> Vec<u32> {
    effect.counts.each_car.iter().map(|c| c.available).collect()
}

#[test]
fn a_closed_end_cock_deprives_the_cars_behind_it_of_emergency_braking() {
    let train = four_cars();
    let sound = effect(&train.sound(), Mode::Emergency, Supply::Exhausted);
    assert_eq!(braking(&sound), [1, 1, 1, 1]);
    // Car 3 is reversed: its end 2 comes first.
    for (cock, left) in [
        (cut_out(1, "=H-Q1", CutOutState::SupplyCut), [1, 0, 0, 0]),
        (cut_out(1, "=H-Q2", CutOutState::SupplyCut), [1, 1, 0, 0]),
        (cut_out(2, "=H-Q1", CutOutState::SupplyCut), [1, 1, 1, 0]),
    ] {
        let state = train.impaired(&[cock]).unwrap();
        for supply in Supply::ALL {
            assert_eq!(braking(&effect(&state, Mode::Emergency, *supply)), left);
        }
    }
}

#[test]
fn a_command_by_wire_still_brakes_behind_the_closed_cock_until_the_air_is_used_up() {
    let train = four_cars();
    let cock = cut_out(1, "=H-Q2", CutOutState::SupplyCut);
    let state = train.impaired(&[cock]).unwrap();
    let now = effect(&state, Mode::Service, Supply::Now);
    assert_eq!(braking(&now), [1, 1, 1, 1]);
    let later = effect(&state, Mode::Service, Supply::Exhausted);
    assert_eq!(braking(&later), [1, 1, 0, 0]);
}

fn may_drag(train: &TrainCircuit, cut_outs: &[Impaired]) -> Vec<bool> {
    let state = train.impaired(cut_outs).unwrap();
    let effect = effect(&state, Mode::Emergency, Supply::Now);
    effect.actuators.iter().map(|a| a.may_drag).collect()
}

/// Leakage of the pipe behind may apply the brake, a reduction shut in may hold it on: practice
/// D.2, common practice, no source.
#[test]
fn a_distributor_cut_off_from_its_pipe_with_its_reservoir_charged_may_hold_its_brake_on() {
    let train = four_cars();
    for state in [
        CutOutState::ClosedTrapped,
        CutOutState::SupplyCut,
        CutOutState::ClosedVented,
        CutOutState::Failed,
    ] {
        let cut = cut_out(2, "=H-Q2", state);
        assert_eq!(
            may_drag(&train, &[cut]),
            [false, false, true, true],
            "{state}"
        );
    }
}

#[test]
fn no_brake_is_held_on_whose_reservoir_or_cylinder_is_emptied_too() {
    let train = four_cars();
    let closed = || cut_out(2, "=H-Q2", CutOutState::SupplyCut);
    for emptied in ["=H-R1", "=H-K1", "=B-W1", "=B-C1"] {
        let emptied = cut_out(2, emptied, CutOutState::ClosedVented);
        let held = may_drag(&train, &[closed(), emptied]);
        assert_eq!(held, [false, false, false, true]);
    }
    let pulled_off = cut_out(3, "=B-C1", CutOutState::ReleasedByHand);
    let held = may_drag(&train, &[closed(), pulled_off]);
    assert_eq!(held, [false, false, true, false]);
}
