//! Whether a command may be recorded, and what an entry changes. Each subject has a file with
//! its check, which changes nothing, and its fold, which cannot fail.

mod assemblies;
mod baselines;
mod cars;
mod components;
mod concessions;
mod correction;
mod decisions;
mod documents;
mod evidence;
mod fitments;
mod fleet_checks;
mod formations;
mod holds;
mod in_place;
mod isolations;
mod locations;
mod meters;
mod modifications;
mod permitted;
mod plates;
mod plausible;
mod proposals;
mod reasons;
mod receipts;
mod registrations;
mod removals;
mod restated;
mod settings;
mod tests;
mod texts;
mod visits;
mod work;

pub use components::names_unknown;

use crate::identity::PersonName;
use crate::ledger::command::Command;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::ledger::proposal::Outcome;
use crate::people::{Actor, Authority, Role};
use crate::refusal::Refusal;
use crate::time::Instant;
use permitted::{Text, permitted, plausible, plausible_text};

/// What the ledger gives to the next entry.
#[derive(Debug, Clone, Copy)]
pub struct Next {
    /// Its number.
    pub seq: Seq,
    /// The time at which it is recorded: never before that of the entry before it.
    pub recorded_at: Instant,
}

/// Decides a command against the dossier and, if it is allowed, folds it in. A refused command
/// leaves the dossier as it was, except that after a refused correction it must be thrown away.
/// Cost: constant but for the fitments of the component and the position, which are few.
pub fn record(
    dossier: &mut Dossier,
    actor: &Actor,
    command: Command,
    next: Next,
) -> Result<Entry, Refusal> {
    let entry = decide(dossier, actor, command, next);
    entry.map_err(|refusal| refusal.in_zone(&dossier.zone))
}

fn decide(
    dossier: &mut Dossier,
    actor: &Actor,
    command: Command,
    next: Next,
) -> Result<Entry, Refusal> {
    permitted(dossier, actor, &command)?;
    plausible(&command, next.recorded_at)?;
    holds::check(dossier, actor, &command)?;
    let command = fleet_checks::completed(dossier, command)?;
    let Some(target) = command.corrects else {
        check(dossier, actor, (&command, next.seq))?;
        return Ok(enter(dossier, actor, command, next));
    };
    let held = components::held(dossier);
    let about = correction::about_corrected(dossier, target);
    correction::take_back(dossier, target, &command)?;
    check(dossier, actor, (&command, next.seq))?;
    let entry = enter(dossier, actor, command, next);
    correction::note_about(dossier, entry.seq, about);
    components::check_released(dossier, (actor, target), &held)?;
    correction::check_what_follows(dossier, target, &entry)?;
    Ok(entry)
}

fn enter(dossier: &mut Dossier, actor: &Actor, command: Command, next: Next) -> Entry {
    let entry = command.into_entry(next.seq, next.recorded_at, actor.name.clone());
    fold_fact(dossier, &entry);
    entry
}

/// Folds a recorded entry into the dossier, as when the register is rebuilt.
pub fn fold(dossier: &mut Dossier, entry: &Entry) {
    if let Some(target) = entry.corrects {
        let about = correction::about_corrected(dossier, target);
        correction::undo(dossier, target);
        correction::note_about(dossier, entry.seq, about);
    }
    fold_fact(dossier, entry);
}

fn check(
    dossier: &Dossier,
    actor: &Actor,
    (command, next): (&Command, Seq),
) -> Result<(), Refusal> {
    let at = command.effective_at;
    match &command.fact {
        Fact::Proposed(proposal) => {
            proposals::check_proposed(dossier, proposal)?;
            check_fact(dossier, (actor, Agreed::ByTwo), (&proposal.fact(), at))
        }
        Fact::Approved { proposal } => {
            let record = proposals::of_another(dossier, actor, (*proposal, command))?;
            proposals::check_proposed(dossier, &record.proposal)?;
            let fact = record.proposal.fact();
            baselines::check_takes_effect(dossier, &fact, at)?;
            check_fact(dossier, (actor, Agreed::ByTwo), (&fact, at))
        }
        Fact::Rejected { proposal } => proposals::check_rejected(dossier, (*proposal, command)),
        Fact::Withdrawn => correction::check_withdrawn(dossier, command),
        Fact::SettingMade(made) => settings::check_made(dossier, made, command),
        Fact::HeldAsEvidence { held, .. } => holds::check_set(dossier, actor, held, next),
        Fact::HoldLifted { hold, .. } => holds::check_lifted(dossier, actor, *hold, at),
        fact => {
            baselines::check_takes_effect(dossier, fact, at)?;
            check_fact(dossier, (actor, Agreed::of(actor)), (fact, at))?;
            locations::check_expected(dossier, actor, (fact, at))?;
            reasons::check_given(dossier, actor, command)
        }
    }
}

/// Who stands behind what is recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Agreed {
    /// One person.
    ByOne,
    /// Two people, here or before it was brought in.
    ByTwo,
}

impl Agreed {
    fn of(actor: &Actor) -> Self {
        match actor.authority {
            Authority::Own => Self::ByOne,
            Authority::Founder => Self::ByTwo,
        }
    }
}

fn check_fact(
    dossier: &Dossier,
    by: (&Actor, Agreed),
    (fact, at): (&Fact, Instant),
) -> Result<(), Refusal> {
    match fact {
        Fact::CarTypeDefined(_)
        | Fact::RevisionEffective(_)
        | Fact::ConcessionGranted(_)
        | Fact::ConcessionProlonged { .. }
        | Fact::ConcessionWithdrawn { .. }
        | Fact::ModificationIssued(_)
        | Fact::LocationDefined(_)
        | Fact::PartDefined(_)
        | Fact::TaskDefined(_)
        | Fact::ProcedureDefined(_)
        | Fact::RuleSetIssued(_) => check_document(dossier, fact, at),
        Fact::Embodied {
            modification,
            subject,
            ..
        } => modifications::check_embodied(dossier, (modification, subject), at),
        Fact::CarRegistered(_) | Fact::UnitFormed(_) | Fact::TrainFormed(_) => {
            cars::check(dossier, fact, at)
        }
        Fact::ComponentReceived(receipt) => receipts::check_receipt(dossier, (by.0, receipt), at),
        Fact::Relocated(_) | Fact::PlateChanged(_) => check_kept(dossier, fact, at),
        Fact::ConditionJudged {
            component,
            condition,
            ..
        } => components::check_judged(dossier, by, (component, *condition), at),
        Fact::Fitted(_) | Fact::Removed { .. } | Fact::Moved { .. } | Fact::Swapped { .. } => {
            check_place(dossier, by.0, (fact, at))
        }
        Fact::ReadingTaken(reading) => meters::check_reading(dossier, reading, at),
        Fact::MeterReplaced {
            car,
            meter,
            last_value,
            first_value,
        } => meters::check_replaced(dossier, (car, *meter), (*last_value, *first_value), at),
        Fact::TaskDone {
            subject,
            task,
            release,
            ..
        } => work::check_done(dossier, (subject, task, release.as_deref()), at),
        Fact::TestRecorded(record) => tests::check_test(dossier, record, at),
        Fact::Isolated(_) | Fact::IsolationEnded { .. } => isolations::check(dossier, fact, at),
        Fact::CheckConfirmed(it) => decisions::check_confirmed(dossier, it, at),
        Fact::DecisionTaken(it) => decisions::check_decision(dossier, it, at),
        // Each is checked for what it is before it comes here.
        Fact::Proposed(_)
        | Fact::Approved { .. }
        | Fact::Rejected { .. }
        | Fact::SettingMade(_)
        | Fact::HeldAsEvidence { .. }
        | Fact::Withdrawn => Ok(()),
        Fact::HoldLifted { hold, .. } => holds::check_ends(dossier, *hold, at).map(drop),
        Fact::FleetCheckOpened(_) | Fact::FleetCheckAnswered(_) => {
            fleet_checks::check(dossier, fact, at)
        }
        Fact::VisitPlanned(_) | Fact::VisitCancelled { .. } => visits::check(dossier, fact, at),
    }
}

/// Checks what is put at positions and taken off them.
fn check_place(
    dossier: &Dossier,
    actor: &Actor,
    (fact, at): (&Fact, Instant),
) -> Result<(), Refusal> {
    let removal = match fact {
        Fact::Fitted(fitting) => fitting.ended.as_ref().map(|ended| &ended.removal),
        Fact::Removed { removal, .. } => Some(removal),
        _ => None,
    };
    removals::check_said(actor, removal)?;
    match fact {
        Fact::Fitted(fitting) => fitments::check_fitted(dossier, fitting, at)?,
        fact => fitments::check_from_place(dossier, fact, at)?,
    }
    fitments::check_leaving(dossier, fact, at)
}

/// Checks where a component is kept, and what its plate says.
fn check_kept(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    match fact {
        Fact::Relocated(it) => components::check_relocated(dossier, it, at),
        Fact::PlateChanged(it) => plates::check_changed(dossier, it, at),
        _ => Ok(()),
    }
}

/// Checks design data: documents, and what is said of them.
fn check_document(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    match fact {
        Fact::CarTypeDefined(car_type) => documents::check_car_type(dossier, car_type),
        Fact::RevisionEffective(it) => baselines::check_effectivity(dossier, it),
        Fact::ConcessionGranted(it) => concessions::check_granted(dossier, it, at),
        Fact::ConcessionProlonged { number, until } => {
            concessions::check_prolonged(dossier, (number, *until), at)
        }
        Fact::ConcessionWithdrawn { number } => concessions::check_withdrawn(dossier, number, at),
        Fact::ModificationIssued(it) => modifications::check_issued(dossier, it),
        Fact::LocationDefined(it) => locations::check_defined(dossier, it, at),
        Fact::PartDefined(part) => documents::check_part(dossier, part),
        Fact::TaskDefined(task) => documents::check_task(dossier, task),
        Fact::ProcedureDefined(procedure) => documents::check_procedure(dossier, procedure),
        Fact::RuleSetIssued(rules) => documents::check_rule_set(dossier, rules),
        _ => Ok(()),
    }
}

/// What was proposed becomes true by the entry that approves it.
fn fold_approved(dossier: &mut Dossier, entry: &Entry, proposal: Seq) {
    if let Some(record) = dossier.proposals.get(&proposal) {
        let made_true = Entry {
            fact: record.proposal.fact(),
            ..entry.clone()
        };
        fold_fact(dossier, &made_true);
    }
    proposals::fold_decided(dossier, proposal, (Outcome::Approved, entry.seq));
}

fn fold_fact(dossier: &mut Dossier, entry: &Entry) {
    fold_kind(dossier, entry);
    let about = dossier.subjects(entry);
    correction::note_about(dossier, entry.seq, about);
    dossier.void_decisions(entry);
}

fn fold_kind(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::Proposed(_) | Fact::Approved { .. } | Fact::Rejected { .. } => {
            fold_proposal(dossier, entry);
        }
        Fact::CarTypeDefined(_)
        | Fact::RevisionEffective(_)
        | Fact::ConcessionGranted(_)
        | Fact::ConcessionProlonged { .. }
        | Fact::ConcessionWithdrawn { .. }
        | Fact::ModificationIssued(_)
        | Fact::Embodied { .. }
        | Fact::LocationDefined(_)
        | Fact::PartDefined(_)
        | Fact::TaskDefined(_)
        | Fact::ProcedureDefined(_)
        | Fact::RuleSetIssued(_) => fold_document(dossier, entry),
        Fact::CarRegistered(_) | Fact::UnitFormed(_) | Fact::TrainFormed(_) => {
            cars::fold(dossier, entry);
        }
        Fact::ComponentReceived(receipt) => receipts::fold_receipt(dossier, entry, receipt),
        Fact::Relocated(it) => components::fold_relocated(dossier, entry, it),
        Fact::PlateChanged(it) => plates::fold_changed(dossier, entry, it),
        Fact::ConditionJudged {
            component,
            condition,
            ..
        } => components::fold_judged(dossier, entry, component, *condition),
        Fact::Fitted(fitting) => fitments::fold_fitted(dossier, entry, fitting),
        Fact::Removed { .. } | Fact::Moved { .. } | Fact::Swapped { .. } => {
            fitments::fold_from_place(dossier, entry);
        }
        Fact::SettingMade(made) => settings::fold_made(dossier, entry, made),
        Fact::ReadingTaken(reading) => meters::fold_reading(dossier, entry, reading),
        Fact::MeterReplaced {
            car,
            meter,
            last_value,
            first_value,
        } => {
            meters::fold_replaced(dossier, entry, (car, *meter), (*last_value, *first_value));
        }
        Fact::TaskDone { subject, task, .. } => work::fold_done(dossier, entry, subject, task),
        Fact::TestRecorded(record) => tests::fold_test(dossier, entry.seq, record),
        Fact::Isolated(_) | Fact::IsolationEnded { .. } => isolations::fold(dossier, entry),
        Fact::CheckConfirmed(it) => decisions::fold_confirmed(dossier, entry, it),
        Fact::DecisionTaken(it) => decisions::fold_decision(dossier, entry, it),
        Fact::HeldAsEvidence { .. } | Fact::HoldLifted { .. } => holds::fold(dossier, entry),
        Fact::FleetCheckOpened(_) | Fact::FleetCheckAnswered(_) => {
            fleet_checks::fold(dossier, entry);
        }
        Fact::VisitPlanned(_) | Fact::VisitCancelled { .. } => visits::fold(dossier, entry),
        Fact::Withdrawn => correction::fold_withdrawn(dossier, entry),
    }
}

fn fold_proposal(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::Proposed(proposal) => proposals::fold_proposed(dossier, entry, proposal),
        Fact::Approved { proposal } => fold_approved(dossier, entry, *proposal),
        Fact::Rejected { proposal } => {
            proposals::fold_decided(dossier, *proposal, (Outcome::Rejected, entry.seq));
        }
        _ => {}
    }
}

/// Folds design data, and what is changed by it.
fn fold_document(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::CarTypeDefined(car_type) => documents::fold_car_type(dossier, entry.seq, car_type),
        Fact::RevisionEffective(it) => baselines::fold_effectivity(dossier, entry.seq, it),
        Fact::ConcessionGranted(it) => concessions::fold_granted(dossier, entry, it),
        Fact::ConcessionProlonged { number, until } => {
            concessions::fold_prolonged(dossier, entry, (number, *until));
        }
        Fact::ConcessionWithdrawn { number } => {
            concessions::fold_withdrawn(dossier, entry, number);
        }
        Fact::ModificationIssued(it) => modifications::fold_issued(dossier, entry, it),
        Fact::LocationDefined(it) => locations::fold_defined(dossier, entry, it),
        Fact::PartDefined(part) => documents::fold_part(dossier, entry.seq, part),
        Fact::TaskDefined(task) => documents::fold_task(dossier, entry, task),
        Fact::ProcedureDefined(procedure) => {
            documents::fold_procedure(dossier, entry.seq, procedure);
        }
        Fact::RuleSetIssued(rules) => documents::fold_rule_set(dossier, entry.seq, rules),
        Fact::Embodied {
            modification,
            subject,
            ..
        } => modifications::fold_embodied(dossier, entry, (modification, subject)),
        _ => {}
    }
}

/// Who sets the register up: the administrator of the machine, on the command line.
pub fn founder(name: PersonName) -> Actor {
    Actor {
        name,
        roles: Role::ALL.to_vec(),
        authority: Authority::Founder,
    }
}
