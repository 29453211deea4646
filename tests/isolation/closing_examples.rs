//! What to close on the constructed unit, counted by hand.

use domain::circuit::train::TrainCircuit;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::isolation::CutOutState::SupplyCut;
use domain::isolation::closing::{ChargedAir, Closing, ClosingSet, PipeAir, closing};
use domain::units::Kilograms;
use tests::car_type_text::read;
use tests::reference_unit::{ParkingAir, cut_out, three_car_units};

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
    assert_eq!((first.charged.len(), first.pipe), (0, PipeAir::LetOut));

    assert_eq!(cocks(second), ["1 =S-Q1"]);
    assert_eq!(second.losses.at_once, Kilograms(64_000));
    let reservoir = &second.charged[0];
    assert_eq!(reservoir.at.position.as_str(), "=S-R1");
    assert_eq!(
        (reservoir.volume_l, reservoir.air),
        (125, ChargedAir::ToBeDrained)
    );
    assert_eq!(reservoir.drains[0].position.as_str(), "=S-Q2");
    assert_eq!(second.pipe, PipeAir::Stays);
}

#[test]
fn a_pipe_in_the_middle_is_closed_at_both_sides() {
    let unit = three_car_units(2, ParkingAir::MainPipe);
    // Compressors stand in cars 2 and 5; car 3 is turned round.
    let found = to_close(&unit, 2, "=M-T1");
    let sets: Vec<Vec<String>> = found.sets.iter().map(cocks).collect();
    let own = ["3 =M-Q1", "3 =M-Q2"];
    assert!(sets.contains(&own.map(str::to_owned).to_vec()));
    assert!(sets.iter().all(|set| set.len() == 2));
    // Two cocks between the compressor of car 2 and the pipe, four towards that of car 5.
    assert_eq!(sets.len(), 2 * 4);
    let lost: Vec<Kilograms> = found.sets.iter().map(|set| set.losses.later).collect();
    assert!(lost.is_sorted());
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
    let [only] = found.sets.as_slice() else {
        panic!("one set: {found:?}");
    };
    assert!(only.cocks.is_empty());
    assert_eq!(only.charged[0].air, ChargedAir::ToBeDrained);
}

#[test]
fn a_position_outside_the_circuit_gives_no_answer() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    assert!(closing(&unit, &[], (0, &read("=X-X1")), CASE).is_err());
    assert!(closing(&unit, &[], (9, &read("=M-T1")), CASE).is_err());
}
