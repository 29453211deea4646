//! Corrections: an earlier entry is taken back, and perhaps another fact of the same kind takes
//! its place. What was recorded stays in the ledger; what follows from it is worked out anew.

use super::{components, meters, work};
use crate::configuration::component::{ComponentRef, Condition};
use crate::ledger::command::Command;
use crate::ledger::dossier::{Dossier, Fitment, FitmentId, Which};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;

const WITHDRAW_FIRST: &str = "withdraw that entry first";

pub(super) fn check_withdrawn(command: &Command) -> Result<(), Refusal> {
    if command.corrects.is_some() {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "corrects",
        given: "nothing".into(),
        allowed: "the number of the entry that is withdrawn".into(),
    })
}

/// Takes the corrected entry back if nothing recorded later rests on it.
pub(super) fn take_back(
    dossier: &mut Dossier,
    target: Seq,
    command: &Command,
) -> Result<(), Refusal> {
    let unknown = || Refusal::Unknown {
        what: "corrects",
        name: target.to_string(),
    };
    let (entry, corrected_by) = dossier.corrected.get(&target).ok_or_else(unknown)?.clone();
    if let Some(by) = corrected_by {
        return Err(rests(&entry, by, "correct that entry instead"));
    }
    let same_kind = entry.fact.kind() == command.fact.kind();
    if !same_kind && command.fact != Fact::Withdrawn {
        return Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{target}, which records {}", entry.fact.kind()),
            allowed: format!("an entry that records {}", command.fact.kind()),
        });
    }
    nothing_rests_on(dossier, &entry)?;
    undo(dossier, target);
    Ok(())
}

fn rests(entry: &Entry, by: Seq, allowed: &'static str) -> Refusal {
    let what = format!("a correction of {}", entry.seq);
    Refusal::Contradicts {
        what,
        by,
        since: entry.effective_at,
        allowed,
    }
}

fn nothing_rests_on(dossier: &Dossier, entry: &Entry) -> Result<(), Refusal> {
    if !entry.fact.is_correctable() {
        return Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{}, which records {}", entry.seq, entry.fact.kind()),
            allowed: "record what is true now as a new entry".into(),
        });
    }
    match &entry.fact {
        Fact::Fitted(_) => not_ended_later(dossier, entry),
        Fact::Removed { component, .. } => {
            let record = components::known(dossier, component)?;
            if record.since_by != entry.seq {
                return Err(rests(entry, record.since_by, WITHDRAW_FIRST));
            }
            position_stays_empty(dossier, entry, component)
        }
        Fact::Moved { .. } | Fact::Swapped { .. } => {
            let begun = [Which::First, Which::Second].map(|which| FitmentId::of(entry.seq, which));
            let ended = begun
                .iter()
                .filter_map(|id| dossier.fitment(*id)?.end.as_ref());
            ended
                .map(|end| end.by)
                .next()
                .map_or(Ok(()), |by| Err(rests(entry, by, WITHDRAW_FIRST)))
        }
        Fact::Isolated(cut_out) => {
            let list = dossier.isolations.get(&cut_out.at).into_iter().flatten();
            let ended = list
                .filter(|other| other.id == entry.seq)
                .find_map(|other| other.ended);
            ended.map_or(Ok(()), |(_, by)| Err(rests(entry, by, WITHDRAW_FIRST)))
        }
        _ => Ok(()),
    }
}

/// A fitment that a later entry ended can be corrected only after that entry.
fn not_ended_later(dossier: &Dossier, entry: &Entry) -> Result<(), Refusal> {
    let fitment = dossier.fitment(FitmentId::of(entry.seq, Which::First));
    match fitment
        .and_then(|fitment| fitment.end.as_ref())
        .map(|end| end.by)
    {
        Some(by) if by != entry.seq => Err(rests(entry, by, WITHDRAW_FIRST)),
        _ => Ok(()),
    }
}

/// A removal can be taken back only while nothing has taken the position since.
fn position_stays_empty(
    dossier: &Dossier,
    entry: &Entry,
    component: &ComponentRef,
) -> Result<(), Refusal> {
    let ended = |fitment: &&Fitment| fitment.end.as_ref().is_some_and(|end| end.by == entry.seq);
    let Some(fitment) = dossier.fitments_of(component).find(ended) else {
        return Ok(());
    };
    let taken = dossier
        .fitments_at(&fitment.at)
        .find(|other| other.id != fitment.id && other.overlaps(fitment.from, None));
    match taken {
        Some(other) => Err(rests(entry, other.fitted_by, WITHDRAW_FIRST)),
        None => Ok(()),
    }
}

/// Undoes what an entry changed, so that the dossier is as if it had not been recorded.
pub(super) fn undo(dossier: &mut Dossier, target: Seq) {
    let Some((entry, _)) = dossier.corrected.get(&target).cloned() else {
        return;
    };
    match &entry.fact {
        Fact::Fitted(fitting) => {
            let dropped = dossier.drop_fitment(FitmentId::of(entry.seq, Which::First));
            back_to_before(dossier, &entry, &fitting.component, dropped);
        }
        Fact::Removed { component, .. } => reopen(dossier, &entry, component),
        Fact::Moved { component, .. } => {
            dossier.drop_fitment(FitmentId::of(entry.seq, Which::First));
            reopen(dossier, &entry, component);
        }
        Fact::Swapped { first, second, .. } => {
            dossier.drop_fitment(FitmentId::of(entry.seq, Which::First));
            dossier.drop_fitment(FitmentId::of(entry.seq, Which::Second));
            reopen(dossier, &entry, first);
            reopen(dossier, &entry, second);
        }
        Fact::ReadingTaken(reading) => {
            let key = (reading.car.clone(), reading.meter);
            if let Some(record) = dossier.meters.get_mut(&key) {
                record.readings.remove(&entry.effective_at);
            }
            meters::changed_reading(dossier, &reading.car, reading.meter, entry.effective_at);
        }
        Fact::MeterReplaced { car, meter, .. } => {
            if let Some(record) = dossier.meters.get_mut(&(car.clone(), *meter)) {
                record.replacements.remove(&entry.effective_at);
            }
            meters::changed_replacement(dossier, car, *meter, entry.effective_at);
        }
        Fact::TaskDone { subject, .. } => {
            dossier.done.remove(&entry.seq);
            dossier.changes.done.insert(entry.seq);
            work::mark_stale(dossier, subject);
        }
        Fact::Isolated(cut_out) => {
            if let Some(list) = dossier.isolations.get_mut(&cut_out.at) {
                list.retain(|isolation| isolation.id != entry.seq);
            }
            dossier.changes.isolations.insert(cut_out.at.clone());
        }
        Fact::IsolationEnded { at, .. } => {
            let list = dossier.isolations.get_mut(at).into_iter().flatten();
            for isolation in list.filter(|other| other.ended.is_some_and(|(_, by)| by == target)) {
                isolation.ended = None;
            }
            dossier.changes.isolations.insert(at.clone());
        }
        _ => {}
    }
}

/// The component is again where it was before it was fitted.
fn back_to_before(
    dossier: &mut Dossier,
    entry: &Entry,
    component: &ComponentRef,
    dropped: Option<Fitment>,
) {
    let last_end = dossier
        .fitments_of(component)
        .filter_map(|other| other.end.as_ref())
        .max_by_key(|end| end.at);
    let last_end = last_end.map(|end| (end.at, end.by));
    if let Some(record) = dossier.components.get_mut(component)
        && record.since_by == entry.seq
    {
        let (since, by) = last_end.unwrap_or((record.received_at, record.id));
        record.location = dropped.and_then(|fitment| fitment.from_location);
        record.since = since;
        record.since_by = by;
        components::changed(dossier, component);
    }
}

/// The fitment that an entry ended goes on.
fn reopen(dossier: &mut Dossier, entry: &Entry, component: &ComponentRef) {
    let ended = dossier
        .fitments_of(component)
        .find(|fitment| fitment.end.as_ref().is_some_and(|end| end.by == entry.seq))
        .cloned();
    let Some(fitment) = ended else { return };
    if let Some(record) = dossier.components.get_mut(component) {
        record.location = None;
        if record.condition == Condition::RemovedToBeJudged {
            record.condition = Condition::Serviceable;
        }
        record.since = fitment.from;
        record.since_by = fitment.fitted_by;
    }
    components::changed(dossier, component);
    dossier.put_fitment(Fitment {
        end: None,
        ..fitment
    });
}
