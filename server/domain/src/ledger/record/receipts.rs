//! How components come into the register: what their plates and papers say.

use super::permitted::{Text, plausible_text};
use super::{baselines, plates};
use crate::configuration::certificate::Certificate;
use crate::configuration::component::Condition;
use crate::configuration::location::{Kept, Sent};
use crate::due::task::AppliesTo;
use crate::ledger::dossier::{ComponentRecord, ComponentState, Dossier, Whereabouts};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Receipt;
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
            Condition::RemovedToBeJudged, Condition::Quarantined
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
    if let Some(known) = dossier.components.get(&receipt.component) {
        return Err(Refusal::AlreadyDefined {
            what: "serial",
            name: receipt.component.to_string(),
            by: known.id,
            allowed: "record what happened to it instead",
        });
    }
    plates::check_not_borne(dossier, &receipt.component)?;
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
    let kept = Kept::new(&receipt.location, &Sent::default());
    let record = ComponentRecord {
        id: entry.seq,
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
        plates: Vec::new(),
    };
    dossier.components.insert(receipt.component.clone(), record);
    let state = ComponentState {
        by: entry.seq,
        since: entry.effective_at,
        whereabouts: Some(Whereabouts::Kept(kept)),
        condition: Some(receipt.condition),
        modification: receipt.modification.clone(),
    };
    dossier.put_state(&receipt.component, state);
}
