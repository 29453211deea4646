//! Where a component that was made dead is drained and proved, counted by hand: no test point
//! that reads nothing while the component is under pressure may be named.

use domain::circuit::Medium;
use domain::circuit::state::Impaired;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::isolation::CutOutState::Failed;
use domain::isolation::closing::{Closing, DeadSection, PipeAir, Side, Spot, closing};
use tests::car_type_text::{car_type, read};
use tests::reference_unit::{compiled, cut_out, train, vacant};

/// Two bogies with a relay valve and a venting cock each, and one gauge that shows both; an air
/// suspension behind an overflow valve; a brake pipe and the main pipe on one gauge.
const CAR: &str = "
    bogies 2
    mass 40000
    =G1 source always kind=compressor
    =A1 source service+emergency kind=brake_controller
    =M1 pass kind=hose
    =M2 pass kind=test_point
    =M3 pass kind=drain_cock
    =O1 pass kind=overflow_valve
    =O2 pass kind=test_point
    =B0 source always kind=compressor
    =B1 cock
    =B2 pass kind=hose
    =B3 pass kind=drain_cock
    =B4 pass kind=test_point
    =PG1 pass kind=gauge
    =Q0 cock
    =V0 check_valve
    =R1 reservoir
    =D1 pass kind=drain_cock
    =T0 pass kind=test_point
    =N1 all_of kind=magnet_valve
    =K1 all_of kind=relay_valve
    =T1 pass kind=test_point
    =Q1 venting_cock
    =T2 pass kind=test_point
    =W1 pass kind=dump_valve
    =W2 pass kind=hose
    =C1 air axle=1 weight=8000
    =C2 air axle=2 weight=8000
    =K2 all_of kind=relay_valve
    =Q2 venting_cock
    =T3 pass kind=test_point
    =C3 air axle=3 weight=8000
    =PG2 pass kind=gauge
    =G1 > =M1 main_air
    =M1 > =M2 main_air
    =M1 > =M3 main_air
    =M1 > =O1 main_air
    =O1 > =O2 main_air
    =M1 > =Q0 main_air
    =M1 > =PG1 main_air
    =B0 > =B1 brake_pipe_air
    =B1 > =B2 brake_pipe_air
    =B2 > =B3 brake_pipe_air
    =B2 > =B4 brake_pipe_air
    =B2 > =PG1 brake_pipe_air
    =Q0 > =V0 main_air
    =V0 > =R1 main_air
    =R1 > =D1 main_air
    =R1 > =T0 main_air
    =R1 > supply@=N1 main_air
    =A1 > demand@=N1 electrical_demand
    =N1 > pilot@=K1 pilot_pressure
    =N1 > =T1 pilot_pressure
    =N1 > pilot@=K2 pilot_pressure
    =R1 > supply@=K1 main_air
    =K1 > =Q1 cylinder_pressure
    =Q1 > =T2 cylinder_pressure
    =Q1 > =W1 cylinder_pressure
    =W1 > =W2 cylinder_pressure
    =W2 > =C1 cylinder_pressure
    =Q1 > =C2 cylinder_pressure
    =Q1 > =PG2 cylinder_pressure
    =R1 > supply@=K2 main_air
    =K2 > =Q2 cylinder_pressure
    =Q2 > =T3 cylinder_pressure
    =Q2 > =C3 cylinder_pressure
    =Q2 > =PG2 cylinder_pressure
";

fn found(position: &str, standing: &[Impaired]) -> Closing {
    let unit = train(&[(&compiled(&car_type("T", CAR)), Orientation::Forward)]);
    let case = (BrakePosition::P, LoadState::Normal);
    closing(&unit, standing, (0, &read(position)), case).unwrap()
}

/// The sections with exactly these cocks closed.
fn sections(closing: &Closing, cocks: &[&str]) -> Vec<DeadSection> {
    let mut sets = closing.sets.iter();
    let set = sets.find(|set| {
        let closed = set.cocks.iter().map(|cock| cock.at.position.as_str());
        closed.eq(cocks.iter().copied())
    });
    set.unwrap_or_else(|| panic!("{cocks:?} in {closing:?}"))
        .sections
        .clone()
}

fn names(spots: &[Spot]) -> Vec<&str> {
    spots.iter().map(|one| one.position.as_str()).collect()
}

#[test]
fn a_relay_valve_is_proved_at_each_of_its_sides_and_not_behind_itself_alone() {
    let sides = sections(&found("=K1", &[]), &["=Q0"]);
    let proved: Vec<(Side, Medium, Vec<&str>)> = sides
        .iter()
        .map(|one| (one.side.clone(), one.medium, names(&one.proving)))
        .collect();
    let inlet = |name: &str| Side::Inlet(name.to_owned());
    assert_eq!(
        proved,
        [
            (inlet("pilot"), Medium::PilotPressure, vec!["=T1"]),
            (inlet("supply"), Medium::MainAir, vec!["=T0"]),
            (Side::Outlet, Medium::CylinderPressure, vec!["=PG2", "=T2"]),
        ]
    );
    assert_eq!(names(&sides[1].drains), ["=D1"]);
}

#[test]
fn a_gauge_with_two_hands_joins_no_pipes() {
    // Neither the other bogie through its cylinder gauge, nor main pipe and brake pipe.
    for cocks in [&["=Q1"], &["=Q0"]] {
        let [side] = &sections(&found("=C1", &[]), cocks)[..] else {
            panic!("one inlet");
        };
        assert_eq!(names(&side.proving), ["=PG2", "=T2"]);
    }
    let [pipe] = &sections(&found("=B2", &[]), &["=B1"])[..] else {
        panic!("one pipe");
    };
    assert_eq!(
        (&pipe.side, pipe.medium),
        (&Side::Whole, Medium::BrakePipeAir)
    );
    assert_eq!(names(&pipe.proving), ["=B4", "=PG1"]);
    assert_eq!(names(&pipe.drains), ["=B3"]);
    // The gauge itself stands on both.
    let gauge = found("=PG2", &[]);
    let sides = sections(&gauge, &["=Q0"]);
    let proved: Vec<Vec<&str>> = sides.iter().map(|one| names(&one.proving)).collect();
    assert_eq!(proved, [["=T2"], ["=T3"]]);
}

#[test]
fn behind_an_overflow_valve_and_a_check_valve_nothing_is_proved() {
    let hose = found("=M1", &[]);
    let [pipe] = &hose.sets[0].sections[..] else {
        panic!("one pipe: {hose:?}");
    };
    assert_eq!(names(&pipe.proving), ["=M2", "=PG1"]);
    assert_eq!(names(&pipe.drains), ["=M3"]);
}

#[test]
fn a_cock_that_vents_empties_all_that_leaves_it_and_is_proved_there() {
    // Behind a hose and a dump valve, and directly behind the cock.
    for cylinder in ["=C1", "=C2"] {
        let [side] = &sections(&found(cylinder, &[]), &["=Q1"])[..] else {
            panic!("one inlet");
        };
        assert_eq!(side.air, PipeAir::LetOut, "{cylinder}");
        assert_eq!(names(&side.proving), ["=PG2", "=T2"], "{cylinder}");
    }
    // The same pipe with the supply cut instead: nothing lets it out.
    let [side] = &sections(&found("=C1", &[]), &["=Q0"])[..] else {
        panic!("one inlet");
    };
    assert_eq!(side.air, PipeAir::Stays);
}

#[test]
fn a_test_point_that_is_not_there_and_a_hose_that_may_be_blocked_prove_nothing() {
    let [side] = &sections(&found("=C1", &[vacant(0, "=T2")]), &["=Q1"])[..] else {
        panic!("one inlet");
    };
    assert_eq!(names(&side.proving), ["=PG2"]);
    let blocked = [cut_out(0, "=W1", Failed)];
    let [side] = &sections(&found("=C1", &blocked), &["=Q1"])[..] else {
        panic!("one inlet");
    };
    assert_eq!(names(&side.proving), [""; 0]);
    assert_eq!(side.air, PipeAir::Stays);
}
