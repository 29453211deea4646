//! What is said over the radio where a cut-out leaves a car with no brake at all: on the invented
//! fleet, whose plain coach has no parking brake.

use super::said_and_checked::{SET, UNIT, decided, question};
use domain::decision::{CutOutInTrain, decide};
use tests::car_type_text::read;

/// What is said of the first cut-out.
fn act(types: &[&str], supposing: &str) -> String {
    decided(types, &[supposing]).instructions[0].act.clone()
}

/// A car without a brake is held otherwise before anything is done: practice B.2 and F.21, common
/// practice, no source.
#[test]
fn what_takes_every_brake_of_a_car_has_the_train_secured_first() {
    let says = act(SET, "3:=BS-QM1:supply_cut");
    assert!(
        says.starts_with(
            "First secure the train against rolling away: once this is done, car 3 has no brake \
             that acts and no spring that holds. Close it."
        ),
        "{says}"
    );
    assert!(
        says.contains("until no air is heard. Car 3 has no brake at all then."),
        "{says}"
    );
    for one_bogie in ["1:=BS1-QM1:closed_vented", "1:=PB-QM2:closed_vented"] {
        let says = act(UNIT, one_bogie);
        assert!(!says.contains("secure the train"), "{says}");
    }
}

/// Whoever is told to leave a cock alone is not told in one breath to drain what lies behind it:
/// practice B.9, common practice, no source.
#[test]
fn behind_a_cock_that_is_left_alone_nothing_is_said_to_be_drained_at_once() {
    let mut question = question(SET, &[]);
    question.cars[2].cut_outs.push(CutOutInTrain {
        position: read("=BS-QM1"),
        state: read("closed_trapped"),
        since: None,
        recorded: None,
    });
    let says = decide(&question, &[]).unwrap().instructions[0].act.clone();
    let drained = "It is drained only when who is authorised has said so, and not before the train \
                   is secured. Car 3 has no brake at all then.";
    for part in [
        "First secure the train against rolling away: car 3 has no brake",
        "Do not touch it until who is authorised",
        drained,
    ] {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(!says.contains("until no air is heard"), "{says}");
    // Supposed, it is said in the same order and with the same words.
    let says = act(SET, "3:=BS-QM1:closed_trapped");
    assert!(says.starts_with("First secure the train"), "{says}");
    assert!(says.contains(drained), "{says}");
    assert!(!says.contains("until no air is heard"), "{says}");
}

/// The state says that what lies behind the cock is emptied; that cock does not vent, and a check valve
/// keeps the air of the reservoir behind it: practice B.9, common practice, no source.
#[test]
fn what_is_told_as_emptied_is_drained_all_the_same_where_the_cock_does_not_empty_it() {
    let says = act(UNIT, "1:=BS-QM1:closed_vented");
    let drained = "Reservoir =BS-CM1 of car 1 is not emptied by that cock itself and may keep a brake \
                   on. That is an act of its own, once the cock was read back: drain it at =BS-QM2";
    assert!(says.contains(drained), "{says}");
    assert!(!says.contains("lives on it"), "{says}");
    assert!(
        says.contains("Then record the reservoir itself as emptied too"),
        "{says}"
    );
}

/// Nobody leaves it at that: the supply of a drained reservoir may be open (common practice, no source).
#[test]
fn what_is_recorded_as_drained_is_said_to_fill_again_by_an_open_supply() {
    let mut question = question(UNIT, &[]);
    question.cars[0].cut_outs.push(CutOutInTrain {
        position: read("=BS-CM1"),
        state: read("closed_vented"),
        since: None,
        recorded: None,
    });
    let says = decide(&question, &[]).unwrap().instructions[0].act.clone();
    assert!(says.contains("It is recorded as drained."), "{says}");
    assert!(says.contains("it fills again"), "{says}");
    assert!(!says.contains("leave it so"), "{says}");
}
