//! Corrections: an earlier entry is taken back, and perhaps another fact of the same kind takes
//! its place. What was recorded stays in the ledger; what follows from it is worked out anew.

use super::fitments::went_on_incomplete;
use super::{
    formations, in_place, isolations, meters, modifications, receipts, registrations, settings,
    tests,
};
use crate::configuration::component::{ComponentRef, Condition, PositionRef, Subject};
use crate::ledger::command::Command;
use crate::ledger::dossier::{
    ComponentState, Dossier, FitmentId, OwnFitment, Period, Whereabouts, Which,
};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{Fact, Relocation};
use crate::ledger::subjects::EntrySubject;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::collections::BTreeSet;

pub(super) fn check_withdrawn(dossier: &Dossier, command: &Command) -> Result<(), Refusal> {
    if command.corrects.is_some() {
        // Without the replacement of a meter, its later readings may run backwards.
        return meters::check_histories(dossier);
    }
    Err(Refusal::Impossible {
        field: "corrects",
        given: "nothing".into(),
        allowed: "the number of the entry that is withdrawn".into(),
    })
}

/// Takes the corrected entry back if nothing recorded later rests on it, or what takes its place says
/// of the same things what was true of them.
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
    if let Some((by, since)) = corrected_by {
        return Err(already_corrected(&entry, by, since));
    }
    let same_kind = entry.fact.kind() == command.fact.kind();
    if !same_kind && command.fact != Fact::Withdrawn {
        return Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{target}, which records {}", entry.fact.kind().name()),
            allowed: format!("an entry that records {}", command.fact.kind().name()),
        });
    }
    if in_place::speaks_of_the_same(&entry.fact, &command.fact) {
        in_place::check_order(dossier, &entry, command)?;
    } else {
        nothing_rests_on(dossier, &entry, command)?;
    }
    undo(dossier, target);
    Ok(())
}

/// Another entry has taken the place of the one that is to be corrected, and tells of its own time.
fn already_corrected(entry: &Entry, by: Seq, since: Instant) -> Refusal {
    let was = if entry.effective_at == since {
        String::new()
    } else {
        format!(", which was effective {},", entry.effective_at.told())
    };
    Refusal::Contradicts {
        what: format!("a correction of {}{was}", entry.seq),
        by,
        since: since.into(),
        allowed: "correct that entry instead",
    }
}

/// A later entry rests on the one that is to be corrected.
pub(super) fn rests(entry: &Entry, by: Seq, since: Instant) -> Refusal {
    Refusal::Contradicts {
        what: format!("a correction of {}", entry.seq),
        by,
        since: since.into(),
        allowed: "withdraw that entry first",
    }
}

fn nothing_rests_on(dossier: &Dossier, entry: &Entry, command: &Command) -> Result<(), Refusal> {
    if let Fact::CarRegistered(car) = &*dossier.made_true(&entry.fact) {
        return registrations::may_be_withdrawn(dossier, (entry, car), command);
    }
    if !entry.fact.is_correctable() {
        return Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{}, which records {}", entry.seq, entry.fact.kind().name()),
            allowed: "record what is true now as a new entry".into(),
        });
    }
    match &entry.fact {
        Fact::ComponentReceived(receipt) => {
            receipts::may_be_replaced(dossier, (entry, receipt), command)
        }
        Fact::Fitted(_) => not_ended_since(dossier, entry),
        Fact::Removed {
            component, removal, ..
        } => {
            let rests: fn(&ComponentState) -> bool = if removal.condition.stays_held() {
                is_no_release
            } else {
                |_| true
            };
            nothing_said_since(dossier, entry, component, rests)?;
            places_stay_empty(dossier, entry, &[component])
        }
        Fact::Moved { component, .. } => {
            not_ended_since(dossier, entry)?;
            places_stay_empty(dossier, entry, &[component])
        }
        Fact::Swapped { first, second, .. } => {
            not_ended_since(dossier, entry)?;
            places_stay_empty(dossier, entry, &[first, second])
        }
        Fact::Relocated(Relocation { component, .. }) => {
            let moves = |state: &ComponentState| state.whereabouts.is_some();
            nothing_said_since(dossier, entry, component, moves)
        }
        Fact::ConditionJudged { component, .. } => {
            let rests = |state: &ComponentState| {
                state.condition.is_some() || state.whereabouts == Some(Whereabouts::Fitted)
            };
            nothing_said_since(dossier, entry, component, rests)
        }
        Fact::Embodied {
            subject: Subject::Component(component),
            ..
        } => {
            let brings_on = |state: &ComponentState| state.modification.is_some();
            nothing_said_since(dossier, entry, component, brings_on)
        }
        Fact::Isolated(cut_out) => isolation_not_ended(dossier, entry, &cut_out.at),
        Fact::IsolationEnded { at, .. } => not_isolated_again(dossier, entry, at),
        Fact::UnitFormed(_) | Fact::TrainFormed(_) => {
            formations::may_be_replaced(dossier, entry, command)
        }
        Fact::ModificationIssued(_) => modifications::may_be_withdrawn(dossier, entry, command),
        _ => Ok(()),
    }
}

/// A fitment that a later entry ended can be corrected only after that entry.
fn not_ended_since(dossier: &Dossier, entry: &Entry) -> Result<(), Refusal> {
    let begun = [Which::First, Which::Second].map(|which| FitmentId::of(entry.seq, which));
    let mut ends = begun
        .iter()
        .filter_map(|id| dossier.own_fitment(*id)?.end.as_ref());
    match ends.find(|end| end.by != entry.seq) {
        Some(end) => Err(rests(entry, end.by, end.at)),
        None => Ok(()),
    }
}

/// What two people released since stays judged, also where it never came off.
fn is_no_release(state: &ComponentState) -> bool {
    let free = state.condition.is_some_and(|is| !is.stays_held());
    !free || state.whereabouts.is_some()
}

/// What is said of a component can be corrected only while nothing that was recorded later, is
/// of a later time and rests on it is said.
fn nothing_said_since(
    dossier: &Dossier,
    entry: &Entry,
    component: &ComponentRef,
    on_it: fn(&ComponentState) -> bool,
) -> Result<(), Refusal> {
    let states = dossier.states_of(component).iter();
    let mut after = states.skip_while(|state| state.by != entry.seq);
    match after.find(|state| entry.seq < state.by && on_it(state)) {
        Some(state) => Err(rests(entry, state.by, state.since)),
        None => Ok(()),
    }
}

/// A component goes back to a position only while nothing has taken that since.
fn places_stay_empty(
    dossier: &Dossier,
    entry: &Entry,
    components: &[&ComponentRef],
) -> Result<(), Refusal> {
    let of_components = components
        .iter()
        .flat_map(|component| dossier.own_fitments_of(component));
    let ended =
        of_components.filter(|fitment| fitment.end.as_ref().is_some_and(|end| end.by == entry.seq));
    for fitment in ended {
        let taken = dossier.own_fitments_at(&fitment.at).find(|other| {
            let of_others = other.id != fitment.id && other.fitted_by != entry.seq;
            let goes_on = Period::since(fitment.from);
            of_others && other.period().meet(goes_on).is_some()
        });
        if let Some(other) = taken {
            return Err(rests(entry, other.fitted_by, other.from));
        }
    }
    Ok(())
}

/// A cut-out that ended stays told, but for a state that was told late between two others.
fn isolation_not_ended(dossier: &Dossier, entry: &Entry, at: &PositionRef) -> Result<(), Refusal> {
    let list = dossier.isolations.get(at).map_or(&[][..], Vec::as_slice);
    let told = list.iter().find(|isolation| isolation.id == entry.seq);
    let mut ends = list.iter().filter_map(|isolation| isolation.ended);
    let replaces = ends.any(|(_, by)| by == entry.seq);
    match told.and_then(|isolation| isolation.ended) {
        Some((at, by)) if entry.seq < by || !replaces => Err(rests(entry, by, at)),
        _ => Ok(()),
    }
}

/// An isolation goes on only while the position was not isolated again.
fn not_isolated_again(dossier: &Dossier, entry: &Entry, at: &PositionRef) -> Result<(), Refusal> {
    let list = dossier.isolations.get(at).into_iter().flatten();
    let mut later = list.filter(|isolation| entry.effective_at <= isolation.since);
    match later.find(|isolation| isolation.ended.is_none_or(|(_, by)| by != entry.seq)) {
        Some(isolation) => Err(rests(entry, isolation.id, isolation.since)),
        None => Ok(()),
    }
}

/// Checks that what was fitted on the strength of a judgement is still so without it, and that
/// what goes on where it was meets nothing there.
pub(super) fn check_what_follows(
    dossier: &Dossier,
    target: Seq,
    right: &Entry,
) -> Result<(), Refusal> {
    if let Some((wrong, _)) = dossier.corrected.get(&target)
        && in_place::speaks_of_the_same(&wrong.fact, &right.fact)
    {
        in_place::check_history(dossier, wrong, right)?;
    }
    super::fitments::places_hold(dossier)?;
    isolations::proofs_hold(dossier, target)?;
    went_on_complete(dossier, target)?;
    let starts = dossier.components.keys().flat_map(|component| {
        let starts = dossier.starts_of(component, None).into_iter();
        starts.map(move |(at, by)| (component, at, by))
    });
    let unfit = |(component, at, by): &(&ComponentRef, Instant, Seq)| {
        dossier.condition_when_put(component, (*at, *by)) != Some(Condition::Serviceable)
    };
    match starts.filter(unfit).min_by_key(|(_, at, by)| (*by, *at)) {
        None => Ok(()),
        Some((_, since, by)) => Err(Refusal::Contradicts {
            what: format!("a correction of {target}"),
            by,
            since: since.into(),
            allowed: "only a serviceable component is fitted",
        }),
    }
}

/// Checks that an assembly was complete whenever it went on a car, also without what the corrected
/// entry put inside it. What has left it incomplete where it was already departs from the baseline.
fn went_on_complete(dossier: &Dossier, target: Seq) -> Result<(), Refusal> {
    let corrected = dossier.corrected.get(&target).map(|(entry, _)| &entry.fact);
    let put_at = match corrected {
        Some(Fact::Fitted(fitting)) => Some(&fitting.at),
        Some(Fact::Moved { to, .. }) => Some(to),
        _ => None,
    };
    let assembly = put_at.and_then(|at| at.assembly());
    match assembly.and_then(|assembly| went_on_incomplete(dossier, assembly)) {
        None => Ok(()),
        Some((since, by)) => Err(Refusal::Contradicts {
            what: format!("a correction of {target}"),
            by,
            since: since.into(),
            allowed: "an assembly goes on a car only with what it needs inside it: withdraw that entry first",
        }),
    }
}

/// Undoes what an entry changed, so that the dossier is as if it had not been recorded.
pub(super) fn undo(dossier: &mut Dossier, target: Seq) {
    let Some((entry, _)) = dossier.corrected.get(&target).cloned() else {
        return;
    };
    dossier.changes.withdrawn.insert(target);
    if let Fact::CarRegistered(car) = &*dossier.made_true(&entry.fact) {
        registrations::undo(dossier, car);
        return;
    }
    match &entry.fact {
        Fact::Fitted(fitting) => {
            take_off(dossier, entry.seq, Which::First);
            dossier.drop_state(&fitting.component, entry.seq);
        }
        Fact::Removed { component, .. } => reopen(dossier, &entry, component),
        Fact::Moved { component, .. } => {
            take_off(dossier, entry.seq, Which::First);
            reopen(dossier, &entry, component);
        }
        Fact::Swapped { first, second, .. } => {
            take_off(dossier, entry.seq, Which::First);
            take_off(dossier, entry.seq, Which::Second);
            reopen(dossier, &entry, first);
            reopen(dossier, &entry, second);
        }
        Fact::Relocated(Relocation { component, .. }) | Fact::ConditionJudged { component, .. } => {
            dossier.drop_state(component, entry.seq);
        }
        Fact::ComponentReceived(receipt) => dossier.drop_state(&receipt.component, entry.seq),
        Fact::TestRecorded(record) => tests::undo(dossier, record),
        Fact::PlateChanged(change) => dossier.drop_plate(&change.component, entry.seq),
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
        Fact::TaskDone { .. } => dossier.drop_done(entry.seq),
        Fact::Embodied { subject, .. } => {
            modifications::undo_embodied(dossier, entry.seq, subject);
        }
        Fact::SettingMade(_) => settings::undo(dossier, &entry),
        Fact::Isolated(_) | Fact::IsolationEnded { .. } => isolations::undo(dossier, &entry),
        Fact::CheckConfirmed(_) => {
            dossier.confirmed.remove(&target);
            dossier.changes.confirmed.insert(target);
        }
        Fact::UnitFormed(_) | Fact::TrainFormed(_) => formations::undo(dossier, &entry),
        _ => {}
    }
}

/// The fitment that an entry began is none; how a later entry ended it is remembered.
fn take_off(dossier: &mut Dossier, target: Seq, which: Which) {
    let id = FitmentId::of(target, which);
    if let Some(own) = dossier.own_fitment(id).cloned()
        && let Some(end) = own.end.filter(|end| end.by != target)
    {
        dossier
            .ended_later
            .note_fitment((own.component, own.at), end);
    }
    dossier.drop_own_fitment(id);
}

/// The fitment that an entry ended goes on, and the component is as it was.
fn reopen(dossier: &mut Dossier, entry: &Entry, component: &ComponentRef) {
    dossier.drop_state(component, entry.seq);
    let ended = dossier
        .own_fitments_of(component)
        .find(|fitment| fitment.end.as_ref().is_some_and(|end| end.by == entry.seq))
        .cloned();
    if let Some(fitment) = ended {
        dossier.put_own_fitment(OwnFitment {
            end: None,
            ..fitment
        });
    }
}

/// Folds a withdrawal: what came in or was issued by the entry is not in the register any more.
pub(super) fn fold_withdrawn(dossier: &mut Dossier, entry: &Entry) {
    receipts::fold_withdrawn(dossier, entry);
    registrations::fold_withdrawn(dossier, entry);
    modifications::fold_withdrawn(dossier, entry);
}

/// What an entry that is to be corrected is about, while it still holds.
pub(super) fn about_corrected(dossier: &Dossier, target: Seq) -> BTreeSet<EntrySubject> {
    let entry = dossier.corrected.get(&target);
    entry.map_or_else(BTreeSet::new, |(entry, _)| dossier.subjects(entry))
}

/// Notes that an entry is about what the one was about that it corrects.
pub(super) fn note_about(dossier: &mut Dossier, by: Seq, about: BTreeSet<EntrySubject>) {
    let about = about.into_iter().map(|subject| (by, subject));
    dossier.changes.subjects.extend(about);
}
