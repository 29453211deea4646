//! Visits: planned, planned otherwise, cancelled.

use super::permitted::{Text, plausible_text};
use crate::due::visit::{MODIFICATIONS_MAX, Visit, VisitRecord};
use crate::identity::VisitNumber;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;

/// Checks what is said of a visit.
pub(super) fn check(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    match fact {
        Fact::VisitPlanned(visit) => check_planned(dossier, visit, at),
        Fact::VisitCancelled { visit, reason } => {
            not_cancelled(standing(dossier, visit)?)?;
            plausible_text("reason", reason, Text::Needed)
        }
        _ => Ok(()),
    }
}

/// Folds a visit planned or cancelled.
pub(super) fn fold(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::VisitPlanned(visit) => {
            let record = VisitRecord {
                visit: Visit {
                    in_place_of: None,
                    ..(**visit).clone()
                },
                by: entry.seq,
                cancelled_by: None,
            };
            dossier.visits.insert(visit.number.clone(), record);
            dossier.changes.visits.insert(visit.number.clone());
        }
        Fact::VisitCancelled { visit, .. } => {
            if let Some(record) = dossier.visits.get_mut(visit) {
                record.cancelled_by = Some(entry.seq);
                dossier.changes.visits.insert(visit.clone());
            }
        }
        _ => {}
    }
}

fn standing<'a>(dossier: &'a Dossier, visit: &VisitNumber) -> Result<&'a VisitRecord, Refusal> {
    dossier.visits.get(visit).ok_or_else(|| Refusal::Unknown {
        what: "visit",
        name: visit.to_string(),
    })
}

fn not_cancelled(record: &VisitRecord) -> Result<(), Refusal> {
    match record.cancelled_by {
        None => Ok(()),
        Some(by) => Err(Refusal::StandsAgainst {
            what: format!("visit {} told of again", record.visit.number),
            by,
            says: "it is cancelled".to_owned(),
            allowed: "plan a visit with a number of its own",
        }),
    }
}

fn in_words(visit: &Visit) -> String {
    let Visit {
        number,
        from,
        until,
        ..
    } = visit;
    format!("visit {number} from {from} to {until}")
}

/// Checks that the number is free, or that the visit of that number is planned otherwise by
/// somebody who knows how it is planned now.
fn number_is_meant(dossier: &Dossier, visit: &Visit) -> Result<(), Refusal> {
    let Some(record) = dossier.visits.get(&visit.number) else {
        return match visit.in_place_of {
            None => Ok(()),
            Some(_) => standing(dossier, &visit.number).map(drop),
        };
    };
    not_cancelled(record)?;
    match visit.in_place_of {
        Some(seen) if seen == record.by => Ok(()),
        Some(seen) => Err(Refusal::StandsAgainst {
            what: format!("visit {} planned otherwise than by {seen}", visit.number),
            by: record.by,
            says: in_words(&record.visit),
            allowed: "look at how it is planned by now",
        }),
        None => Err(Refusal::AlreadyDefined {
            what: "visit",
            name: visit.number.to_string(),
            by: record.by,
            allowed: "give it a number of its own, or plan that visit otherwise",
        }),
    }
}

/// Checks that a known unit can be there, that there is a depot and not over yet when it is planned,
/// and that what is to be embodied is issued. Linear in the visits of the unit.
fn check_planned(dossier: &Dossier, visit: &Visit, at: Instant) -> Result<(), Refusal> {
    if !dossier.units.contains_key(&visit.unit) {
        return Err(Refusal::Unknown {
            what: "unit",
            name: visit.unit.to_string(),
        });
    }
    number_is_meant(dossier, visit)?;
    Visit::stays(visit.from, visit.until).map_err(|allowed| Refusal::Impossible {
        field: "until",
        given: visit.until.to_string(),
        allowed,
    })?;
    is_not_over(dossier, visit, at)?;
    is_at_a_depot(dossier, visit, at)?;
    modifications_are_issued(dossier, visit)?;
    let mut others = dossier.visits.values();
    let other = others.find(|other| {
        other.cancelled_by.is_none()
            && other.visit.number != visit.number
            && other.visit.overlaps(visit)
    });
    match other {
        None => Ok(()),
        Some(other) => Err(Refusal::StandsAgainst {
            what: format!(
                "{} at {} from {} to {}",
                visit.unit, visit.depot, visit.from, visit.until
            ),
            by: other.by,
            says: in_words(&other.visit),
            allowed: "give days on which the unit is nowhere else, or plan the other visit otherwise first",
        }),
    }
}

/// Nobody plans what is over. One that was planned in time may be told late.
fn is_not_over(dossier: &Dossier, visit: &Visit, at: Instant) -> Result<(), Refusal> {
    let planned_on = dossier.zone.day_of(at);
    if planned_on <= visit.until {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "until",
        given: visit.until.to_string(),
        allowed: format!(
            "a day from {planned_on} on, when it is planned; a visit that is over is not planned"
        ),
    })
}

/// Work is done where cars are at home, and at workshops and contractors.
fn is_at_a_depot(dossier: &Dossier, visit: &Visit, at: Instant) -> Result<(), Refusal> {
    let mut locations = dossier.documents.locations(at);
    let is_named =
        locations.any(|(name, kind)| kind.takes_visits() && name.as_str() == visit.depot.as_str());
    if is_named || dossier.depots.contains(&visit.depot) {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "depot",
        given: visit.depot.to_string(),
        allowed:
            "a depot of cars of the register, or a location that is a workshop or a contractor"
                .into(),
    })
}

fn modifications_are_issued(dossier: &Dossier, visit: &Visit) -> Result<(), Refusal> {
    if MODIFICATIONS_MAX < visit.modifications.len() {
        return Err(Refusal::Impossible {
            field: "modifications",
            given: format!("{} modifications", visit.modifications.len()),
            allowed: format!("at most {MODIFICATIONS_MAX}"),
        });
    }
    let issued = &dossier.documents.modifications;
    let mut wanted = visit.modifications.iter();
    match wanted.find(|number| !issued.contains_key(*number)) {
        None => Ok(()),
        Some(number) => Err(Refusal::Unknown {
            what: "modification",
            name: number.to_string(),
        }),
    }
}
