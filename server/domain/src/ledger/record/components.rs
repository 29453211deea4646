//! Components off the car: how they come into the register, where they are kept, and in which
//! condition.

use crate::configuration::component::{ComponentRef, Condition};
use crate::identity::LocationName;
use crate::ledger::dossier::{ComponentRecord, Dossier};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Receipt;
use crate::people::{Actor, Role};
use crate::refusal::Refusal;
use crate::time::Instant;

pub(super) fn known<'a>(
    dossier: &'a Dossier,
    component: &ComponentRef,
) -> Result<&'a ComponentRecord, Refusal> {
    let unknown = || Refusal::Unknown {
        what: "serial",
        name: component.to_string(),
    };
    dossier.components.get(component).ok_or_else(unknown)
}

/// Refuses a time before the component came to where it is now.
pub(super) fn not_before_whereabouts(
    record: &ComponentRecord,
    at: Instant,
    what: &str,
) -> Result<(), Refusal> {
    if record.since <= at {
        return Ok(());
    }
    Err(Refusal::Contradicts {
        what: format!("{} {what} at {at}", record.component),
        by: record.since_by,
        since: record.since,
        allowed: "give a later time, or correct that entry",
    })
}

pub(super) fn check_receipt(dossier: &Dossier, receipt: &Receipt) -> Result<(), Refusal> {
    let part = &receipt.component.part;
    if !dossier.documents.parts.contains_key(part) {
        return Err(Refusal::Unknown {
            what: "part",
            name: part.to_string(),
        });
    }
    if let Some(known) = dossier.components.get(&receipt.component) {
        return Err(Refusal::AlreadyDefined {
            what: "serial",
            name: receipt.component.to_string(),
            by: known.id,
            allowed: "record what happened to it instead",
        });
    }
    if let (Some(made), Some(overhauled)) = (receipt.manufactured_on, receipt.overhauled_on)
        && overhauled < made
    {
        return Err(Refusal::Impossible {
            field: "overhauled_on",
            given: overhauled.to_string(),
            allowed: format!("not before it was made on {made}"),
        });
    }
    Ok(())
}

pub(super) fn fold_receipt(dossier: &mut Dossier, entry: &Entry, receipt: &Receipt) {
    let record = ComponentRecord {
        id: entry.seq,
        component: receipt.component.clone(),
        received_at: entry.effective_at,
        condition: receipt.condition,
        location: Some(receipt.location.clone()),
        since: entry.effective_at,
        since_by: entry.seq,
        manufactured_on: receipt.manufactured_on,
        overhauled_on: receipt.overhauled_on,
        brought: receipt.brought,
        since_overhaul: receipt.since_overhaul,
        certificate: receipt.certificate.clone(),
    };
    dossier.components.insert(receipt.component.clone(), record);
    changed(dossier, &receipt.component);
}

pub(super) fn changed(dossier: &mut Dossier, component: &ComponentRef) {
    dossier.changes.components.insert(component.clone());
    dossier.changes.stale_components.insert(component.clone());
}

pub(super) fn check_relocated(
    dossier: &Dossier,
    component: &ComponentRef,
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, component)?;
    if let Some(fitment) = dossier.open_fitment(component) {
        return Err(Refusal::FittedElsewhere {
            component: component.clone(),
            at: fitment.at.clone(),
            by: fitment.fitted_by,
        });
    }
    not_before_whereabouts(record, at, "moved to another location")
}

pub(super) fn fold_relocated(
    dossier: &mut Dossier,
    entry: &Entry,
    component: &ComponentRef,
    to: &LocationName,
) {
    if let Some(record) = dossier.components.get_mut(component) {
        record.location = Some(to.clone());
        record.since = entry.effective_at;
        record.since_by = entry.seq;
        changed(dossier, component);
    }
}

pub(super) fn check_judged(
    dossier: &Dossier,
    actor: &Actor,
    component: &ComponentRef,
    condition: Condition,
) -> Result<(), Refusal> {
    let record = known(dossier, component)?;
    let forbids = |allowed| {
        let (component, condition) = (component.clone(), record.condition);
        Err(Refusal::ConditionForbids {
            component,
            condition,
            allowed,
        })
    };
    let engineer = actor.roles.contains(&Role::BrakeEngineer);
    match (record.condition, condition) {
        (Condition::Scrapped, _) => forbids("what is scrapped stays scrapped"),
        (Condition::Quarantined, _) if !engineer => {
            forbids("a brake engineer must release it from quarantine")
        }
        (_, Condition::Scrapped) if dossier.open_fitment(component).is_some() => {
            forbids("remove it before it is scrapped")
        }
        _ => Ok(()),
    }
}

pub(super) fn fold_judged(dossier: &mut Dossier, component: &ComponentRef, condition: Condition) {
    if let Some(record) = dossier.components.get_mut(component) {
        record.condition = condition;
        changed(dossier, component);
    }
}
