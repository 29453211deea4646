//! What is told of a place that is cut out already: another state, or that it was seen right later. The
//! cut-out goes on, and no brake is restored by it. States stand in the order of their times, whichever
//! was recorded last.

use crate::circuit::sets::Media;
use crate::circuit::{Behaviour, Line, Place};
use crate::configuration::car_type::CarType;
use crate::configuration::component::PositionRef;
use crate::identity::PositionCode;
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

/// Checks that what was told as emptied does not fill by words: with its cock closed ever since, nothing can
/// have charged it, and its air would count as brake. Where no reservoir lies behind, there is no such air.
pub(super) fn check_stays_empty(
    dossier: &Dossier,
    car_type: &CarType,
    cut_out: &CutOut,
    former: &IsolationRecord,
) -> Result<(), Refusal> {
    let list = dossier.isolations.get(&cut_out.at);
    let mut list = list.into_iter().flatten();
    let next = former
        .ended
        .and_then(|(_, by)| list.find(|known| known.id == by));
    let fills = |emptied: &CutOut, later: &CutOut| {
        let charged = [CutOutState::SupplyCut, CutOutState::ClosedTrapped];
        emptied.state == CutOutState::ClosedVented && charged.contains(&later.state)
    };
    let against = if fills(&former.cut_out, cut_out) {
        Some(former)
    } else {
        next.filter(|next| fills(cut_out, &next.cut_out))
    };
    match against {
        Some(known) if fills_reservoirs(car_type, &cut_out.at.position) => {
            Err(Refusal::Contradicts {
                what: format!(
                    "the state {} of {}, with what was told as emptied charged again",
                    cut_out.state.name(),
                    cut_out.at
                ),
                by: known.id,
                since: known.since.into(),
                allowed: "correct the entry that tells it as emptied, where it never was; or tell first \
                          when the cock was open again, since nothing charges it while that is closed",
            })
        }
        _ => Ok(()),
    }
}

/// Whether stored air can come to a reservoir from a position, within its car. Lines times places reached.
fn fills_reservoirs(car_type: &CarType, from: &PositionCode) -> bool {
    let circuit = &car_type.circuit;
    let is_reservoir = |place: &Place| {
        let mut nodes = circuit.nodes.iter();
        let node = nodes.find(|node| matches!(place, Place::Position(at) if *at == node.position));
        node.is_some_and(|node| matches!(node.behaviour, Behaviour::Reservoir { .. }))
    };
    let stored = |line: &&Line| !Media::of(line.medium).within(Media::STORED).is_empty();
    let start = Place::Position(from.clone());
    let mut reached = vec![&start];
    let mut next = 0;
    while let Some(place) = reached.get(next).copied() {
        next += 1;
        for line in circuit.lines.iter().filter(stored) {
            if line.from != *place || reached.contains(&&line.to) {
                continue;
            }
            if is_reservoir(&line.to) {
                return true;
            }
            reached.push(&line.to);
        }
    }
    false
}

/// When a place was last seen right before it was cut out, by what was told of it before and now.
pub(super) fn last_right(cut_out: &CutOut, former: &IsolationRecord) -> Option<Instant> {
    let known = former.cut_out.not_before?;
    let told = cut_out.not_before.filter(|told| *told <= former.first);
    Some(told.map_or(known, |told| told.max(known)))
}
