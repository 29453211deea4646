//! Constructed example: a unit of cars A, B, C with bogies A1 to C2 and axles 1 to 12, one
//! control unit and one venting cylinder cock a bogie, one supply reservoir and supply cock a
//! car, the compressor in B, parking cylinders on axles 1, 4, 9 and 12. The expected figures
//! were counted by hand.

use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::state::{Impaired, TrainState};
use domain::circuit::train::TrainCircuit;
use domain::circuit::{End, Mode, Place};
use domain::configuration::car::Orientation;
use domain::isolation::CutOutState::{ClosedVented, Failed, ReleasedByHand, SupplyCut};
use domain::isolation::Supply;
use domain::isolation::cause::{Cause, CauseKind};
use domain::isolation::effect::{AppliedBy, Availability, Effect, effect};
use domain::isolation::tally::Share;
use std::sync::Arc;
use tests::car_type_text::{car_type, read};
use tests::reference_unit::ParkingAir::{MainPipe, SupplyBranch};
use tests::reference_unit::{compiled, cut_out, end_car, middle_car, three_car_units, train};

/// Operative braked axles and all of them; the same in service and emergency.
fn braked_axles(state: &TrainState<'_>, supply: Supply) -> (u32, u32) {
    let axles = |mode| {
        let share = effect(state, mode, supply).counts.axles;
        (share.operative, share.total)
    };
    assert_eq!(axles(Mode::Service), axles(Mode::Emergency));
    axles(Mode::Service)
}

/// Parking cylinders that hold and all of them; the same now and later.
fn holding(state: &TrainState<'_>) -> (u32, u32) {
    let tally = |supply| effect(state, Mode::Holding, supply).counts.actuators;
    assert_eq!(tally(Supply::Now), tally(Supply::Exhausted));
    (tally(Supply::Now).available, tally(Supply::Now).total)
}

/// The cars (from 0) and positions of spring-applied brakes that drag while running.
fn dragging(state: &TrainState<'_>, supply: Supply) -> Vec<(usize, String)> {
    let effect = effect(state, Mode::Service, supply);
    let dragging = effect
        .actuators
        .iter()
        .filter(|a| a.availability == Availability::Dragging);
    dragging.map(|a| (a.car, a.position.to_string())).collect()
}

fn state<'t>(train: &'t TrainCircuit, impaired: &[Impaired]) -> TrainState<'t> {
    train.impaired(impaired).unwrap()
}

fn causes(effect: &Effect, kind: AppliedBy) -> Vec<String> {
    let spoiled = effect
        .actuators
        .iter()
        .filter(|a| a.applied_by == kind && a.availability != Availability::Available);
    let mut causes: Vec<String> = spoiled
        .flat_map(|a| &a.why)
        .map(|cause| format!("{} {}", cause.car_number, cause.position))
        .collect();
    causes.sort();
    causes.dedup();
    causes
}

fn share(operative: u32, partial: u32, total: u32) -> Share {
    Share {
        operative,
        partial,
        total,
    }
}

#[test]
fn a_sound_unit_brakes_and_holds_with_everything() {
    let train = three_car_units(1, MainPipe);
    let sound = train.sound();
    for supply in Supply::ALL {
        assert_eq!(braked_axles(&sound, *supply), (12, 12));
        assert_eq!(dragging(&sound, *supply), []);
    }
    assert_eq!(holding(&sound), (4, 4));
}

#[test]
fn one_vented_cylinder_cock_takes_two_axles_and_counts_differ_by_what_is_counted() {
    let train = three_car_units(1, MainPipe);
    let state = state(&train, &[cut_out(0, "=B2-Q1", ClosedVented)]);
    for supply in Supply::ALL {
        assert_eq!(braked_axles(&state, *supply), (10, 12));
    }
    let effect = effect(&state, Mode::Emergency, Supply::Now);
    assert_eq!(effect.counts.bogies, share(5, 0, 6));
    assert_eq!(effect.counts.cars, share(2, 1, 3));
    assert_eq!(holding(&state), (4, 4));
    assert_eq!(causes(&effect, AppliedBy::Air), ["1 =B2-Q1"]);
}

#[test]
fn a_supply_cock_shut_without_venting_takes_nothing_now_and_a_car_later() {
    let train = three_car_units(1, MainPipe);
    let state = state(&train, &[cut_out(2, "=S-Q1", SupplyCut)]);
    assert_eq!(braked_axles(&state, Supply::Now), (12, 12));
    assert_eq!(braked_axles(&state, Supply::Exhausted), (8, 12));
    assert_eq!(holding(&state), (4, 4));
    assert_eq!(dragging(&state, Supply::Exhausted), []);
    let later = effect(&state, Mode::Service, Supply::Exhausted);
    assert_eq!(causes(&later, AppliedBy::Air), ["3 =S-Q1"]);
}

#[test]
fn parking_air_from_behind_the_shut_supply_cock_lets_springs_creep_on() {
    let train = three_car_units(1, SupplyBranch);
    let state = state(&train, &[cut_out(2, "=S-Q1", SupplyCut)]);
    assert_eq!(dragging(&state, Supply::Now), []);
    let (axle_12, axle_9) = ((2, "=P-C1".to_owned()), (2, "=P-C4".to_owned()));
    assert_eq!(dragging(&state, Supply::Exhausted), [axle_12, axle_9]);
    assert_eq!(holding(&state), (4, 4));
}

#[test]
fn a_supply_cock_that_vents_empties_the_reservoir_at_once() {
    let train = three_car_units(1, MainPipe);
    let state = state(&train, &[cut_out(2, "=S-Q1", ClosedVented)]);
    assert_eq!(braked_axles(&state, Supply::Now), (8, 12));
}

#[test]
fn a_shut_main_pipe_cock_starves_the_car_behind_it_and_its_springs_creep_on() {
    let train = three_car_units(1, MainPipe);
    let state = state(&train, &[cut_out(1, "=M-Q2", SupplyCut)]);
    assert_eq!(braked_axles(&state, Supply::Now), (12, 12));
    assert_eq!(braked_axles(&state, Supply::Exhausted), (8, 12));
    assert_eq!(dragging(&state, Supply::Now), []);
    let later = effect(&state, Mode::Service, Supply::Exhausted);
    let (axle_12, axle_9) = ((2, "=P-C1".to_owned()), (2, "=P-C4".to_owned()));
    assert_eq!(dragging(&state, Supply::Exhausted), [axle_12, axle_9]);
    assert_eq!(causes(&later, AppliedBy::Spring), ["2 =M-Q2"]);
    assert_eq!(causes(&later, AppliedBy::Air), ["2 =M-Q2"]);
}

#[test]
fn both_cylinder_cocks_of_an_end_car_leave_it_unbraked_whichever_end_leads() {
    let train = three_car_units(1, MainPipe);
    let cocks = ["=B1-Q1", "=B2-Q1"].map(|cock| cut_out(0, cock, ClosedVented));
    let state = state(&train, &cocks);
    for supply in Supply::ALL {
        assert_eq!(braked_axles(&state, *supply), (8, 12));
    }
    let effect = effect(&state, Mode::Emergency, Supply::Now);
    let available: Vec<u32> = effect.counts.each_car.iter().map(|c| c.available).collect();
    assert_eq!(available, [0, 8, 8]);
    assert_eq!(holding(&state), (4, 4));
}

#[test]
fn parking_brakes_released_by_hand_halve_what_holds_and_neither_drag_nor_take_braking() {
    let train = three_car_units(1, MainPipe);
    let by_hand = ["=P-C1", "=P-C4"].map(|cylinder| cut_out(0, cylinder, ReleasedByHand));
    let state = state(&train, &by_hand);
    for supply in Supply::ALL {
        assert_eq!(braked_axles(&state, *supply), (12, 12));
        assert_eq!(dragging(&state, *supply), []);
    }
    assert_eq!(holding(&state), (2, 4));
    // Held gradient is in proportion to force: 60 ‰ on four is 30 ‰ on two.
    let force = effect(&state, Mode::Holding, Supply::Now).holding.unwrap();
    assert_eq!((force.available_n, force.total_n), (40_000, 80_000));
    assert_eq!(60 * force.available_n / force.total_n, 30);
}

#[test]
fn a_dead_compressor_of_two_units_takes_nothing_until_the_cock_between_them_is_shut() {
    let train = three_car_units(2, MainPipe);
    let dead = cut_out(4, "=M-G1", Failed);
    let coupled = state(&train, std::slice::from_ref(&dead));
    for supply in Supply::ALL {
        assert_eq!(braked_axles(&coupled, *supply), (24, 24));
        assert_eq!(dragging(&coupled, *supply), []);
    }
    assert_eq!(holding(&coupled), (8, 8));

    // Car 3 is turned round: its end 1 faces the second unit.
    let shut = state(&train, &[dead, cut_out(2, "=M-Q1", SupplyCut)]);
    assert_eq!(braked_axles(&shut, Supply::Now), (24, 24));
    assert_eq!(braked_axles(&shut, Supply::Exhausted), (12, 24));
    let later = effect(&shut, Mode::Service, Supply::Exhausted);
    assert_eq!(causes(&later, AppliedBy::Air), ["3 =M-Q1", "5 =M-G1"]);
    assert_eq!(dragging(&shut, Supply::Exhausted).len(), 4);
}

#[test]
fn without_a_compressor_in_the_train_no_cut_out_is_blamed() {
    let train = three_car_units(1, MainPipe);
    let end = train.cars()[0].clone();
    let alone = TrainCircuit::new(vec![end]);
    let later = effect(&alone.sound(), Mode::Service, Supply::Exhausted);
    assert_eq!(later.counts.axles, share(0, 0, 4));
    let kinds: Vec<CauseKind> = later
        .actuators
        .iter()
        .flat_map(|a| &a.why)
        .map(|c| c.kind)
        .collect();
    assert!(kinds.iter().all(|kind| *kind == CauseKind::NothingFeedsIt));
    assert_eq!(kinds.len(), 10);
}

/// A middle car with the wire for demands under another name.
fn other_wire() -> Arc<CompiledCircuit> {
    let mut car_type = middle_car(44_000, 64_000);
    for line in &mut car_type.circuit.lines {
        for place in [&mut line.from, &mut line.to] {
            if let Place::Port { pipe, .. } = place
                && pipe == "brake_wire"
            {
                "other_wire".clone_into(pipe);
            }
        }
    }
    compiled(&car_type)
}

#[test]
fn where_a_wire_meets_none_the_car_at_which_it_ends_is_named() {
    let end = compiled(&end_car(48_000, 64_000, MainPipe));
    let other = other_wire();
    for (orientation, by) in [
        (Orientation::Forward, End::End1),
        (Orientation::Reversed, End::End2),
    ] {
        let train = train(&[
            (&end, Orientation::Forward),
            (&other, orientation),
            (&other, orientation),
        ]);
        let found = effect(&train.sound(), Mode::Service, Supply::Now);
        let lost = found.actuators.iter().filter(|a| !a.why.is_empty());
        let lost: Vec<_> = lost.map(|a| (a.car, a.why.as_slice())).collect();
        let why = Cause {
            car: 1,
            car_number: read("2"),
            position: read("=E-X1"),
            kind: CauseKind::NothingComesInBy(by),
        };
        assert_eq!(lost.len(), 16);
        assert!(
            lost.iter()
                .all(|(car, causes)| 0 < *car && *causes == [why.clone()])
        );
        // The loss of the loop opens an emergency valve in each car.
        let emergency = effect(&train.sound(), Mode::Emergency, Supply::Now);
        assert!(emergency.actuators.iter().all(|a| a.why.is_empty()));
    }
}

#[test]
fn an_end_at_which_pipe_and_wire_meet_none_is_one_cause() {
    let leading = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =H1 pass kind=hose
        =G1 > =H1 main_air
        end2:other_pipe <> =H1 main_air
        =A1 > end2:other_wire electrical_demand
    ";
    let trailing = "
        bogies 1
        mass 20000
        =H1 pass kind=hose
        =V1 all_of kind=relay_valve
        =C1 air kind=caliper bogie=1 axle=1 weight=10000
        end1:main_pipe <> =H1 main_air
        =H1 > supply@=V1 main_air
        end1:brake_wire > pilot@=V1 electrical_demand
        =V1 > =C1 cylinder_pressure
    ";
    let cars = [leading, trailing].map(|text| compiled(&car_type("T", text)));
    let train = train(&[
        (&cars[0], Orientation::Forward),
        (&cars[1], Orientation::Forward),
    ]);
    let found = effect(&train.sound(), Mode::Service, Supply::Now);
    let why: Vec<_> = found.actuators.iter().flat_map(|a| &a.why).collect();
    let end = CauseKind::NothingComesInBy(End::End1);
    assert_eq!(why.len(), 1, "{why:?}");
    assert_eq!((why[0].car, why[0].kind), (1, end));
    let said = "end 1: no pipe or wire of the coupled car meets this one";
    assert_eq!(why[0].kind.to_string(), said);
}

#[test]
fn an_answer_names_car_position_and_state_of_every_cause() {
    let train = three_car_units(1, MainPipe);
    let state = state(&train, &[cut_out(0, "=B2-Q1", ClosedVented)]);
    let answer = serde_json::to_value(effect(&state, Mode::Emergency, Supply::Now)).unwrap();
    let lost = &answer["actuators"][4];
    assert_eq!(lost["position"], "=A3-C1");
    assert_eq!(lost["availability"], "lost");
    assert_eq!(lost["why"][0]["car_number"], "1");
    assert_eq!(lost["why"][0]["position"], "=B2-Q1");
    assert_eq!(lost["why"][0]["kind"]["cut_out"], "closed_vented");
    assert_eq!(answer["counts"]["axles"]["operative"], 10);
}
