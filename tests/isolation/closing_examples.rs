//! What to close on the constructed unit, counted by hand.

use domain::circuit::train::TrainCircuit;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState, PositionKind};
use domain::isolation::CutOutState::SupplyCut;
use domain::isolation::closing::{ChargedAir, Closing, ClosingSet, PipeAir, Side, Spot, closing};
use domain::units::Kilograms;
use tests::car_type_text::{car_type, read};
use tests::reference_unit::{ParkingAir, compiled, cut_out, three_car_units, train};

const CASE: (BrakePosition, LoadState) = (BrakePosition::P, LoadState::Normal);

fn to_close(train: &TrainCircuit, car: usize, position: &str) -> Closing {
    closing(train, &[], (car, &read(position)), CASE).unwrap()
}

/// The cocks of each set, as car number and position.
fn cocks(set: &ClosingSet) -> Vec<String> {
    let cocks = set.cocks.iter();
    cocks
        .map(|c| format!("{} {}", c.at.car_number, c.at.position))
        .collect()
}

#[test]
fn the_cylinder_cock_comes_first_and_the_supply_needs_a_drained_reservoir() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let found = to_close(&unit, 0, "=A1-Y1");
    assert_eq!(found.complete_to, None);
    let [first, second, ..] = found.sets.as_slice() else {
        panic!("two sets and more: {found:?}");
    };
    assert_eq!(cocks(first), ["1 =B1-Q1"]);
    assert_eq!(first.losses.later, Kilograms(32_000));
    assert_eq!(first.charged.len(), 0);
    assert!(
        first
            .sections
            .iter()
            .all(|side| side.air == PipeAir::LetOut)
    );

    assert_eq!(cocks(second), ["1 =S-Q1"]);
    assert_eq!(second.losses.at_once, Kilograms(64_000));
    let reservoir = &second.charged[0];
    assert_eq!(reservoir.at.position.as_str(), "=S-R1");
    assert_eq!(
        (reservoir.volume_l, reservoir.air),
        (125, ChargedAir::ToBeDrained)
    );
    assert_eq!(reservoir.drains[0].position.as_str(), "=S-Q2");
    assert!(
        second
            .sections
            .iter()
            .all(|side| side.air == PipeAir::Stays)
    );
}

#[test]
fn a_pipe_in_the_middle_is_closed_at_both_sides() {
    let unit = three_car_units(2, ParkingAir::MainPipe);
    // Compressors stand in cars 2 and 5; car 3 is turned round.
    let found = to_close(&unit, 2, "=M-T1");
    let sets: Vec<Vec<String>> = found.sets.iter().map(cocks).collect();
    let own = ["3 =M-Q1", "3 =M-Q2"];
    assert!(sets.contains(&own.map(str::to_owned).to_vec()));
    // Two cocks between the compressor of car 2 and the pipe, four towards that of car 5.
    let drain = found.sets.iter().filter(|set| set.drains());
    let drain: Vec<&ClosingSet> = drain.collect();
    assert!(drain.iter().all(|set| set.cocks.len() == 2));
    assert_eq!(drain.len(), 2 * 4);
    // The reservoir of the suspension has no check valve before it, and a cock: with that shut in
    // each car between, nothing is drained.
    let spare = found.sets.iter().filter(|set| !set.drains());
    let spare: Vec<Vec<String>> = spare.map(cocks).collect();
    assert!(spare.iter().all(|set| set.contains(&"3 =L-Q1".to_owned())));
    assert_eq!(spare.len(), 2 * 4);
    let lost: Vec<Kilograms> = found.sets.iter().map(|set| set.losses.later).collect();
    assert!(lost.is_sorted());
}

fn names(spots: &[Spot]) -> Vec<String> {
    let name = |one: &Spot| format!("{} {}", one.car_number, one.position);
    spots.iter().map(name).collect()
}

#[test]
fn a_source_is_asked_about_with_itself_switched_off() {
    // Two compressors on one pipe: the air of the other comes back through the middle car.
    let unit = three_car_units(2, ParkingAir::MainPipe);
    let found = to_close(&unit, 1, "=M-G1");
    assert!(found.makes_pressure && found.carries_air);
    assert!(found.without_cock.is_empty());
    assert!(found.sets.iter().all(|set| !set.cocks.is_empty()));
    let off: Vec<_> = found.sets[0].off.iter().map(|one| one.at.clone()).collect();
    assert_eq!(names(&off), ["2 =M-G1"]);
    // The only one: nothing else presses.
    let found = to_close(&three_car_units(1, ParkingAir::MainPipe), 1, "=M-G1");
    let sets = found.sets.iter();
    let (drain, spare): (Vec<_>, Vec<_>) = sets.partition(|set| set.drains());
    assert!(drain.len() == 1 && drain[0].cocks.is_empty());
    assert!(spare.iter().all(|set| !set.cocks.is_empty()));
}

#[test]
fn a_source_without_a_cock_between_is_switched_off_besides() {
    let unit = three_car_units(2, ParkingAir::MainPipe);
    let found = to_close(&unit, 1, "=M-T1");
    assert!(!found.makes_pressure);
    assert_eq!(names(&found.without_cock), ["2 =M-G1"]);
    assert!(!found.sets.is_empty() && found.to_empty.is_empty());
    assert!(found.sets.iter().all(|set| !set.cocks.is_empty()));
}

#[test]
fn a_source_of_demand_carries_no_air() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let controller = unit.cars()[0].circuit.car_type();
    let controller = controller.positions.iter();
    let controller = controller
        .filter(|position| position.kind == PositionKind::BrakeController)
        .map(|position| position.code.to_string())
        .next()
        .unwrap();
    let found = to_close(&unit, 0, &controller);
    assert!(!found.carries_air && !found.makes_pressure);
}

#[test]
fn the_dead_section_names_where_it_is_drained_and_proved() {
    let text = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =Q1 cock
        =T1 pass kind=filter
        =T2 pass kind=drain_cock
        =T3 pass kind=test_point
        =T4 pass kind=test_point
        =Q2 cock
        =R1 reservoir
        =G1 > =T4 main_air
        =T4 > =Q1 main_air
        =Q1 > =T1 main_air
        =T1 > =T2 main_air
        =T1 > =T3 main_air
        =T1 > =Q2 main_air
        =Q2 > =R1 main_air
    ";
    let unit = train(&[(&compiled(&car_type("T", text)), Orientation::Forward)]);
    let found = to_close(&unit, 0, "=T1");
    let [set] = found.sets.as_slice() else {
        panic!("{found:?}");
    };
    let [section] = set.sections.as_slice() else {
        panic!("{set:?}");
    };
    assert_eq!(section.side, Side::Whole);
    assert_eq!(names(&section.drains), ["1 =T2"]);
    assert_eq!(names(&section.proving), ["1 =T3"]);
}

#[test]
fn a_reservoir_is_not_emptied_through_a_valve_that_holds_pressure_back() {
    let drained_by = |valve: &str| {
        let text = format!(
            "
            bogies 1
            mass 20000
            =G1 source always kind=compressor
            =A1 source service+emergency kind=brake_controller
            =Q1 cock
            =R1 reservoir
            =V1 pass kind={valve}
            =T2 pass kind=drain_cock
            =T1 pass kind=hose
            =G1 > =Q1 main_air
            =Q1 > =R1 main_air
            =R1 > =V1 main_air
            =V1 > =T2 main_air
            =R1 > =T1 main_air
            =T1 > =R1 main_air
        "
        );
        let unit = train(&[(&compiled(&car_type("T", &text)), Orientation::Forward)]);
        let found = to_close(&unit, 0, "=T1");
        let charged = found.sets.iter().flat_map(|set| &set.charged);
        let mut reservoirs = charged.chain(&found.to_empty);
        reservoirs.next().map(|reservoir| names(&reservoir.drains))
    };
    assert_eq!(drained_by("filter"), Some(vec!["1 =T2".to_owned()]));
    for valve in ["overflow_valve", "reducing_valve"] {
        assert_eq!(drained_by(valve), Some(Vec::new()), "{valve}");
    }
}

#[test]
fn where_no_set_is_enough_the_reservoirs_are_named() {
    let text = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =T1 pass kind=hose
        =R1 reservoir
        =G1 > =R1 main_air
        =R1 > =T1 main_air
        =T1 > =R1 main_air
    ";
    let unit = train(&[(&compiled(&car_type("T", text)), Orientation::Forward)]);
    let found = to_close(&unit, 0, "=T1");
    assert_eq!(found.without_cock.len(), 1);
    assert!(found.sets.is_empty());
    let [reservoir] = found.to_empty.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(reservoir.at.position.as_str(), "=R1");
    assert_eq!(reservoir.air, ChargedAir::HeldByAValve);
}

#[test]
fn air_behind_a_valve_without_command_is_named() {
    // The reservoir of a pilot that no cock can cut off from a valve would be named; here each
    // way to the cylinders has a cock before any valve, so nothing rests on one.
    let unit = three_car_units(1, ParkingAir::MainPipe);
    for set in to_close(&unit, 0, "=A1-Y1").sets {
        assert!(set.rests_on.is_empty());
    }
    // Behind the parking valve only its supply is air: with the supply cut nothing is left.
    for set in to_close(&unit, 0, "=P-C1").sets {
        assert!(set.rests_on.is_empty());
    }
}

#[test]
fn what_is_closed_already_need_not_be_closed() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let standing = [cut_out(0, "=S-Q1", SupplyCut)];
    let found = closing(&unit, &standing, (0, &read("=A1-Y1")), CASE).unwrap();
    let [by_cock, by_draining] = found.sets.as_slice() else {
        panic!("two sets: {found:?}");
    };
    assert!(by_draining.cocks.is_empty());
    assert_eq!(by_draining.charged[0].air, ChargedAir::ToBeDrained);
    assert_eq!(by_draining.losses.at_once, Kilograms(64_000));
    // What is stored is still good for the other bogie.
    assert_eq!(cocks(by_cock), ["1 =B1-Q1"]);
    assert!(!by_cock.drains());
    assert_eq!(by_cock.losses.at_once, Kilograms(32_000));
    assert!(found.only_drains());
}

#[test]
fn stored_air_is_kept_off_by_one_cock_more_or_drained() {
    let text = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =Q1 cock
        =R1 reservoir
        =T2 pass kind=drain_cock
        =Q2 cock
        =T1 pass kind=hose
        =Q3 cock
        =G1 > =Q1 main_air
        =Q1 > =T1 main_air
        =T1 > =Q2 main_air
        =Q2 > =T1 main_air
        =Q2 > =R1 main_air
        =R1 > =Q2 main_air
        =R1 > =T2 main_air
        =T1 > =Q3 main_air
    ";
    let unit = train(&[(&compiled(&car_type("T", text)), Orientation::Forward)]);
    let found = to_close(&unit, 0, "=T1");
    let sets: Vec<_> = found
        .sets
        .iter()
        .map(|set| (cocks(set), set.drains()))
        .collect();
    let own = |codes: &[&str]| codes.iter().map(|code| format!("1 {code}")).collect();
    let expected: Vec<(Vec<String>, bool)> =
        vec![(own(&["=Q1"]), true), (own(&["=Q1", "=Q2"]), false)];
    assert_eq!(sets, expected);
    assert_eq!(names(&found.sets[0].charged[0].drains), ["1 =T2"]);
}

#[test]
fn where_no_cock_keeps_stored_air_off_the_drain_is_told() {
    let text = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =Q1 cock
        =R1 reservoir
        =T2 pass kind=drain_cock
        =T1 pass kind=hose
        =G1 > =Q1 main_air
        =Q1 > =R1 main_air
        =R1 > =T2 main_air
        =R1 > =T1 main_air
        =T1 > =R1 main_air
    ";
    let unit = train(&[(&compiled(&car_type("T", text)), Orientation::Forward)]);
    let found = to_close(&unit, 0, "=T1");
    let [only] = found.sets.as_slice() else {
        panic!("one set: {found:?}");
    };
    assert_eq!(cocks(only), ["1 =Q1"]);
    assert!(only.drains());
    assert_eq!(names(&only.charged[0].drains), ["1 =T2"]);
}

#[test]
fn a_position_outside_the_circuit_gives_no_answer() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    assert!(closing(&unit, &[], (0, &read("=X-X1")), CASE).is_err());
    assert!(closing(&unit, &[], (9, &read("=M-T1")), CASE).is_err());
}
