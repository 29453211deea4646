//! Ends of pipe at which nothing is fitted, on the invented fleet: a hole where a drain cock, a test point
//! or a gauge belongs lets out the air of its pipe (common practice, no source).

use super::said_and_checked::{SET, UNIT, question};
use domain::circuit::Mode;
use domain::decision::warning::WarningKind;
use domain::decision::{Decision, Question, decide};
use domain::isolation::Supply;
use domain::isolation::cause::CauseKind;
use domain::isolation::effect::{AppliedBy, Availability, Effect};
use domain::isolation::weak_points::{Fails, WeakPoint};
use tests::car_type_text::read;

/// Without what belongs at a position of the first car.
fn without(types: &[&str], position: &str) -> Question {
    let mut question = question(types, &[]);
    question.cars[0].vacant.push(read(position));
    question
}

fn emergency(decision: &Decision) -> &Effect {
    let mut effects = decision.effects.iter().map(|one| &one.effect);
    let now = |one: &&Effect| (one.mode, one.supply) == (Mode::Emergency, Supply::Now);
    effects.find(now).unwrap()
}

/// How many air-applied brakes of the first car act in emergency braking.
fn act(position: &str) -> u32 {
    let decision = decide(&without(UNIT, position), &[]).unwrap();
    emergency(&decision).counts.each_car[0].available
}

fn warned(decision: &Decision, kind: WarningKind) -> Option<String> {
    let mut warnings = decision.warnings().into_iter();
    warnings.find(|one| one.kind == kind).map(|one| one.text)
}

#[test]
fn a_missing_drain_cock_takes_at_once_what_its_leak_takes() {
    let weak = question(UNIT, &[]).weak_points().unwrap();
    let leaks = |one: &&WeakPoint| {
        let Fails::Leaks { likewise, .. } = &one.failure.how else {
            return false;
        };
        let first = (one.failure.car, one.failure.position.as_str());
        let others = likewise.iter().map(|at| (at.car, at.position.as_str()));
        let mut all = others.chain([first]);
        all.any(|at| at == (0, "=BS-QM2"))
    };
    let leak = weak.singles.iter().find(leaks).unwrap();
    let decision = decide(&without(UNIT, "=BS-QM2"), &[]).unwrap();
    let now = decision.percentage.as_ref().unwrap().value;
    let later = decision.percentage_later.as_ref().unwrap().value;
    let lost = now.before.braked_weight().0 - now.after.braked_weight().0;
    assert_eq!(lost, leak.losses.at_once.0);
    assert!(0 < lost);
    assert_eq!(later.after.braked_weight(), now.after.braked_weight());
}

#[test]
fn an_open_end_is_told_beside_the_verdict_and_is_the_cause_of_what_it_takes() {
    let decision = decide(&without(UNIT, "=BS-QM2"), &[]).unwrap();
    let told = warned(&decision, WarningKind::Vacant).unwrap();
    assert!(
        told.starts_with("Nothing is fitted where something belongs"),
        "{told}"
    );
    assert!(told.ends_with("car 1 =BS-QM2."), "{told}");
    let actuators = emergency(&decision).actuators.iter();
    let lost = actuators
        .filter(|one| one.applied_by == AppliedBy::Air && one.availability == Availability::Lost);
    let lost: Vec<_> = lost.collect();
    assert_eq!(lost.len(), 8);
    for brake in lost {
        let why: Vec<_> = brake
            .why
            .iter()
            .map(|one| (one.position.as_str(), one.kind))
            .collect();
        assert_eq!(why, [("=BS-QM2", CauseKind::OpenEnd)]);
    }
    // Its air is gone as by a cock that vents: nothing holds a brake on.
    assert_eq!(warned(&decision, WarningKind::Drags), None);
    let sound = decide(&question(UNIT, &[]), &[]).unwrap();
    assert_eq!(warned(&sound, WarningKind::Vacant), None);
}

#[test]
fn an_open_end_empties_its_pipe_as_far_as_the_next_valve_or_closed_cock() {
    // On the cylinders of one bogie, on its pilot pressure at a valve, on the supply of both.
    assert_eq!(["=BS2-XT1", "=BS1-XT2", "=BS-XT1"].map(act), [4, 4, 0]);
    // The reservoir of the brake is behind a check valve: the main pipe is empty, and it is not, yet.
    let main = decide(&without(UNIT, "=MP-XT1"), &[]).unwrap();
    assert_eq!(emergency(&main).counts.each_car[0].available, 8);
    assert!(main.fades().is_some());
}

/// A brake pipe without air has its brakes on (common practice, no source).
#[test]
fn an_open_brake_pipe_counts_no_brake_on_it_and_says_that_they_may_be_on() {
    let decision = decide(&without(SET, "=BP-XT1"), &[]).unwrap();
    let percentage = decision.percentage.as_ref().unwrap().value;
    assert!(percentage.after < percentage.before);
    assert!(warned(&decision, WarningKind::Drags).is_some());
}
