//! What each state of a cut-out does, on the smallest circuits that show it.

use domain::circuit::Mode;
use domain::circuit::state::Impaired;
use domain::configuration::car::Orientation;
use domain::isolation::CutOutState::{
    Bypassed, ClosedTrapped, ClosedVented, ElectricallyOff, Failed, ReleasedByHand,
    ReleasedUntilAirReturns, ReleasedUntilReset, ReopenedNotProven, SupplyCut,
};
use domain::isolation::Supply::{Exhausted, Now};
use domain::isolation::effect::{ActuatorEffect, Availability, effect};
use domain::isolation::{CutOutState, Supply};
use tests::car_type_text::car_type;
use tests::reference_unit::{compiled, cut_out, train, vacant};

/// A compressor, a supply cock, a reservoir, a relay valve, a cylinder cock and a caliper.
const BRAKE: &str = "
    bogies 1
    =G1 source always
    =Q1 cock
    =R1 reservoir
    =A1 source service+emergency
    =K1 all_of
    =Q2 cock
    =C1 air axle=1
    =G1 > =Q1 main_air
    =Q1 > =R1 main_air
    =R1 > supply@=K1 main_air
    =A1 > pilot@=K1 pilot_pressure
    =K1 > =Q2 cylinder_pressure
    =Q2 > =C1 cylinder_pressure
";

/// The same with a check valve before the reservoir.
const CHECKED: &str = "
    bogies 1
    =G1 source always
    =Q1 cock
    =V1 check_valve
    =R1 reservoir
    =C1 air axle=1
    =G1 > =Q1 main_air
    =Q1 > =V1 main_air
    =V1 > =R1 main_air
    =R1 > =C1 main_air
";

/// A parking valve that releases while running, a cock and a spring-applied cylinder.
const PARKING: &str = "
    bogies 1
    =G1 source always
    =A1 source service+emergency
    =Y1 all_of
    =Q1 cock
    =S1 spring=20000 axle=1
    =G1 > supply@=Y1 main_air
    =A1 > release@=Y1 electrical_demand
    =Y1 > =Q1 parking_air
    =Q1 > =S1 parking_air
";

fn only_actuator(circuit: &str, by: &[Impaired], mode: Mode, supply: Supply) -> ActuatorEffect {
    let circuit = compiled(&car_type("T", circuit));
    let train = train(&[(&circuit, Orientation::Forward)]);
    let effect = effect(&train.impaired(by).unwrap(), mode, supply);
    assert_eq!(effect.actuators.len(), 1);
    effect.actuators[0].clone()
}

fn in_service(circuit: &str, by: &[Impaired], supply: Supply) -> Availability {
    only_actuator(circuit, by, Mode::Service, supply).availability
}

/// While running now, while running later, and standing.
fn spring(by: &[Impaired]) -> [Availability; 3] {
    let standing = |supply| only_actuator(PARKING, by, Mode::Holding, supply).availability;
    assert_eq!(standing(Now), standing(Exhausted));
    [
        in_service(PARKING, by, Now),
        in_service(PARKING, by, Exhausted),
        standing(Now),
    ]
}

#[test]
fn a_reservoir_behind_a_cock_that_is_not_vented_brakes_now_and_not_later() {
    for state in [SupplyCut, ClosedTrapped, ElectricallyOff, Failed] {
        let by = [cut_out(0, "=Q1", state)];
        assert_eq!(
            in_service(BRAKE, &by, Now),
            Availability::Available,
            "{state}"
        );
        assert_eq!(
            in_service(BRAKE, &by, Exhausted),
            Availability::Lost,
            "{state}"
        );
    }
}

#[test]
fn a_vented_cock_or_an_open_hole_empties_the_reservoir_behind_it_as_far_as_a_check_valve() {
    for hole in [cut_out(0, "=Q1", ClosedVented), vacant(0, "=Q1")] {
        let by = [hole];
        assert_eq!(in_service(BRAKE, &by, Now), Availability::Lost);
        assert_eq!(in_service(CHECKED, &by, Now), Availability::Available);
        assert_eq!(in_service(CHECKED, &by, Exhausted), Availability::Lost);
    }
}

#[test]
fn a_failed_check_valve_is_not_relied_on_to_hold_air_back() {
    let by = [cut_out(0, "=Q1", ClosedVented), cut_out(0, "=V1", Failed)];
    assert_eq!(in_service(CHECKED, &by, Now), Availability::Lost);
}

#[test]
fn a_reservoir_that_was_drained_or_is_missing_stores_nothing() {
    for reservoir in [cut_out(0, "=R1", ClosedVented), vacant(0, "=R1")] {
        let cut = [cut_out(0, "=Q1", SupplyCut), reservoir];
        assert_eq!(in_service(CHECKED, &cut, Now), Availability::Lost);
    }
}

#[test]
fn a_brake_cut_off_with_air_trapped_in_its_cylinder_may_drag() {
    let may_drag = |by: &[Impaired]| only_actuator(BRAKE, by, Mode::Service, Now).may_drag;
    assert!(may_drag(&[cut_out(0, "=Q2", ClosedTrapped)]));
    assert!(!may_drag(&[cut_out(0, "=Q2", ClosedVented)]));
    // What is left charged behind the cylinder cock is the applied brake; behind the supply's it is
    // supply.
    assert!(may_drag(&[cut_out(0, "=Q2", SupplyCut)]));
    assert!(!may_drag(&[cut_out(0, "=Q1", SupplyCut)]));
    let pulled_off = [
        cut_out(0, "=Q2", ClosedTrapped),
        cut_out(0, "=C1", ReleasedByHand),
    ];
    assert!(!may_drag(&pulled_off));
}

#[test]
fn a_bypass_leaves_pipes_as_they_are_and_takes_the_function_of_what_commands() {
    for (position, left) in [
        ("=Q1", Availability::Available),
        ("=R1", Availability::Available),
        ("=G1", Availability::Lost),
        ("=A1", Availability::Lost),
        ("=K1", Availability::Lost),
        ("=C1", Availability::Lost),
    ] {
        let by = [cut_out(0, position, Bypassed)];
        assert_eq!(in_service(BRAKE, &by, Exhausted), left, "{position}");
    }
    let relay = [cut_out(0, "=K1", Bypassed)];
    assert!(only_actuator(BRAKE, &relay, Mode::Service, Now).may_drag);
}

#[test]
fn an_actuator_cut_out_itself_is_lost_in_every_state() {
    for state in CutOutState::ALL {
        let by = [cut_out(0, "=C1", *state)];
        assert_eq!(in_service(BRAKE, &by, Now), Availability::Lost, "{state}");
    }
    assert_eq!(
        in_service(BRAKE, &[vacant(0, "=C1")], Now),
        Availability::Lost
    );
}

#[test]
fn a_spring_is_released_while_running_and_holds_while_standing() {
    assert_eq!(spring(&[]), [Availability::Available; 3]);
}

#[test]
fn a_spring_whose_air_is_vented_drags_at_once_and_holds_for_ever() {
    use Availability::{Available, Dragging};
    for position in ["=Q1", "=Y1", "=S1"] {
        let by = [cut_out(0, position, ClosedVented)];
        assert_eq!(spring(&by), [Dragging, Dragging, Available], "{position}");
    }
}

#[test]
fn a_spring_with_air_trapped_drags_later_and_is_not_relied_on_to_hold() {
    use Availability::{Available, Dragging, Lost};
    for position in ["=Q1", "=S1"] {
        for state in [SupplyCut, ClosedTrapped] {
            let by = [cut_out(0, position, state)];
            assert_eq!(
                spring(&by),
                [Available, Dragging, Lost],
                "{position} {state}"
            );
        }
    }
}

#[test]
fn a_spring_released_by_hand_neither_drags_nor_holds() {
    for state in [ReleasedByHand, ReleasedUntilAirReturns, ReleasedUntilReset] {
        let by = [cut_out(0, "=S1", state), cut_out(0, "=Q1", ClosedVented)];
        assert_eq!(spring(&by), [Availability::Lost; 3], "{state}");
        // What a source feeds does not go.
        let fed = [cut_out(0, "=S1", state)];
        assert_eq!(spring(&fed), [Availability::Lost; 3], "{state}");
    }
}

/// Where air may be at it, it may have applied again by itself, and is on once that air has leaked away:
/// practice D.2, common practice, no source.
#[test]
fn a_spring_that_applies_again_when_air_returns_drags_once_that_air_has_gone() {
    use Availability::{Dragging, Lost};
    for cock in [ReopenedNotProven, ClosedTrapped, SupplyCut] {
        for (state, later) in [
            (ReleasedByHand, Dragging),
            (ReleasedUntilAirReturns, Dragging),
            (ReleasedUntilReset, Lost),
        ] {
            let by = [cut_out(0, "=S1", state), cut_out(0, "=Q1", cock)];
            assert_eq!(spring(&by), [Lost, later, Lost], "{state}, {cock}");
        }
    }
}

#[test]
fn a_bypassed_parking_valve_is_not_relied_on_to_let_the_spring_hold() {
    use Availability::{Available, Dragging, Lost};
    let by = [cut_out(0, "=Y1", Bypassed)];
    assert_eq!(spring(&by), [Available, Dragging, Lost]);
    let by = [cut_out(0, "=A1", Bypassed)];
    assert_eq!(spring(&by), [Available, Dragging, Lost]);
}

#[test]
fn every_obstacle_on_the_way_back_to_the_live_side_is_named_and_no_other() {
    let by = [
        cut_out(0, "=Q1", SupplyCut),
        cut_out(0, "=Q2", ClosedVented),
        vacant(0, "=A1"),
    ];
    let why = |supply| {
        let actuator = only_actuator(BRAKE, &by, Mode::Service, supply);
        let positions: Vec<String> = actuator
            .why
            .iter()
            .map(|c| c.position.to_string())
            .collect();
        positions
    };
    assert_eq!(why(Now), ["=A1", "=Q2"]);
    assert_eq!(why(Exhausted), ["=A1", "=Q1", "=Q2"]);
}

#[test]
fn a_cock_whose_part_another_path_plays_is_not_named() {
    let two_supplies = format!("{BRAKE} =G2 source always\n =G2 > supply@=K1 main_air");
    let by = [cut_out(0, "=Q1", ClosedVented), vacant(0, "=A1")];
    let actuator = only_actuator(&two_supplies, &by, Mode::Service, Exhausted);
    let positions: Vec<&str> = actuator.why.iter().map(|c| c.position.as_str()).collect();
    assert_eq!(positions, ["=A1"]);
}

#[test]
fn a_vented_cock_is_named_for_a_reservoir_it_emptied_in_another_mode() {
    let filled_in_service = BRAKE.replace("=Q1 > =R1 main_air", "=Q1 > =R1 main_air service");
    let by = [cut_out(0, "=Q1", ClosedVented)];
    let actuator = only_actuator(&filled_in_service, &by, Mode::Emergency, Now);
    let positions: Vec<&str> = actuator.why.iter().map(|c| c.position.as_str()).collect();
    assert_eq!(positions, ["=Q1"]);
}

#[test]
fn where_the_order_of_closing_decides_air_counts_the_worse_way() {
    let two_cocks = "
        bogies 1
        =G1 source always
        =Q1 cock
        =Q2 cock
        =R1 reservoir
        =C1 air axle=1
        =S1 spring=20000 axle=1
        =G1 > =Q1 main_air
        =Q1 > =Q2 main_air
        =Q2 > =R1 main_air
        =R1 > =C1 main_air
        =R1 > =S1 main_air
    ";
    let circuit = compiled(&car_type("T", two_cocks));
    let train = train(&[(&circuit, Orientation::Forward)]);
    let by = [
        cut_out(0, "=Q1", ClosedVented),
        cut_out(0, "=Q2", SupplyCut),
    ];
    let state = train.impaired(&by).unwrap();
    let braking = effect(&state, Mode::Service, Now).counts.actuators;
    let holding = effect(&state, Mode::Holding, Now).counts.actuators;
    assert_eq!((braking.available, braking.total), (0, 1));
    assert_eq!((holding.available, holding.total), (0, 1));
}

#[test]
fn a_cut_out_that_the_circuit_does_not_describe_gives_no_answer() {
    let circuit = compiled(&car_type("T", BRAKE));
    let train = train(&[(&circuit, Orientation::Forward)]);
    for (car, position, lacking) in [
        (0, "=Q9", "car type T revision A, position =Q9"),
        (1, "=Q1", "place 2 of the train"),
    ] {
        let missing = train
            .impaired(&[cut_out(car, position, Failed)])
            .unwrap_err();
        assert_eq!(missing.0[0].of, lacking);
    }
}
