//! Which tests reveal a cock in a wrong state, on the constructed unit.

use domain::isolation::CutOutState::{self, ClosedTrapped, ClosedVented, SupplyCut};
use domain::isolation::observed::During;
use domain::isolation::reveal::{Detection, Reveal, Test, TrainTest, reveal};
use domain::test_record::procedure::{MeasurandRole, Procedure};
use tests::car_type_text::read;
use tests::measuring::procedure;
use tests::reference_unit::{ParkingAir, three_car_units};

fn found(procedures: &[&Procedure]) -> Reveal {
    reveal(&three_car_units(2, ParkingAir::MainPipe), procedures).unwrap()
}

fn of<'r>(reveal: &'r Reveal, (car, cock): (usize, &str), state: CutOutState) -> &'r Detection {
    let mut detections = reveal.detections.iter();
    let is_it =
        |one: &&Detection| (one.at.car, one.at.position.as_str(), one.state) == (car, cock, state);
    detections.find(is_it).unwrap()
}

fn by(detection: &Detection, test: TrainTest) -> bool {
    detection.revealed_by.contains(&Test::OfTheTrain(test))
}

#[test]
fn a_closed_cylinder_cock_shows_in_the_brake_test_and_in_the_last_car_by_continuity_too() {
    let reveal = found(&[]);
    let inside = of(&reveal, (1, "=B1-Q1"), ClosedVented);
    assert!(by(inside, TrainTest::BrakeTest) && by(inside, TrainTest::EmergencyTest));
    assert!(!by(inside, TrainTest::Continuity));
    assert!(by(
        of(&reveal, (5, "=B1-Q1"), ClosedVented),
        TrainTest::Continuity
    ));
}

#[test]
fn a_closed_supply_shows_only_when_reservoirs_were_emptied_before() {
    let reveal = found(&[]);
    let supply = of(&reveal, (0, "=S-Q1"), SupplyCut);
    assert!(!by(supply, TrainTest::BrakeTest));
    assert!(by(supply, TrainTest::BrakeTestFromEmpty));
}

#[test]
fn a_main_pipe_closed_between_two_compressors_is_revealed_by_no_test() {
    let reveal = found(&[]);
    // Between the units: each has a compressor of its own.
    let between = of(&reveal, (2, "=M-Q1"), ClosedTrapped);
    assert!(between.is_hidden(), "{between:?}");
    // Within a unit the car behind is starved, which the test from empty shows.
    assert!(!of(&reveal, (1, "=M-Q1"), ClosedTrapped).is_hidden());
}

#[test]
fn a_measured_value_that_says_where_and_when_counts_as_a_test() {
    let row = |name| (name, MeasurandRole::Result, "bar", "3.0", "");
    let mut procedure = procedure("constructed", &[row("cylinder pressure"), row("leakage")]);
    procedure.applies_to = domain::due::task::AppliesTo::CarType(read("TMR-M"));
    let mut measurands: Vec<_> = procedure.measurands.to_vec();
    measurands[0].measured_at = vec![read("=A1-Y1")];
    measurands[0].during = Some(During::Service);
    procedure.measurands = measurands.try_into().unwrap();
    let reveal = found(&[&procedure]);
    assert_eq!(reveal.not_counted.len(), 1);
    let is_measured = |one: &Detection| {
        let mut tests = one.revealed_by.iter();
        tests.any(|test| matches!(test, Test::OfACar { .. }))
    };
    assert!(is_measured(of(&reveal, (1, "=B1-Q1"), ClosedVented)));
    assert!(!is_measured(of(&reveal, (1, "=B2-Q1"), ClosedVented)));
    assert!(!is_measured(of(&reveal, (0, "=B1-Q1"), ClosedVented)));
}

#[test]
fn an_end_cock_where_nothing_is_coupled_stands_closed_and_is_no_wrong_cock() {
    let reveal = found(&[]);
    let asked = |car: usize, cock: &str| {
        let mut detections = reveal.detections.iter();
        detections.any(|one| (one.at.car, one.at.position.as_str()) == (car, cock))
    };
    // Car 3 of each unit is turned round, so that end 1 is the outer one of both end cars.
    assert!(!asked(0, "=M-Q1") && !asked(5, "=M-Q1"));
    assert!(asked(0, "=M-Q2") && asked(5, "=M-Q2"));
    assert!(asked(2, "=M-Q1") && asked(3, "=M-Q1"), "between the units");
}

#[test]
fn a_cock_that_vents_is_asked_about_with_its_vent_blocked_too() {
    let reveal = found(&[]);
    let blocked = of(&reveal, (1, "=B1-Q1"), ClosedTrapped);
    assert!(by(blocked, TrainTest::BrakeTestFromEmpty), "{blocked:?}");
}
