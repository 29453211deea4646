//! Plates: a component keeps every serial number that it ever bore, and no other has one of them.

use super::components::known;
use super::permitted::{Text, plausible_text};
use crate::configuration::component::ComponentRef;
use crate::configuration::plate::{PlateChange, PlateRecord};
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Receipt;
use crate::refusal::Refusal;
use crate::time::Instant;

pub(super) fn check_changed(
    dossier: &Dossier,
    change: &PlateChange,
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, &change.component)?;
    if at < record.received_at {
        return Err(Refusal::Contradicts {
            what: format!("a plate of {} from {at} on", change.component),
            by: record.id,
            since: record.received_at.into(),
            allowed: "give a time after it was received",
        });
    }
    if *record.plate_at(at) == change.plate {
        return Err(Refusal::Impossible {
            field: "plate",
            given: change.plate.to_string(),
            allowed: "another serial number than it bears then".into(),
        });
    }
    let plate = ComponentRef {
        part: change.component.part.clone(),
        serial: change.plate.clone(),
    };
    match dossier.bearer(&plate) {
        Some((other, by)) if other != &change.component => Err(borne(&plate, other, by)),
        _ => Ok(()),
    }
}

/// Refuses a serial number that another component bore before.
pub(super) fn check_not_borne(dossier: &Dossier, plate: &ComponentRef) -> Result<(), Refusal> {
    match dossier.bearer(plate) {
        Some((other, by)) if other != plate => Err(borne(plate, other, by)),
        _ => Ok(()),
    }
}

/// Asks how it was seen that what comes in is no component of its part that is in the register
/// under nearly the same serial number. Linear in the components of the dossier.
pub(super) fn check_not_alike(dossier: &Dossier, receipt: &Receipt) -> Result<(), Refusal> {
    if let Some(seen) = &receipt.alike_seen {
        return plausible_text("alike_seen", seen, Text::Needed);
    }
    match dossier.alike(&receipt.component) {
        None => Ok(()),
        Some((other, by)) => Err(Refusal::Alike {
            component: receipt.component.clone(),
            other: other.clone(),
            by,
        }),
    }
}

fn borne(plate: &ComponentRef, by: &ComponentRef, entry: Seq) -> Refusal {
    Refusal::AlreadyDefined {
        what: "plate",
        name: format!("{plate}, which {by} bears or bore"),
        by: entry,
        allowed: "look at both plates again",
    }
}

pub(super) fn fold_changed(dossier: &mut Dossier, entry: &Entry, change: &PlateChange) {
    dossier.put_plate(
        &change.component,
        PlateRecord {
            by: entry.seq,
            since: entry.effective_at,
            plate: change.plate.clone(),
            cause: change.cause,
        },
    );
}
