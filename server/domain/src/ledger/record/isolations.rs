//! Cut-outs: recorded when found, in force until an entry ends them.

use super::restated;
use crate::configuration::component::PositionRef;
use crate::due::at_once::AtOnceCause;
use crate::identity::{PositionCode, ProcedureCode, TestRecordId};
use crate::isolation::isolable::Isolable;
use crate::ledger::dossier::{Dossier, IsolationRecord, TestedRecord};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{CutOut, Fact};
use crate::ledger::proof::{Ending, Lack};
use crate::refusal::Refusal;
use crate::test_record::record::TestRecord;
use crate::time::Instant;
use std::sync::Arc;

pub(super) fn in_force<'a>(dossier: &'a Dossier, at: &PositionRef) -> Option<&'a IsolationRecord> {
    let open = dossier.isolations.get(at)?.iter();
    let open = open.filter(|isolation| isolation.ended.is_none());
    // Where a correction opens an earlier one again, that: it ends before the later one began.
    open.min_by_key(|isolation| isolation.since)
}

/// Checks what is said of a cut-out.
pub(super) fn check(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    match fact {
        Fact::Isolated(cut_out) => check_isolated(dossier, cut_out, at),
        Fact::IsolationEnded {
            at: position,
            proved_by,
        } => check_ended(dossier, position, proved_by, at),
        _ => Ok(()),
    }
}

/// Folds an entry that records a cut-out or ends one.
pub(super) fn fold(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::Isolated(cut_out) => fold_isolated(dossier, entry, cut_out),
        Fact::IsolationEnded { at, .. } => fold_ended(dossier, entry, at),
        _ => {}
    }
}

fn check_isolated(dossier: &Dossier, cut_out: &CutOut, at: Instant) -> Result<(), Refusal> {
    let record = super::cars::car_then(dossier, &cut_out.at.car, at)?;
    let day = dossier.zone.day_of(at);
    let known = dossier.documents.car_type(&record.car, day);
    let Some(car_type) = known.filter(|known| known.position(&cut_out.at.position).is_some())
    else {
        return Err(Refusal::Unknown {
            what: "position",
            name: cut_out.at.to_string(),
        });
    };
    let isolable = Isolable::at(car_type, &cut_out.at.position);
    if let Some(allowed) = isolable.and_then(|one| one.told_instead(car_type)) {
        return Err(Refusal::Impossible {
            field: "position",
            given: cut_out.at.position.to_string(),
            allowed,
        });
    }
    let former = restated::replaced(dossier, &cut_out.at, at);
    restated::check_state(isolable, cut_out.state, former)?;
    if let Some(not_before) = cut_out.not_before.filter(|not_before| *not_before > at) {
        return Err(Refusal::Impossible {
            field: "not_before",
            given: not_before.told().to_string(),
            allowed: format!("a time not after it was found at {at}", at = at.told()),
        });
    }
    if let Some(former) = former {
        restated::check_says_more(cut_out, former, at)?;
        restated::check_stays_empty(dossier, car_type, cut_out, former)?;
    }
    check_once(dossier, cut_out, at)
}

/// A position is cut out once at a time.
fn check_once(dossier: &Dossier, cut_out: &CutOut, at: Instant) -> Result<(), Refusal> {
    let former = restated::replaced(dossier, &cut_out.at, at);
    let ended = dossier.ended_later.isolation(&cut_out.at);
    let until = ended.or_else(|| former.and_then(|known| known.ended));
    let former = former.map(|known| known.id);
    if let Some((end, by)) = ended.filter(|(end, _)| *end < at) {
        return Err(Refusal::Contradicts {
            what: format!("a cut-out of {} at {at}", cut_out.at, at = at.told()),
            by,
            since: end.into(),
            allowed: "give a time not after it ended",
        });
    }
    let others = dossier.isolations.get(&cut_out.at).into_iter().flatten();
    for other in others.filter(|other| Some(other.id) != former) {
        let begins_before = until.is_none_or(|(end, _)| other.since < end);
        if begins_before && other.ended.is_none_or(|(end, _)| at < end) {
            return Err(cut_out_already(other, &cut_out.at, at));
        }
    }
    Ok(())
}

/// What is told would meet a cut-out that was recorded: one of a later time, or one that ended since.
fn cut_out_already(other: &IsolationRecord, position: &PositionRef, at: Instant) -> Refusal {
    let (by, since, allowed) = match other.ended {
        _ if at < other.since => (
            other.id,
            other.since,
            "if it was so before, correct the time of that entry",
        ),
        Some((end, by)) => (
            by,
            end,
            "that ended it with a test: withdraw that entry, tell this, and end it again with a test made since",
        ),
        None => (
            other.id,
            other.since,
            "end that cut-out first, or correct it",
        ),
    };
    Refusal::Contradicts {
        what: format!("a cut-out of {position} at {at}", at = at.told()),
        by,
        since: since.into(),
        allowed,
    }
}

fn fold_isolated(dossier: &mut Dossier, entry: &Entry, cut_out: &CutOut) {
    let later = &dossier.ended_later;
    let ended = later.isolation(&cut_out.at);
    let mut record = IsolationRecord {
        id: entry.seq,
        cut_out: cut_out.clone(),
        since: entry.effective_at,
        first: entry.effective_at,
        ended: ended.or_else(|| later.as_known(entry.seq)),
    };
    let former = restated::replaced(dossier, &cut_out.at, entry.effective_at).cloned();
    let list = dossier.isolations.entry(cut_out.at.clone()).or_default();
    let mut told_late = false;
    if let Some(former) = former {
        record.first = former.first;
        record.cut_out.not_before = restated::last_right(cut_out, &former);
        // Between two states it lasts until the later one, which stands.
        if record.ended.is_none() {
            record.ended = former.ended;
            told_late = former.ended.is_some();
        }
        let replaced = list.iter_mut().filter(|known| known.id == former.id);
        replaced.for_each(|known| known.ended = Some((entry.effective_at, entry.seq)));
    }
    list.push(record);
    if told_late {
        // Nothing moves by it now: what was decided since is found again.
        dossier.changes.isolations.insert(cut_out.at.clone());
        dossier.changes.moved_cars.insert(cut_out.at.car.clone());
    } else {
        changed(dossier, &cut_out.at);
    }
}

/// Notes that the isolations of a position are changed.
pub(super) fn changed(dossier: &mut Dossier, at: &PositionRef) {
    dossier.changes.isolations.insert(at.clone());
    dossier.moved.cars.insert(at.car.clone());
    dossier.touched(&at.car, AtOnceCause::CutOutEnded);
}

fn check_ended(
    dossier: &Dossier,
    position: &PositionRef,
    proved_by: &TestRecordId,
    at: Instant,
) -> Result<(), Refusal> {
    let Some(isolation) = in_force(dossier, position) else {
        return Err(Refusal::Impossible {
            field: "position",
            given: position.to_string(),
            allowed: "a position with a cut-out in force: there is none".to_owned(),
        });
    };
    if isolation.since <= at {
        return proves(dossier, isolation, proved_by, at);
    }
    Err(Refusal::Contradicts {
        what: format!("an end of the cut-out of {position} at {}", at.told()),
        by: isolation.id,
        since: isolation.since.into(),
        allowed: "give a time not before it began",
    })
}

/// The brake is proved restored by a test of that car that was passed after the cock was closed,
/// measured that brake, has no later one against it and is not void.
fn proves(
    dossier: &Dossier,
    isolation: &IsolationRecord,
    proved_by: &TestRecordId,
    at: Instant,
) -> Result<(), Refusal> {
    let test = known_test(dossier, proved_by)?;
    let ending = ending(dossier, isolation, at);
    let Some(lack) = ending.lacks(test, dossier.tests.values()) else {
        return Ok(());
    };
    Err(match lack {
        Lack::NotPassedSince => not_passed_since(&ending, test),
        Lack::MeasuredElsewhere(places) => measured_elsewhere(isolation, test, &places),
        Lack::NotPassedLater(later) => Refusal::Contradicts {
            what: format!(
                "an end of the cut-out of {} on test record {proved_by}, which {} ({}) of the same procedure follows,",
                isolation.cut_out.at, later.record.id, later.outcome
            ),
            by: later.by,
            since: later.record.at.into(),
            allowed: "give a test that was passed after that one",
        },
        Lack::Void(touch) => Refusal::Contradicts {
            what: format!(
                "an end of the cut-out of {} on test record {proved_by}, which is void ({}),",
                isolation.cut_out.at, touch.work
            ),
            by: touch.by,
            since: touch.at.into(),
            allowed: "give a test that was passed after that",
        },
    })
}

/// A proof that is corrected goes on proving: by another procedure it is judged as a new one.
fn goes_on_proving(
    dossier: &Dossier,
    (isolation, at): (&IsolationRecord, Instant),
    (proved_by, before): (&TestRecordId, Option<&ProcedureCode>),
) -> Result<(), Refusal> {
    let test = known_test(dossier, proved_by)?;
    if before != Some(&test.record.procedure) {
        return proves(dossier, isolation, proved_by, at);
    }
    let ending = ending(dossier, isolation, at);
    if ending.is_passed_since(test) {
        return Ok(());
    }
    Err(not_passed_since(&ending, test))
}

fn known_test<'a>(
    dossier: &'a Dossier,
    proved_by: &TestRecordId,
) -> Result<&'a TestedRecord, Refusal> {
    dossier
        .tests
        .get(proved_by)
        .ok_or_else(|| Refusal::Unknown {
            what: "proved_by",
            name: proved_by.to_string(),
        })
}

fn ending<'a>(dossier: &'a Dossier, isolation: &'a IsolationRecord, at: Instant) -> Ending<'a> {
    let day = dossier.zone.day_of(at);
    let record = dossier.cars.get(&isolation.cut_out.at.car);
    let car_type = record.and_then(|record| dossier.documents.car_type(&record.car, day));
    let touched = dossier.touched.get(&isolation.cut_out.at.car);
    Ending {
        isolation,
        at,
        car_type: car_type.map(Arc::as_ref),
        touched: touched.map_or(&[], Vec::as_slice),
        documents: &dossier.documents,
        zone: &dossier.zone,
    }
}

fn not_passed_since(ending: &Ending<'_>, test: &TestedRecord) -> Refusal {
    Refusal::Impossible {
        field: "proved_by",
        given: format!(
            "{} of {} at {}: {}",
            test.record.id,
            test.record.subject,
            test.record.at.told(),
            test.outcome
        ),
        allowed: format!(
            "a passed test of car {} from {} to {}",
            ending.isolation.cut_out.at.car,
            ending.isolation.since.told(),
            ending.at.told()
        ),
    }
}

/// So many places are named at which a test would measure the brake.
const PLACES_NAMED: usize = 6;

fn measured_elsewhere(
    isolation: &IsolationRecord,
    test: &TestedRecord,
    places: &[&PositionCode],
) -> Refusal {
    let TestRecord {
        id,
        procedure,
        revision,
        ..
    } = &test.record;
    let named = places.iter().take(PLACES_NAMED);
    let named: Vec<String> = named.map(ToString::to_string).collect();
    let others = if PLACES_NAMED < places.len() {
        " or at another place behind it"
    } else {
        ""
    };
    Refusal::Impossible {
        field: "proved_by",
        given: format!("{id} by procedure {procedure} revision {revision}"),
        allowed: format!(
            "a passed test with a result that is measured behind {}: its procedure names one of {}{others} as where it is measured",
            isolation.cut_out.at,
            named.join(", ")
        ),
    }
}

/// Checks that after a correction of a test whatever was ended on the strength of it still may be.
pub(super) fn proofs_hold(dossier: &Dossier, target: Seq) -> Result<(), Refusal> {
    let corrected = dossier.corrected.get(&target);
    let before = corrected.and_then(|(wrong, _)| match &wrong.fact {
        Fact::TestRecorded(record) => Some(&record.procedure),
        _ => None,
    });
    for entry in &dossier.proved {
        let Fact::IsolationEnded { at, proved_by } = &entry.fact else {
            continue;
        };
        let mut ended = dossier.isolations.get(at).into_iter().flatten();
        let ended = ended.find(|one| one.ended.is_some_and(|(_, by)| by == entry.seq));
        let at = entry.effective_at;
        let proof = ended.map(|one| goes_on_proving(dossier, (one, at), (proved_by, before)));
        if proof.is_some_and(|proof| proof.is_err()) {
            return Err(Refusal::Contradicts {
                what: format!(
                    "a correction of {target}, by which test record {proved_by} no longer proves the brake restored"
                ),
                by: entry.seq,
                since: entry.effective_at.into(),
                allowed: "withdraw that entry first: the cut-out is in force again then",
            });
        }
    }
    Ok(())
}

fn fold_ended(dossier: &mut Dossier, entry: &Entry, position: &PositionRef) {
    let list = dossier.isolations.entry(position.clone()).or_default();
    let open = list.iter_mut();
    let open = open.filter(|isolation| isolation.ended.is_none());
    if let Some(isolation) = open.min_by_key(|isolation| isolation.since) {
        isolation.ended = Some((entry.effective_at, entry.seq));
        changed(dossier, position);
    }
}

/// Takes a cut-out back, remembering how it ended, or its end, so that it is in force again.
pub(super) fn undo(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::Isolated(cut_out) => {
            let list = dossier.isolations.entry(cut_out.at.clone()).or_default();
            let begun = list.iter().find(|isolation| isolation.id == entry.seq);
            let ended = begun.and_then(|isolation| isolation.ended);
            list.retain(|isolation| isolation.id != entry.seq);
            // The state that it took the place of is in force again, or until one that was known before.
            let before = ended.filter(|(_, by)| *by < entry.seq);
            for isolation in list.iter_mut() {
                if isolation.ended.is_some_and(|(_, by)| by == entry.seq) {
                    isolation.ended = before;
                }
            }
            if let Some(ended) = ended {
                let at = cut_out.at.clone();
                dossier.ended_later.note_isolation(at, ended);
            }
            changed(dossier, &cut_out.at);
        }
        Fact::IsolationEnded { at, .. } => {
            let list = dossier.isolations.get_mut(at).into_iter().flatten();
            let ended =
                |one: &&mut IsolationRecord| one.ended.is_some_and(|(_, by)| by == entry.seq);
            for isolation in list.filter(ended) {
                isolation.ended = None;
            }
            changed(dossier, at);
        }
        _ => {}
    }
}
