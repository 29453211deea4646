//! What is told of a place that is cut out already: another state, or that it was seen right later. The
//! cut-out goes on, and no brake is restored by it. States stand in the order of their times, whichever
//! was recorded last.

use crate::configuration::component::PositionRef;
use crate::isolation::CutOutState;
use crate::isolation::isolable::Isolable;
use crate::ledger::dossier::{Dossier, IsolationRecord};
use crate::ledger::fact::CutOut;
use crate::refusal::Refusal;
use crate::time::Instant;

/// The state that one told of a moment takes the place of, from then until the next state or, of the last
/// one, on: the cut-out goes on. Of one that a test ended none is told any more.
pub(super) fn replaced<'a>(
    dossier: &'a Dossier,
    at: &PositionRef,
    when: Instant,
) -> Option<&'a IsolationRecord> {
    let list = dossier.isolations.get(at)?;
    let later = &dossier.ended_later;
    let goes_on = |known: &IsolationRecord| match known.ended {
        None => true,
        Some((end, by)) => {
            let restated = || list.iter().any(|other| other.id == by);
            when < end && (restated() || later.is_ended_by(by))
        }
    };
    // What is corrected has not taken the place of what followed it.
    let ended = later.isolation(at);
    let before = |known: &IsolationRecord| {
        known.since <= when && ended.is_none_or(|(end, _)| known.since < end)
    };
    let all = list.iter().filter(|known| before(known) && goes_on(known));
    all.min_by_key(|known| known.since)
}

/// Checks that a position can be in a state, given how it was cut out before.
pub(super) fn check_state(
    isolable: Option<Isolable<'_>>,
    state: CutOutState,
    former: Option<&IsolationRecord>,
) -> Result<(), Refusal> {
    let reopened = state == CutOutState::ReopenedNotProven;
    let possible = match (isolable, former) {
        (Some(isolable), Some(_)) => isolable.states_once_cut_out().contains(&state),
        (Some(isolable), None) => isolable.states().contains(&state),
        // What the circuit does not know may be in any state.
        (None, former) => !reopened || former.is_some(),
    };
    if possible {
        return Ok(());
    }
    let why = match isolable.and_then(|one| one.behaviour) {
        _ if reopened => "since only a cock that was cut out is open again",
        Some(_) => "the states that such a position can be in",
        None => "since no air passes it",
    };
    let states = isolable.map(|one| format!("one of {}, ", one.states_named()));
    Err(Refusal::Impossible {
        field: "state",
        given: state.name().to_owned(),
        allowed: format!("{}{why}", states.unwrap_or_default()),
    })
}

/// What is told of a place that is cut out already is another state, or that it was seen right later.
pub(super) fn check_says_more(
    cut_out: &CutOut,
    former: &IsolationRecord,
    at: Instant,
) -> Result<(), Refusal> {
    let narrower = former.cut_out.not_before.zip(cut_out.not_before);
    let narrower = narrower.filter(|(known, told)| known < told);
    if let (Some((_, told)), Some(_)) = (narrower, former.ended) {
        return Err(Refusal::Impossible {
            field: "not_before",
            given: told.told().to_string(),
            allowed: "nothing here, since a later state is recorded: tell it with the state that holds now"
                .to_owned(),
        });
    }
    if cut_out.state != former.cut_out.state {
        return Ok(());
    }
    if let Some((known, told)) = narrower {
        if told <= former.first {
            return Ok(());
        }
        return Err(Refusal::Impossible {
            field: "not_before",
            given: told.told().to_string(),
            allowed: format!(
                "a time after {} and not after it was found at {}",
                known.told(),
                former.first.told()
            ),
        });
    }
    Err(Refusal::Contradicts {
        what: format!("a cut-out of {} at {at}", cut_out.at, at = at.told()),
        by: former.id,
        since: former.since.into(),
        allowed: "tell another state, or a later time at which it was seen right; else end that cut-out first, or correct it",
    })
}

/// When a place was last seen right before it was cut out, by what was told of it before and now.
pub(super) fn last_right(cut_out: &CutOut, former: &IsolationRecord) -> Option<Instant> {
    let known = former.cut_out.not_before?;
    let told = cut_out.not_before.filter(|told| *told <= former.first);
    Some(told.map_or(known, |told| told.max(known)))
}
