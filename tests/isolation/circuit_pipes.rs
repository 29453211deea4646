//! What the checker says of pipes that are described as no pipe can be, and what a change takes from
//! the sound train.

use super::brake_pipe::{COACH, four_cars_of};
use super::circuit_check::{SOUND, remarks};
use domain::circuit::Mode;
use domain::circuit::check::check_against;
use domain::circuit::train::TrainCircuit;
use domain::isolation::takes::{Sound, each_takes, sound};
use tests::car_type_text::car_type;
use tests::reference_unit::compiled;

/// What is stored behind a charging check valve is air of the brake pipe, kept at 5 bar (SUBSET-026-3,
/// A.3.10), and not main air.
#[test]
fn a_check_valve_that_makes_main_air_of_brake_pipe_air_is_named() {
    let charged = |from_valve: &str| {
        remarks(&format!(
            "{SOUND}
             =V1 all_of kind=check_valve
             =R2 reservoir
             =K2 all_of kind=relay_valve
             =C3 air axle=1 weight=1
             end1:brake_pipe > =V1 brake_pipe_air
             =V1 > =R2 {from_valve}
             =R2 > supply@=K2 {from_valve}
             =A1 > demand@=K2 electrical_demand
             =K2 > =C3 cylinder_pressure"
        ))
    };
    assert_eq!(charged("brake_pipe_air"), Vec::<String>::new());
    let told = charged("main_air");
    assert_eq!(
        told,
        [
            "=V1: a check valve that takes in brake pipe air and gives out main air; it passes on \
             what reaches it and makes nothing of it, so what is stored behind it would be counted \
             at the pressure of the wrong pipe"
        ]
    );
}

#[test]
fn a_pipe_between_the_ends_that_carries_something_one_way_is_named() {
    let through = |back: &str| {
        remarks(&format!(
            "{SOUND}
             =W1 pass kind=hose
             end1:brake_pipe <> =W1 brake_pipe_air
             end2:brake_pipe <> =W1 brake_pipe_air
             end1:brake_pipe <> =W1 brake_pipe_demand
             end2:brake_pipe {back} =W1 brake_pipe_demand"
        ))
    };
    assert_eq!(through("<>"), Vec::<String>::new());
    assert_eq!(
        through(">"),
        [
            "brake_pipe: carries brake pipe demand from end2 to end1 and not back; brakes beyond it \
             depend on which way round the car stands"
        ]
    );
}

#[test]
fn a_reservoir_that_stores_nothing_any_more_is_told() {
    let stores = car_type("T", SOUND);
    let passes = car_type("T", &SOUND.replace("=R1 reservoir", "=R1 pass"));
    let told = check_against(&compiled(&passes), &stores);
    let told: Vec<String> = told.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "=R1: was a reservoir, and stores nothing now; it is no longer among what must be drained"
        ]
    );
    assert_eq!(check_against(&compiled(&stores), &passes), []);
}

/// With the demand going one way only, a cock behind which nothing brakes any more takes fewer
/// brakes: that is told first, as what the sound train lost.
#[test]
fn brakes_that_the_sound_train_loses_by_a_change_are_told_before_what_cocks_take() {
    let cut = COACH.replace(
        "=H-Q1 <> =H-Q2 brake_pipe_demand",
        "=H-Q2 > =H-Q1 brake_pipe_demand",
    );
    assert_ne!(cut, COACH);
    let emergency = |coach: &str| -> (TrainCircuit, Sound) {
        let train = four_cars_of(coach);
        let mut modes = sound(&train, 1).unwrap().into_iter();
        let found = modes.find(|one| one.mode == Mode::Emergency).unwrap();
        (train, found)
    };
    let (before_train, before) = emergency(COACH);
    let (after_train, after) = emergency(&cut);
    assert_eq!((before.car, before.idle.len()), ((1, 1), 0));
    assert_eq!(before.train.actuators.available, 4);
    // Demanded from the first car: the first two take it, and nothing comes beyond.
    assert_eq!(after.car, (1, 1));
    assert_eq!(after.train.actuators.available, 2);
    let idle: Vec<usize> = after.idle.iter().map(|one| one.car).collect();
    assert_eq!(idle, [2, 3]);
    // The cock of the second car at end 1 takes fewer, which is no improvement.
    let taken = |train: &TrainCircuit| {
        let takes = each_takes(train, 1).unwrap();
        let these = takes
            .into_iter()
            .filter(|((code, _), _)| code.as_str() == "=H-Q1");
        let these = these.filter_map(|(_, takes)| takes.brakes.get(&Mode::Emergency).cloned());
        these.map(|brakes| brakes.len()).sum::<usize>()
    };
    assert!(taken(&after_train) < taken(&before_train));
}
