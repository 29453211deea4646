//! Cut-outs: recorded when found, in force until an entry ends them.

use crate::configuration::component::{PositionRef, Subject};
use crate::identity::TestRecordId;
use crate::isolation::isolable::Isolable;
use crate::ledger::dossier::{Dossier, IsolationRecord};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{CutOut, Fact};
use crate::refusal::Refusal;
use crate::test_record::verdict::TestOutcome;
use crate::time::Instant;

pub(super) fn in_force<'a>(dossier: &'a Dossier, at: &PositionRef) -> Option<&'a IsolationRecord> {
    dossier
        .isolations
        .get(at)?
        .iter()
        .find(|isolation| isolation.ended.is_none())
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
    let record = super::cars::known_car(dossier, &cut_out.at.car)?;
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
    if let Some(isolable) = isolable.filter(|one| !one.states().contains(&cut_out.state)) {
        let why = match isolable.behaviour {
            Some(_) => "the states that such a position can be in",
            None => "since no air passes it",
        };
        return Err(Refusal::Impossible {
            field: "state",
            given: cut_out.state.name().to_owned(),
            allowed: format!("one of {}, {why}", isolable.states_named()),
        });
    }
    if let Some(not_before) = cut_out.not_before.filter(|not_before| *not_before > at) {
        return Err(Refusal::Impossible {
            field: "not_before",
            given: not_before.told().to_string(),
            allowed: format!("a time not after it was found at {at}", at = at.told()),
        });
    }
    let others = dossier.isolations.get(&cut_out.at).into_iter().flatten();
    for other in others {
        if other.ended.is_none_or(|(end, _)| at < end) {
            return Err(Refusal::Contradicts {
                what: format!("{} isolated at {at}", cut_out.at, at = at.told()),
                by: other.id,
                since: other.since.into(),
                allowed: "end that isolation first, or correct it",
            });
        }
    }
    Ok(())
}

fn fold_isolated(dossier: &mut Dossier, entry: &Entry, cut_out: &CutOut) {
    let record = IsolationRecord {
        id: entry.seq,
        cut_out: cut_out.clone(),
        since: entry.effective_at,
        ended: None,
    };
    dossier
        .isolations
        .entry(cut_out.at.clone())
        .or_default()
        .push(record);
    changed(dossier, &cut_out.at);
}

/// Notes that the isolations of a position are changed.
pub(super) fn changed(dossier: &mut Dossier, at: &PositionRef) {
    dossier.changes.isolations.insert(at.clone());
    dossier.moved.cars.insert(at.car.clone());
}

fn check_ended(
    dossier: &Dossier,
    position: &PositionRef,
    proved_by: &TestRecordId,
    at: Instant,
) -> Result<(), Refusal> {
    let Some(isolation) = in_force(dossier, position) else {
        let name = format!("isolation in force at {position}");
        return Err(Refusal::Unknown {
            what: "position",
            name,
        });
    };
    if isolation.since <= at {
        return proves(dossier, isolation, proved_by, at);
    }
    Err(Refusal::Contradicts {
        what: format!("isolation of {position} ended at {at}", at = at.told()),
        by: isolation.id,
        since: isolation.since.into(),
        allowed: "give a time not before it began",
    })
}

/// The brake is proved restored by a test of that car that passed after the cock was closed.
fn proves(
    dossier: &Dossier,
    isolation: &IsolationRecord,
    proved_by: &TestRecordId,
    at: Instant,
) -> Result<(), Refusal> {
    let unknown = || Refusal::Unknown {
        what: "proved_by",
        name: proved_by.to_string(),
    };
    let test = dossier.tests.get(proved_by).ok_or_else(unknown)?;
    let car = &isolation.cut_out.at.car;
    let of_car = test.record.subject == Subject::Car(car.clone());
    let in_time = isolation.since <= test.record.at && test.record.at <= at;
    if of_car && in_time && test.outcome == TestOutcome::Passed {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "proved_by",
        given: format!(
            "test record {proved_by} of {} at {}: {}",
            test.record.subject,
            test.record.at.told(),
            test.outcome
        ),
        allowed: format!(
            "a passed test of car {car} from {} to {}",
            isolation.since.told(),
            at.told()
        ),
    })
}

/// Checks that after a correction of a test whatever was ended on the strength of it still may be.
pub(super) fn proofs_hold(dossier: &Dossier, target: Seq) -> Result<(), Refusal> {
    for entry in &dossier.proved {
        let Fact::IsolationEnded { at, proved_by } = &entry.fact else {
            continue;
        };
        let mut ended = dossier.isolations.get(at).into_iter().flatten();
        let ended = ended.find(|one| one.ended.is_some_and(|(_, by)| by == entry.seq));
        let proof = ended.map(|one| proves(dossier, one, proved_by, entry.effective_at));
        if proof.is_some_and(|proof| proof.is_err()) {
            return Err(Refusal::Contradicts {
                what: format!(
                    "a correction of {target}, by which test record {proved_by} no longer proves the brake restored"
                ),
                by: entry.seq,
                since: entry.effective_at.into(),
                allowed: "withdraw that entry first: the isolation is in force again then",
            });
        }
    }
    Ok(())
}

fn fold_ended(dossier: &mut Dossier, entry: &Entry, position: &PositionRef) {
    let list = dossier.isolations.entry(position.clone()).or_default();
    if let Some(isolation) = list.iter_mut().find(|isolation| isolation.ended.is_none()) {
        isolation.ended = Some((entry.effective_at, entry.seq));
        changed(dossier, position);
    }
}
