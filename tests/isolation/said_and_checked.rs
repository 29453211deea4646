//! What is checked and said after a cut-out follows the brakes that it takes, wherever the cock
//! stands: on the invented fleet, whose design gives each brake, reservoir and drain cock its place.
//! What a cut-out of each kind takes away: practice D.2 and D.6, common practice, no source.

use crate::seed_data::car_types;
use domain::circuit::compiled::CompiledCircuit;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::decision::checks::CheckKind;
use domain::decision::supposed::supposed;
use domain::decision::warning::WarningKind;
use domain::decision::{CutOutInTrain, Decision, Question, TrainCar, Way, decide};
use domain::isolation::part_state::PartState;
use std::sync::Arc;
use tests::car_type_text::read;

/// A unit of cars 1 to 3; the compressor is on car 2.
pub(super) const UNIT: &[&str] = &["TM-DA", "TM-T", "TM-DB"];
/// A set of cars 1 to 6; car 3 is a coach.
pub(super) const SET: &[&str] = &["PC-L", "PC-K", "PC-C", "PC-C", "PC-K", "PC-D"];

pub(super) fn question(types: &[&str], supposing: &[&str]) -> Question {
    let car = |(place, name): (usize, &&str)| {
        let of = car_types().into_iter().find(|of| of.name.as_str() == *name);
        TrainCar {
            number: read(&(place + 1).to_string()),
            orientation: Orientation::Forward,
            vacant: Vec::new(),
            shortcomings: Vec::new(),
            conceded: Vec::new(),
            not_conceded: Vec::new(),
            failed_tests: Vec::new(),
            due_at_once: Vec::new(),
            overdue: domain::decision::overdue::Overdue::Nothing,
            judge_again: Vec::new(),
            vacated: std::collections::BTreeMap::new(),
            circuit: Arc::new(CompiledCircuit::new(of.unwrap()).unwrap()),
            cut_outs: Vec::new(),
        }
    };
    Question {
        cars: types.iter().enumerate().map(car).collect(),
        supposed: supposed(supposing.iter().copied()).unwrap(),
        brake_position: BrakePosition::R,
        load: LoadState::Normal,
        way: Way::default(),
    }
}

pub(super) fn decided(types: &[&str], supposing: &[&str]) -> Decision {
    decide(&question(types, supposing), &[]).unwrap()
}

/// The checks of a kind: the cut-outs and the text.
fn checks(decision: &Decision, kind: CheckKind) -> Vec<(String, String)> {
    let these = decision.checks.iter().filter(|check| check.kind == kind);
    let words = these.map(|check| {
        let of: Vec<String> = check.of.iter().map(ToString::to_string).collect();
        (of.join(", "), check.text.clone())
    });
    words.collect()
}

fn pads(types: &[&str], supposing: &str) -> Vec<String> {
    let decision = decided(types, &[supposing]);
    let checks = checks(&decision, CheckKind::PadsFree).into_iter();
    checks.map(|(_, text)| text).collect()
}

/// What is said of the first cut-out.
fn act(types: &[&str], supposing: &str) -> String {
    decided(types, &[supposing]).instructions[0].act.clone()
}

pub(super) fn warned(decision: &Decision, kind: WarningKind) -> Option<String> {
    let mut warnings = decision.warnings().into_iter();
    warnings.find(|one| one.kind == kind).map(|one| one.text)
}

#[test]
fn pads_are_looked_at_where_a_brake_is_taken_and_not_where_the_cock_stands() {
    for supposing in [
        // The distributor cock, a failed distributor, relay valve and reservoir of the coach: none
        // of them stands at a bogie.
        "3:=BS-QM1:supply_cut",
        "3:=BS-QN1:failed",
        "3:=BS-QN2:failed",
        "3:=BS-CM1:failed",
    ] {
        let says = pads(SET, supposing);
        let free = "Pads or blocks are free on both sides of each axle: car 3, bogies 1 and 2.";
        assert_eq!(says, [free], "{supposing}");
    }
    let behind = pads(SET, "3:=BP-QM1:closed_trapped");
    assert_eq!(behind.len(), 1);
    for car in 3..=6 {
        let bogies = format!("car {car}, bogies 1 and 2");
        assert!(behind[0].contains(&bogies), "{behind:?}");
    }
    assert!(!behind[0].contains("car 2"), "{behind:?}");
}

#[test]
fn springs_that_are_on_or_creep_on_are_looked_at_too() {
    let vented = pads(UNIT, "1:=PB-QM2:closed_vented");
    let free = "Pads or blocks are free on both sides of each axle: car 1, bogies 1 and 2.";
    assert_eq!(vented, [free]);
    let creeping = pads(UNIT, "1:=PB-QM1:supply_cut");
    let again = " Look again before each start: where the air leaks away, a brake comes on by \
                 itself.";
    assert_eq!(creeping, [format!("{free}{again}")]);
}

#[test]
fn what_takes_no_brake_asks_for_no_look_at_pads() {
    for supposing in [
        "1:=BS1-QN6:electrically_off",
        "1:=PB-MS1:released_by_hand",
        "1:=AS-QM1:closed_vented",
        "1:=WS-KF1:electrically_off",
    ] {
        assert_eq!(pads(UNIT, supposing), [""; 0], "{supposing}");
    }
}

/// Practice F.19: record whether a spring that was released by hand applies again by itself.
#[test]
fn of_a_spring_released_by_hand_it_is_found_out_what_it_does_when_air_returns() {
    let found = |supposing: &str| checks(&decided(UNIT, &[supposing]), CheckKind::ReArming);
    let spring = found("1:=PB-MS1:released_by_hand");
    let [(of, text)] = &spring[..] else {
        panic!("{spring:?}");
    };
    assert_eq!(of, "=PB-MS1 of car 1");
    assert!(text.contains("applies again by itself"), "{text}");
    let again = found("1:=PB-MS1:released_until_air_returns");
    let [(_, text)] = &again[..] else {
        panic!("{again:?}");
    };
    assert!(text.contains("before each start"), "{text}");
    assert_eq!(found("1:=PB-MS1:released_until_reset"), []);
    assert_eq!(found("1:=BS1-MB1:released_by_hand"), []);
    assert_eq!(found("1:=PB-MS1:failed"), []);
}

#[test]
fn what_two_cut_outs_share_is_one_check_and_the_rest_is_another() {
    let all = [
        "1:=BS1-QM1:closed_vented",
        "1:=BS1-QN3:failed",
        "3:=BS2-QM1:closed_vented",
    ];
    let found = checks(&decided(UNIT, &all), CheckKind::PadsFree);
    let of: Vec<&str> = found.iter().map(|(of, _)| of.as_str()).collect();
    let shared = "=BS1-QM1 of car 1, =BS1-QN3 of car 1";
    assert_eq!(of, [shared, "=BS2-QM1 of car 3"], "{found:?}");
}

#[test]
fn a_pressure_is_read_wherever_a_brake_lives_on_stored_air() {
    for (supposing, of, reservoirs) in [
        ("1:=BS-QM1:supply_cut", "=BS-QM1 of car 1", 1),
        ("1:=BS-RM1:failed", "=BS-RM1 of car 1", 1),
        // The car's own reservoir and two of its suspension, from which the load signal comes.
        ("1:=MP-QM2:closed_trapped", "=MP-QM2 of car 1", 3),
        ("1:=MP-WH2:failed", "=MP-WH2 of car 1", 3),
    ] {
        let decision = decided(UNIT, &[supposing]);
        let found = checks(&decision, CheckKind::PressureRead);
        assert_eq!(found.len(), 1, "{supposing}: {found:?}");
        assert_eq!(found[0].0, of, "{supposing}");
        let read = found[0].1.matches("read its pressure at ").count();
        let unread = found[0].1.matches("read its pressure another way").count();
        assert_eq!(read + unread, reservoirs, "{supposing}: {found:?}");
        assert!(found[0].1.contains("reservoir =BS-CM1"), "{found:?}");
    }
    // The only compressor: each car lives on what it has, and so does the main reservoir's pipe.
    let dead = decided(UNIT, &["2:=AP-GQ1:failed"]);
    assert!(dead.fades().is_some());
    let found = checks(&dead, CheckKind::PressureRead);
    assert_eq!(found.len(), 1, "{found:?}");
    for car in 1..=3 {
        let reservoir = format!("Car {car}, reservoir =BS-CM1");
        assert!(found[0].1.contains(&reservoir), "{found:?}");
    }
}

#[test]
fn no_pressure_is_read_where_nothing_lives_on_it() {
    for (types, supposing) in [
        // The auxiliary reservoir stays charged, and no brake works on it any more.
        (SET, "3:=BS-QM1:supply_cut"),
        // It does not vent, and what lies behind it is told as emptied all the same.
        (UNIT, "1:=BS-QM1:closed_vented"),
        (UNIT, "1:=BS1-QM1:closed_vented"),
        (UNIT, "1:=PB-MS1:released_by_hand"),
    ] {
        let found = checks(&decided(types, &[supposing]), CheckKind::PressureRead);
        assert_eq!(found, [], "{supposing}");
    }
}

/// Two acts, close and drain: practice D.2.
#[test]
fn a_closed_distributor_cock_is_said_to_take_the_brake_and_its_reservoir_is_drained() {
    let says = act(SET, "3:=BS-QM1:supply_cut");
    for part in [
        "Close it.",
        "The brakes that depend on it do not brake, now or later.",
        "Reservoir =BS-CM1 of car 3 stays charged and may keep a brake on. That is an act of its \
         own, once the cock was read back: drain it at =BS-QM2, item 21 on the brake diagram PC-C, \
         until no air is heard.",
    ] {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(!says.contains("until the stored air is used up"), "{says}");
}

#[test]
fn a_closed_supply_is_said_to_leave_brakes_until_the_air_is_used_up() {
    let says = act(UNIT, "1:=BS-QM1:supply_cut");
    for part in [
        "The brakes that depend on it act until the stored air is used up, and no longer.",
        "before any work on it or behind it drain it at =BS-QM2",
    ] {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(!says.contains("do not brake, now or later"), "{says}");
}

/// It passes a departure test and drags an hour later: practice D.2.
#[test]
fn a_closed_parking_supply_is_said_to_let_springs_creep_on_and_names_no_reservoir() {
    let mut question = question(UNIT, &["1:=PB-QM1:supply_cut"]);
    let by_supposition = decide(&question, &[]).unwrap();
    question.supposed.clear();
    question.cars[0].cut_outs.push(CutOutInTrain {
        position: read("=PB-QM1"),
        state: read("supply_cut"),
        since: None,
        recorded: None,
    });
    let in_force = decide(&question, &[]).unwrap();
    for decision in [by_supposition, in_force] {
        let says = &decision.instructions[0].act;
        assert!(
            says.contains("come on by themselves as it leaks away"),
            "{says}"
        );
        assert!(!says.contains("eservoir"), "{says}");
        assert!(!says.contains("until the stored air is used up"), "{says}");
    }
}

#[test]
fn a_brake_that_works_in_one_mode_alone_is_said_to_be_so() {
    let says = act(UNIT, "1:=BS1-QM2:closed_vented");
    let only = "The brakes that depend on it act in emergency braking alone.";
    assert!(says.contains(only), "{says}");
}

/// That the state of each brake is known: Regulation (EU) 1302/2014, annex, 4.2.4.9.
#[test]
fn what_cannot_be_said_to_be_off_is_warned_of_as_it_is_listed() {
    for supposing in ["3:=BS-QN1:failed", "3:=BS-QN2:failed", "3:=BS1-MB1:failed"] {
        let decision = decided(SET, &[supposing]);
        let states = decision.part_states();
        let unknown = states.iter().filter(|one| one.state == PartState::Unknown);
        let unknown = unknown.count();
        assert!(unknown > 0);
        let drags = warned(&decision, WarningKind::Drags).unwrap();
        let count = match unknown {
            1 => "1 brake drags, or may: ".to_owned(),
            count => format!("{count} brakes drag, or may: "),
        };
        assert!(drags.starts_with(&count), "{drags}");
        let says = &decision.instructions[0].act;
        assert!(
            says.contains("A brake is held on by it, or may be"),
            "{says}"
        );
        assert_eq!(warned(&decision, WarningKind::DragsLater), None);
    }
}

/// Without air nothing presses but a spring.
#[test]
fn a_dead_compressor_leaves_air_applied_brakes_off_and_lets_springs_creep_on() {
    let decision = decided(UNIT, &["2:=AP-GQ1:failed"]);
    assert_eq!(warned(&decision, WarningKind::Drags), None);
    let later = warned(&decision, WarningKind::DragsLater).unwrap();
    assert!(
        later.starts_with("4 brakes drag once stored air"),
        "{later}"
    );
}

#[test]
fn a_reservoir_is_drained_last_and_at_its_own_cock() {
    let decision = decided(
        UNIT,
        &[
            "2:=MP-QM1:closed_trapped",
            "1:=AS-CM1:closed_vented",
            "1:=AS-CM2:closed_vented",
        ],
    );
    let order: Vec<String> = decision
        .instructions
        .iter()
        .map(|one| one.at.to_string())
        .collect();
    let last = ["=AS-CM1 of car 1", "=AS-CM2 of car 1"];
    assert_eq!(order, [&["=MP-QM1 of car 2"][..], &last].concat());
    let [cock, reservoir, _] = decision.instructions.as_slice() else {
        panic!("{order:?}");
    };
    assert!(
        cock.act.starts_with("Close it, with nothing applied."),
        "{}",
        cock.act
    );
    assert!(
        reservoir.act.contains("drain it at =AS-QM2"),
        "{}",
        reservoir.act
    );
    assert!(!reservoir.act.contains("Close it"), "{}", reservoir.act);
    assert_eq!(reservoir.see, "No more air comes where it is drained.");
    let places = checks(&decision, CheckKind::RightPlace);
    let places: Vec<&str> = places.iter().map(|(of, _)| of.as_str()).collect();
    assert_eq!(places, order);
}

#[test]
fn what_would_be_a_fault_is_not_asked_for() {
    let says = act(UNIT, "1:=BS1-QM1:closed_trapped");
    assert!(says.starts_with("Not to be done on purpose"), "{says}");
}

#[test]
fn pads_are_said_to_be_loose_where_a_vented_cock_takes_their_brakes() {
    let see = |supposing| decided(UNIT, &[supposing]).instructions[0].see.clone();
    let bogie = see("1:=BS2-QM1:closed_vented");
    assert!(
        bogie.ends_with("loose on both sides: car 1, bogie 2."),
        "{bogie}"
    );
    for other in ["1:=PB-QM2:closed_vented", "1:=AS-CM1:closed_vented"] {
        assert!(!see(other).contains("loose"), "{other}");
    }
}

#[test]
fn lost_air_suspension_is_told_beside_the_verdicts() {
    let now = decided(UNIT, &["1:=AS-QM1:closed_vented"]);
    let says = warned(&now, WarningKind::Suspension).unwrap();
    let at_once = "The car sinks onto its emergency springs, since no air comes to the levelling \
                   valves of car 1 =AS-QN2, =AS-QN3, =AS-QN4, =AS-QN5.";
    assert!(says.starts_with(at_once), "{says}");
    let later = decided(UNIT, &["1:=MP-QM2:closed_trapped"]);
    let says = warned(&later, WarningKind::Suspension).unwrap();
    assert!(
        says.starts_with("Once stored air is used up, no air comes"),
        "{says}"
    );
    let none = decided(UNIT, &["1:=BS1-QM1:closed_vented"]);
    assert_eq!(warned(&none, WarningKind::Suspension), None);
}
