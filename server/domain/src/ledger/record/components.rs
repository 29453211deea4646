//! Components off the car: where they are kept, and in which condition.

use super::{Agreed, fitments, locations, removals};
use crate::configuration::component::{ComponentRef, Condition, RemovalReason};
use crate::configuration::location::Kept;
use crate::ledger::command::Command;
use crate::ledger::consequences::{AnsweredBy, RaisedDoubt};
use crate::ledger::dossier::{ComponentRecord, ComponentState, Dossier, Period, Whereabouts};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{Fact, Relocation, Removal};
use crate::ledger::touches::Touched;
use crate::people::{Actor, Role};
use crate::refusal::Refusal;
use crate::time::Instant;

pub(super) fn known<'a>(
    dossier: &'a Dossier,
    component: &ComponentRef,
) -> Result<&'a ComponentRecord, Refusal> {
    let unknown = || Refusal::Unknown {
        what: "serial",
        name: component.to_string(),
    };
    dossier.components.get(component).ok_or_else(unknown)
}

/// Says which of the components that a command refers to is not in the register, without deciding it.
pub fn names_unknown(dossier: &Dossier, command: &Command) -> Option<Refusal> {
    let touched = Touched::by(command);
    // A plate that somebody bears from now on is nobody's name yet.
    let mut named = touched.components.difference(&touched.plates);
    named.find_map(|component| known(dossier, component).err())
}

/// Refuses a time before the component came to where it is now.
pub(super) fn not_before_whereabouts(
    record: &ComponentRecord,
    at: Instant,
    what: &str,
) -> Result<(), Refusal> {
    if record.since <= at {
        return Ok(());
    }
    Err(Refusal::Contradicts {
        what: format!("{} {what} at {at}", record.component, at = at.told()),
        by: record.since_by,
        since: record.since.into(),
        allowed: "give a later time, or correct that entry",
    })
}

pub(super) fn check_relocated(
    dossier: &Dossier,
    Relocation {
        component,
        to,
        sent,
    }: &Relocation,
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, component)?;
    if let Some(fitment) = dossier.open_own_fitment(component) {
        return Err(Refusal::FittedElsewhere {
            component: component.clone(),
            at: fitment.at.clone().into(),
            by: fitment.fitted_by,
        });
    }
    not_before_whereabouts(record, at, "moved to another location")?;
    let condition = dossier.condition_at(component, at);
    let condition = condition.unwrap_or(record.condition);
    locations::check_kept(dossier, (component, condition), (to, sent), at)
}

pub(super) fn fold_relocated(
    dossier: &mut Dossier,
    entry: &Entry,
    Relocation {
        component,
        to,
        sent,
    }: &Relocation,
) {
    let state = ComponentState {
        by: entry.seq,
        since: entry.effective_at,
        whereabouts: Some(Whereabouts::Kept(Kept::new(to, sent))),
        condition: None,
        modification: None,
        batch: None,
    };
    dossier.put_state(component, state);
}

pub(super) fn check_judged(
    dossier: &Dossier,
    (actor, agreed): (&Actor, Agreed),
    (component, condition): (&ComponentRef, Condition),
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, component)?;
    if at < record.received_at {
        return Err(Refusal::Contradicts {
            what: format!("{component} judged {condition} at {at}", at = at.told()),
            by: record.id,
            since: record.received_at.into(),
            allowed: "give a time after it was received",
        });
    }
    let fitted = || {
        let mut fitments = dossier.own_fitments_of(component);
        fitments.any(|own| own.period().meet(Period::since(at)).is_some())
    };
    let before = judged_as(dossier, record, at);
    let record = &before;
    answers_told_after(dossier, agreed, (component, condition), at)?;
    match (record.condition, condition) {
        (Condition::Scrapped, _) => forbids(record, "what is scrapped stays scrapped"),
        (Condition::BeyondSalvage, to) if !to.ends_its_life() => {
            forbids(record, "it is never fitted again; record its destruction")
        }
        (Condition::Quarantined, to) if !to.stays_held() && agreed == Agreed::ByOne => {
            forbids(record, RELEASE)
        }
        (Condition::Quarantined, _) if !actor.holds(&[Role::BrakeEngineer]) => {
            forbids(record, "a brake engineer must judge what is quarantined")
        }
        (_, Condition::Scrapped) if fitted() => forbids(record, "remove it before it is scrapped"),
        _ => what_is_said_holds(dossier, component, &judged(Seq(i64::MAX), at, condition)),
    }
}

/// What was told after the judgement that stands is answered as what was told in time: a quarantine by
/// two people, that it was beyond salvage or scrapped by nobody who judges it better.
fn answers_told_after(
    dossier: &Dossier,
    agreed: Agreed,
    (component, condition): (&ComponentRef, Condition),
    at: Instant,
) -> Result<(), Refusal> {
    let told = dossier.held_told_after(component).into_iter();
    let unanswered = |told: &RaisedDoubt| match told.doubt.answered_by() {
        AnsweredBy::Two if agreed == Agreed::ByOne && !condition.stays_held() => Some(
            "it was quarantined before it was judged, as was told only after: a brake engineer proposes its release, and another approves it",
        ),
        AnsweredBy::Ending(Condition::Scrapped) if condition != Condition::Scrapped => Some(
            "it was scrapped before it was judged, as was told only after, and what is scrapped stays scrapped: record that again, or a brake engineer corrects that entry if it is wrong",
        ),
        AnsweredBy::Ending(Condition::BeyondSalvage) if !condition.ends_its_life() => Some(
            "it was beyond salvage before it was judged, as was told only after, and is never fitted again: record that again or its destruction, or a brake engineer corrects that entry if it is wrong",
        ),
        _ => None,
    };
    let mut refused = told
        .filter(|told| told.since <= at)
        .filter_map(|told| Some((told, unanswered(told)?)));
    match refused.next() {
        None => Ok(()),
        Some((told, allowed)) => Err(Refusal::Contradicts {
            what: format!("{component} judged {condition}"),
            by: told.by,
            since: told.since.into(),
            allowed,
        }),
    }
}

/// The component as it is judged: as it is now; by what takes the place of a judgement, as it was then.
fn judged_as(dossier: &Dossier, record: &ComponentRecord, at: Instant) -> ComponentRecord {
    let corrects = !dossier.changes.withdrawn.is_empty();
    let then = dossier.condition_at(&record.component, at);
    ComponentRecord {
        condition: then.filter(|_| corrects).unwrap_or(record.condition),
        ..record.clone()
    }
}

/// What a judgement says of a component.
fn judged(by: Seq, since: Instant, condition: Condition) -> ComponentState {
    ComponentState {
        by,
        since,
        whereabouts: None,
        condition: Some(condition),
        modification: None,
        batch: None,
    }
}

/// What a removal says of a component.
pub(super) fn taken_off(by: Seq, since: Instant, removal: &Removal) -> ComponentState {
    ComponentState {
        by,
        since,
        whereabouts: Some(Whereabouts::Kept(Kept::new(&removal.to, &removal.sent))),
        condition: Some(removal.condition),
        modification: None,
        batch: None,
    }
}

/// How a component leaves quarantine.
const RELEASE: &str = "a brake engineer proposes its release, and another approves it";
/// How a removal by which it is quarantined is taken back, as where another component came off.
const TAKE_BACK: &str = "first a brake engineer proposes its release, and another approves it; then withdraw or correct that entry";
/// How one as evidence is.
const TAKE_BACK_EVIDENCE: &str = "first correct that entry to the reason register error (register_error), still quarantined; then a brake engineer proposes its release, and another approves it; then withdraw or correct that correction";

/// What comes next where the correction of an entry would release a component.
fn next_step(dossier: &Dossier, target: Seq, component: &ComponentRef) -> &'static str {
    let wrong = dossier.corrected.get(&target).map(|(wrong, _)| &wrong.fact);
    match wrong {
        Some(Fact::Removed {
            component: off,
            removal,
            ..
        }) if off == component => match removal.reason {
            RemovalReason::Evidence => TAKE_BACK_EVIDENCE,
            _ => TAKE_BACK,
        },
        _ => RELEASE,
    }
}

/// The components that no correction releases by the way.
pub(super) fn held(dossier: &Dossier) -> Vec<ComponentRecord> {
    let held = |record: &&ComponentRecord| record.condition.stays_held();
    dossier.components.values().filter(held).cloned().collect()
}

/// Checks that no correction releases what is quarantined, and that only a brake engineer takes
/// back that one was beyond salvage or scrapped, also where that was told only after it was judged.
pub(super) fn check_released(
    dossier: &Dossier,
    (actor, target): (&Actor, Seq),
    held: &[ComponentRecord],
) -> Result<(), Refusal> {
    for record in held {
        let now = dossier.components.get(&record.component);
        let now = now.map_or(record.condition, |now| now.condition);
        let released = record.condition == Condition::Quarantined && !now.stays_held();
        if released && Agreed::of(actor) == Agreed::ByOne {
            return forbids(record, next_step(dossier, target, &record.component));
        }
        let was_ended = record.condition != Condition::Quarantined;
        let revived = was_ended && now != record.condition && now != Condition::Scrapped;
        if revived && !actor.holds(&[Role::BrakeEngineer]) {
            return forbids(record, TAKES_BACK);
        }
    }
    match ending_taken_back(dossier, target) {
        Some((component, condition)) if !actor.holds(&[Role::BrakeEngineer]) => {
            Err(Refusal::ConditionForbids {
                component,
                condition,
                allowed: TAKES_BACK,
            })
        }
        _ => Ok(()),
    }
}

/// Who takes back that a component was beyond salvage or scrapped.
const TAKES_BACK: &str = "a brake engineer must take that back";

/// What an entry told to have been beyond salvage or scrapped before somebody judged it, if nothing says
/// that any more.
fn ending_taken_back(dossier: &Dossier, target: Seq) -> Option<(ComponentRef, Condition)> {
    let (wrong, _) = dossier.corrected.get(&target)?;
    let told = wrong.consequences.iter().flat_map(|told| &told.doubts);
    let mut ended = told.filter_map(|doubt| match doubt.answered_by() {
        AnsweredBy::Ending(condition) if doubt.is_raised() => Some((&doubt.component, condition)),
        _ => None,
    });
    let said = |component: &ComponentRef| {
        let mut said = dossier.states_of(component).iter();
        said.any(|state| state.condition.is_some_and(Condition::ends_its_life))
    };
    let taken_back = ended.find(|(component, _)| !said(component));
    taken_back.map(|(component, condition)| (component.clone(), condition))
}

fn forbids(record: &ComponentRecord, allowed: &'static str) -> Result<(), Refusal> {
    Err(Refusal::ConditionForbids {
        component: record.component.clone(),
        condition: record.condition,
        allowed,
    })
}

/// What comes off is no better than it was, and where the reason casts a doubt on it, not
/// serviceable.
pub(super) fn check_condition_after(
    dossier: &Dossier,
    component: &ComponentRef,
    removal: &Removal,
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, component)?;
    let to = (&removal.to, &removal.sent);
    locations::check_kept(dossier, (component, removal.condition), to, at)?;
    removals::check_reason(removal)?;
    let before = dossier.condition_before(component, at);
    let before = before.unwrap_or(record.condition);
    let allowed = match (before, removal.condition) {
        (Condition::Quarantined, to) if to.stays_held() => None,
        (Condition::Serviceable, _) => None,
        (Condition::BeyondSalvage, to) if !to.ends_its_life() => Some("it is never fitted again"),
        (Condition::Quarantined, _) => Some("it stays so until it is released by two people"),
        (_, Condition::Serviceable) => Some("it stays so until it is judged on evidence"),
        _ => None,
    };
    match allowed {
        None => what_is_said_holds(dossier, component, &taken_off(Seq(i64::MAX), at, removal)),
        Some(allowed) => Err(Refusal::ConditionForbids {
            component: component.clone(),
            condition: before,
            allowed,
        }),
    }
}

/// What is said of a component must not forbid what was fitted after it on the strength of the
/// condition before, by itself or inside an assembly; and what is scrapped is empty.
fn what_is_said_holds(
    dossier: &Dossier,
    component: &ComponentRef,
    said: &ComponentState,
) -> Result<(), Refusal> {
    let Some(condition) = said.condition.filter(|is| *is != Condition::Serviceable) else {
        return Ok(());
    };
    if condition == Condition::Scrapped {
        fitments::empty_from(dossier, component, said.since)?;
    }
    let taken_off_at = said.whereabouts.is_some().then_some(said.since);
    let starts = dossier.starts_of(component, taken_off_at);
    let mut rests = starts
        .into_iter()
        .filter(|start| dossier.decides(said, component, *start));
    match rests.next() {
        None => Ok(()),
        Some((since, by)) => Err(Refusal::Contradicts {
            what: format!("{component} {condition} from {} on", said.since),
            by,
            since: since.into(),
            allowed: "only a serviceable component is fitted: where somebody judged it serviceable between, record that first; where nobody did, judge it as of a time after that entry",
        }),
    }
}

pub(super) fn fold_judged(
    dossier: &mut Dossier,
    entry: &Entry,
    component: &ComponentRef,
    condition: Condition,
) {
    dossier.put_state(component, judged(entry.seq, entry.effective_at, condition));
}
