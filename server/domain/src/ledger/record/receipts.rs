//! How components come into the register: what their plates and papers say.

use super::correction::rests;
use super::permitted::{Text, plausible_text};
use super::{baselines, locations, plates, registrations};
use crate::configuration::certificate::Certificate;
use crate::configuration::component::Condition;
use crate::configuration::location::Kept;
use crate::due::task::AppliesTo;
use crate::ledger::command::Command;
use crate::ledger::dossier::{ComponentRecord, ComponentState, Dossier, Whereabouts};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{Fact, Receipt};
use crate::people::{Actor, Authority};
use crate::refusal::Refusal;
use crate::time::{Day, Instant};

/// Checks what a certificate says against the day it came, and that what is left is of tasks of
/// what it is for.
pub(super) fn check_certificate(
    dossier: &Dossier,
    certificate: &Certificate,
    (applies_to, at): (&AppliesTo, Instant),
) -> Result<(), Refusal> {
    for (field, text) in [
        ("certificate", &certificate.number),
        ("issuer", &certificate.issuer),
        ("instruction", &certificate.instruction),
        ("done", &certificate.done),
    ] {
        plausible_text(field, text, Text::Needed)?;
    }
    if let Some(not_done) = &certificate.not_done {
        plausible_text("not_done", not_done, Text::Needed)?;
    }
    let day = dossier.zone.day_of(at);
    if day < certificate.signed_on {
        return Err(Refusal::Impossible {
            field: "signed_on",
            given: certificate.signed_on.to_string(),
            allowed: format!("not after {day}, when it came"),
        });
    }
    for left in &certificate.left {
        let task = dossier.documents.tasks.get(&left.task);
        if task.is_none_or(|task| task.document.applies_to != *applies_to) {
            return Err(Refusal::Unknown {
                what: "left",
                name: left.task.to_string(),
            });
        }
    }
    Ok(())
}

/// Checks that what comes in as fit for use comes with a certificate. Only an existing fleet that is
/// brought in may not have one of each, which the component's life then says.
fn check_papers(actor: &Actor, receipt: &Receipt) -> Result<(), Refusal> {
    let doubtful = receipt.condition == Condition::Serviceable && !receipt.has_papers();
    if !doubtful || actor.authority == Authority::Founder {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "certificate",
        given: format!("none, for what is received as {}", receipt.condition),
        allowed: format!(
            "the number of a certificate, or another condition, as {} or {}, until somebody judges it on evidence",
            Condition::RemovedToBeJudged,
            Condition::Quarantined
        ),
    })
}

pub(super) fn check_receipt(
    dossier: &Dossier,
    (actor, receipt): (&Actor, &Receipt),
    at: Instant,
) -> Result<(), Refusal> {
    check_papers(actor, receipt)?;
    let part = &receipt.component.part;
    let unknown = || Refusal::Unknown {
        what: "part",
        name: part.to_string(),
    };
    let known = dossier.documents.part(part).ok_or_else(unknown)?;
    if let Some(state) = &receipt.modification {
        baselines::check_state_of(known, state)?;
    }
    let known = dossier.components.get(&receipt.component);
    if let Some(known) = known.filter(|_| !is_replaced(dossier, receipt)) {
        return Err(Refusal::AlreadyDefined {
            what: "serial",
            name: receipt.component.to_string(),
            by: known.id,
            allowed: "record what happened to it instead",
        });
    }
    plates::check_not_borne(dossier, &receipt.component)?;
    if actor.authority == Authority::Own && !is_replaced(dossier, receipt) {
        plates::check_not_alike(dossier, receipt)?;
    }
    let kept = (&receipt.location, &receipt.sent);
    locations::check_kept(dossier, (&receipt.component, receipt.condition), kept, at)?;
    if let Some(release) = &receipt.release {
        let applies_to = AppliesTo::Part(part.clone());
        check_certificate(dossier, release, (&applies_to, at))?;
        if let Some(number) = receipt
            .certificate
            .as_ref()
            .filter(|n| **n != release.number)
        {
            return Err(Refusal::Impossible {
                field: "certificate",
                given: number.clone(),
                allowed: format!("{}, the number of the certificate itself", release.number),
            });
        }
    }
    if let Some((field, overhaul, made)) = receipt.more_since_overhaul() {
        return Err(Refusal::Impossible {
            field,
            given: overhaul.to_string(),
            allowed: format!("at most {made}, what it ran since it was made"),
        });
    }
    check_dates(receipt, dossier.zone.day_of(at))
}

/// Whether the receipt of the same component is what is being corrected.
fn is_replaced(dossier: &Dossier, receipt: &Receipt) -> bool {
    let withdrawn = dossier.changes.withdrawn.iter();
    let mut wrong = withdrawn.filter_map(|seq| dossier.corrected.get(seq));
    wrong.any(|(entry, _)| {
        matches!(&entry.fact, Fact::ComponentReceived(it) if it.component == receipt.component)
    })
}

/// A receipt is withdrawn only while nothing else is said of the component: all that would rest on it.
/// That of what came in held is not: received anew, the same thing would be free.
fn may_be_withdrawn(dossier: &Dossier, entry: &Entry, receipt: &Receipt) -> Result<(), Refusal> {
    let component = &receipt.component;
    if receipt.condition.stays_held() {
        return Err(Refusal::ConditionForbids {
            component: component.clone(),
            condition: receipt.condition,
            allowed: "its receipt stays; correct what it says, and let whoever may release it do so",
        });
    }
    let mentions = dossier.mentions.get(&entry.seq);
    let Some(mentions) = mentions.filter(|mentions| mentions.kept_after < entry.seq) else {
        return Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{}, which brought {component} into the register", entry.seq),
            allowed: "a receipt of which it is kept what else was recorded about the component; \
                      for those from before, rebuild the register first"
                .to_owned(),
        });
    };
    let others = mentions.entries.iter();
    registrations::named_by_none(entry, others.filter(|other| other.names(component)))
}

/// Folds the withdrawal of a receipt: what came in by it is not in the register any more.
pub(super) fn fold_withdrawn(dossier: &mut Dossier, entry: &Entry) {
    let target = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let Some((Fact::ComponentReceived(receipt), _)) = target.map(|(one, by)| (&one.fact, by))
    else {
        return;
    };
    let component = receipt.component.clone();
    if let Some(record) = dossier.components.get_mut(&component) {
        record.kept = None;
        dossier.changes.stale_components.remove(&component);
        dossier.changes.taken_out.insert(component, entry.seq);
    }
}

/// A receipt is corrected by another of the same component, not later than anything else that is
/// said of it, and in the same modification state if it was fitted or modified since. It is
/// withdrawn while nothing else is said.
pub(super) fn may_be_replaced(
    dossier: &Dossier,
    (entry, receipt): (&Entry, &Receipt),
    command: &Command,
) -> Result<(), Refusal> {
    let component = &receipt.component;
    let Fact::ComponentReceived(right) = &command.fact else {
        return may_be_withdrawn(dossier, entry, receipt);
    };
    if right.component != *component {
        return Err(Refusal::Impossible {
            field: "serial",
            given: right.component.to_string(),
            allowed: format!(
                "{component}; that its plate says otherwise is recorded as a change of plate"
            ),
        });
    }
    let fitted = dossier.own_fitments_of(component);
    let fitted = fitted.map(|fitment| (fitment.fitted_by, fitment.from));
    let mut fitted: Vec<(Seq, Instant)> = fitted.collect();
    let others = dossier.states_of(component).iter();
    let others = others.filter(|state| state.by != entry.seq);
    let rest = right.modification != receipt.modification;
    let modified = others.clone().filter(|state| state.modification.is_some());
    let on_state = modified
        .map(|state| (state.by, state.since))
        .chain(fitted.iter().copied());
    if let Some((by, since)) = on_state.filter(|_| rest).min_by_key(|(_, since)| *since) {
        return Err(rests(entry, by, since));
    }
    fitted.extend(others.map(|state| (state.by, state.since)));
    let before = fitted
        .into_iter()
        .filter(|(_, since)| *since < command.effective_at);
    match before.min_by_key(|(_, since)| *since) {
        Some((by, since)) => Err(rests(entry, by, since)),
        None => Ok(()),
    }
}

fn check_dates(receipt: &Receipt, received: Day) -> Result<(), Refusal> {
    let impossible = |field, given: Day, allowed| {
        Err(Refusal::Impossible {
            field,
            given: given.to_string(),
            allowed,
        })
    };
    let dates = [
        ("manufactured_on", receipt.manufactured_on),
        ("overhauled_on", receipt.overhauled_on),
    ];
    for (field, day) in dates {
        if let Some(day) = day.filter(|day| received < *day) {
            return impossible(field, day, format!("not after it came in on {received}"));
        }
    }
    match (receipt.manufactured_on, receipt.overhauled_on) {
        (Some(made), Some(overhauled)) if overhauled < made => {
            let allowed = format!("not before it was made on {made}");
            impossible("overhauled_on", overhauled, allowed)
        }
        _ => Ok(()),
    }
}

pub(super) fn fold_receipt(dossier: &mut Dossier, entry: &Entry, receipt: &Receipt) {
    let kept = Kept::new(&receipt.location, &receipt.sent);
    // A correction of its receipt leaves a component its identity and its other plates.
    let known = dossier.components.get(&receipt.component);
    let record = ComponentRecord {
        id: known.map_or(entry.seq, |known| known.id),
        component: receipt.component.clone(),
        received_at: entry.effective_at,
        condition: receipt.condition,
        kept: Some(kept.clone()),
        since: entry.effective_at,
        since_by: entry.seq,
        manufactured_on: receipt.manufactured_on,
        overhauled_on: receipt.overhauled_on,
        brought: receipt.brought,
        since_overhaul: receipt.since_overhaul,
        certificate: receipt.certificate_number().map(str::to_owned),
        modification: receipt.modification.clone(),
        batch: receipt.batch.clone(),
        plates: known.map_or_else(Vec::new, |known| known.plates.clone()),
    };
    dossier.components.insert(receipt.component.clone(), record);
    let state = ComponentState {
        by: entry.seq,
        since: entry.effective_at,
        whereabouts: Some(Whereabouts::Kept(kept)),
        condition: Some(receipt.condition),
        modification: receipt.modification.clone(),
        batch: receipt.batch.clone(),
    };
    dossier.put_state(&receipt.component, state);
}
