//! What takes the place of an entry and says of the same things what is true of them. What was
//! recorded since goes on, where the history that comes of it can be; else the entry is named
//! that then conflicts.

use crate::configuration::component::{ComponentRef, PositionRef, Subject};
use crate::ledger::command::Command;
use crate::ledger::dossier::{ComponentState, Dossier, IsolationRecord, OwnFitment};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;

/// Whether a fact speaks of the same things at the same places as the one in whose place it is put:
/// it says otherwise when, why, in which condition or on what evidence.
pub(super) fn speaks_of_the_same(wrong: &Fact, right: &Fact) -> bool {
    match (wrong, right) {
        (Fact::Fitted(one), Fact::Fitted(other)) => {
            let ends = one.ended.is_some() || other.ended.is_some();
            !ends && (&one.component, &one.at) == (&other.component, &other.at)
        }
        (
            Fact::Removed { component: one, .. },
            Fact::Removed {
                component: other, ..
            },
        )
        | (
            Fact::ConditionJudged { component: one, .. },
            Fact::ConditionJudged {
                component: other, ..
            },
        ) => one == other,
        (
            Fact::Moved {
                component: one,
                to: here,
                ..
            },
            Fact::Moved {
                component: other,
                to: there,
                ..
            },
        ) => (one, here) == (other, there),
        (
            Fact::Swapped { first, second, .. },
            Fact::Swapped {
                first: one,
                second: other,
                ..
            },
        ) => (first, second) == (one, other),
        (
            Fact::Embodied {
                modification,
                subject,
                ..
            },
            Fact::Embodied {
                modification: number,
                subject: other,
                ..
            },
        ) => (modification, subject) == (number, other),
        (Fact::Isolated(one), Fact::Isolated(other)) => one.at == other.at,
        (Fact::IsolationEnded { at: one, .. }, Fact::IsolationEnded { at: other, .. }) => {
            one == other
        }
        _ => false,
    }
}

/// An entry of a time that the corrected one would pass, or with which it would meet.
fn passes(wrong: &Entry, by: Seq, since: Instant) -> Refusal {
    Refusal::Contradicts {
        what: format!("a correction of {}", wrong.seq),
        by,
        since: since.into(),
        allowed: "give a time that does not pass that entry, or withdraw that entry first",
    }
}

/// The components that a fact puts somewhere or takes off.
fn placed(fact: &Fact) -> Vec<&ComponentRef> {
    match fact {
        Fact::Fitted(fitting) => vec![&fitting.component],
        Fact::Removed { component, .. } | Fact::Moved { component, .. } => vec![component],
        Fact::Swapped { first, second, .. } => vec![first, second],
        _ => Vec::new(),
    }
}

/// Checks, before the wrong entry is taken back, that at its other time it does not pass what else
/// was said of where its components were, or of their modification state.
pub(super) fn check_order(
    dossier: &Dossier,
    wrong: &Entry,
    command: &Command,
) -> Result<(), Refusal> {
    let to = command.effective_at;
    for component in placed(&wrong.fact) {
        let moves = |state: &ComponentState| state.whereabouts.is_some();
        passes_nothing(dossier, (wrong, component), to, moves)?;
    }
    if let Fact::Embodied {
        subject: Subject::Component(component),
        ..
    } = &wrong.fact
    {
        let brings_on = |state: &ComponentState| state.modification.is_some();
        passes_nothing(dossier, (wrong, component), to, brings_on)?;
        // What was fitted in between was fitted in that state.
        let mut starts = dossier.starts_of(component, None).into_iter();
        let between = |(at, _): &(Instant, Seq)| wrong.effective_at <= *at && *at < to;
        if let Some((since, by)) = starts.find(between) {
            return Err(passes(wrong, by, since));
        }
    }
    match &wrong.fact {
        Fact::Isolated(cut_out) => passes_no_state(dossier, (wrong, &cut_out.at), to),
        _ => Ok(()),
    }
}

/// A state of a cut-out is told late where it belongs; a correction of its time passes no other.
fn passes_no_state(
    dossier: &Dossier,
    (wrong, at): (&Entry, &PositionRef),
    to: Instant,
) -> Result<(), Refusal> {
    let (first, last) = (wrong.effective_at.min(to), wrong.effective_at.max(to));
    let others = dossier.isolations.get(at).into_iter().flatten();
    let mut others = others.filter(|state| state.id != wrong.seq);
    match others.find(|state| first < state.since && state.since < last) {
        None => Ok(()),
        Some(state) => Err(passes(wrong, state.id, state.since)),
    }
}

fn passes_nothing(
    dossier: &Dossier,
    (wrong, component): (&Entry, &ComponentRef),
    to: Instant,
    told: fn(&ComponentState) -> bool,
) -> Result<(), Refusal> {
    let states = dossier.states_of(component);
    let Some(was) = states.iter().find(|state| state.by == wrong.seq) else {
        return Ok(());
    };
    let is = ComponentState {
        by: Seq(i64::MAX),
        since: to,
        ..was.clone()
    };
    let (first, last) = (was.order().min(is.order()), was.order().max(is.order()));
    let mut others = states.iter().filter(|state| state.by != wrong.seq);
    let between =
        |state: &&ComponentState| told(state) && first < state.order() && state.order() < last;
    match others.find(between) {
        None => Ok(()),
        Some(state) => Err(passes(wrong, state.by, state.since)),
    }
}

/// Checks, once the right entry is folded, that the history that comes of it can be.
pub(super) fn check_history(
    dossier: &Dossier,
    wrong: &Entry,
    right: &Entry,
) -> Result<(), Refusal> {
    for component in placed(&right.fact) {
        apart(dossier, wrong, component)?;
    }
    match &right.fact {
        Fact::Isolated(cut_out) => cut_out_once(dossier, wrong, &cut_out.at),
        Fact::IsolationEnded { at, .. } => cut_out_once(dossier, wrong, at),
        _ => Ok(()),
    }
}

/// A component is in one place at a time, and a position holds one.
fn apart(dossier: &Dossier, wrong: &Entry, component: &ComponentRef) -> Result<(), Refusal> {
    for own in dossier.own_fitments_of(component) {
        let others = dossier.own_fitments_of(component);
        let mut others = others.chain(dossier.own_fitments_at(&own.at));
        let meets =
            |other: &&OwnFitment| other.id != own.id && other.period().meet(own.period()).is_some();
        if let Some(other) = others.find(meets) {
            let later = if own.from < other.from { other } else { own };
            return Err(passes(wrong, later.fitted_by, later.from));
        }
    }
    Ok(())
}

/// Whether a cut-out had not ended at a moment.
fn lasts(isolation: &IsolationRecord, at: Instant) -> bool {
    isolation.ended.is_none_or(|(end, _)| at < end)
}

/// A position is cut out once at a time.
fn cut_out_once(dossier: &Dossier, wrong: &Entry, at: &PositionRef) -> Result<(), Refusal> {
    let list = dossier.isolations.get(at).map_or(&[][..], Vec::as_slice);
    for (place, one) in list.iter().enumerate() {
        let meets = |other: &&IsolationRecord| lasts(one, other.since) && lasts(other, one.since);
        let mut others = list.iter().skip(place + 1);
        if let Some(other) = others.find(meets) {
            let later = if one.since < other.since { other } else { one };
            return Err(passes(wrong, later.id, later.since));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn fact(value: Value) -> Fact {
        serde_json::from_value(value).expect("a fact")
    }

    #[test]
    fn another_time_reason_or_evidence_is_of_the_same_and_another_thing_or_place_is_not() {
        let judged = |serial: &str, evidence: &str| {
            fact(
                json!({"condition_judged": {"component": {"part": "V-1", "serial": serial},
                "condition": "serviceable", "evidence": evidence}}),
            )
        };
        assert!(speaks_of_the_same(
            &judged("1", "seen"),
            &judged("1", "measured")
        ));
        assert!(!speaks_of_the_same(
            &judged("1", "seen"),
            &judged("2", "seen")
        ));
        let fitted = |position: &str| {
            fact(
                json!({"fitted": {"component": {"part": "V-1", "serial": "1"},
                "car": "4101", "position": position}}),
            )
        };
        assert!(speaks_of_the_same(&fitted("=B-K1"), &fitted("=B-K1")));
        assert!(!speaks_of_the_same(&fitted("=B-K1"), &fitted("=B-K2")));
        assert!(!speaks_of_the_same(&fitted("=B-K1"), &Fact::Withdrawn));
    }
}
