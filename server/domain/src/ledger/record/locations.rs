//! Locations: of which kind each is, and what must be said of what is sent there.

use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::location::{Location, LocationKind, Sent};
use crate::identity::LocationName;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::people::{Actor, Authority};
use crate::refusal::Refusal;
use crate::time::Instant;
use std::sync::Arc;

pub(super) fn check_defined(
    dossier: &Dossier,
    location: &Location,
    at: Instant,
) -> Result<(), Refusal> {
    let documents = &dossier.documents;
    if !documents.knows_location(&location.name)
        && let Some(other) = documents.location_like(&location.name)
    {
        let allowed = format!("another name, since {other} is read as the same");
        return impossible("name", &location.name, allowed);
    }
    match documents.location_kind(&location.name, at) {
        Some((kind, by)) if kind == location.kind => Err(Refusal::AlreadyDefined {
            what: "location",
            name: format!("{} as {kind}", location.name),
            by,
            allowed: "nothing needs to be said",
        }),
        _ => Ok(()),
    }
}

pub(super) fn fold_defined(dossier: &mut Dossier, entry: &Entry, location: &Location) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.put_location(entry.seq, entry.effective_at, location.clone());
    dossier.changes.documents.push(entry.seq);
}

/// Checks that a location was said to be one, by whatever time. Where none ever was, any name
/// will do: a register may have no list of its locations.
pub(super) fn check_named(dossier: &Dossier, name: &LocationName) -> Result<(), Refusal> {
    let documents = &dossier.documents;
    if documents.names_no_location() || documents.knows_location(name) {
        return Ok(());
    }
    let allowed = "a location that was named before; of a new one, say first what it is";
    impossible("location", name, allowed.into())
}

/// Checks what is said of a component that goes to a location: where it is bound for, if and only
/// if it is in transit; when it is expected, only if it is away; and that only what was destroyed
/// goes where that is kept.
pub(super) fn check_kept(
    dossier: &Dossier,
    (component, condition): (&ComponentRef, Condition),
    (to, sent): (&LocationName, &Sent),
    at: Instant,
) -> Result<(), Refusal> {
    check_named(dossier, to)?;
    let kind = dossier
        .documents
        .location_kind(to, at)
        .map(|(kind, _)| kind);
    if kind == Some(LocationKind::Scrapped) && condition != Condition::Scrapped {
        return Err(Refusal::ConditionForbids {
            component: component.clone(),
            condition,
            allowed: "record its destruction before it is kept with what is scrapped",
        });
    }
    check_bound_for(dossier, (to, kind), sent, at)?;
    let Some(day) = sent.expected_on else {
        return Ok(());
    };
    let sent_on = dossier.zone.day_of(at);
    if !kind.is_some_and(LocationKind::is_away) {
        return impossible(
            "expected_on",
            day,
            format!("nothing, unless {to} was said to be a contractor or in transit"),
        );
    }
    if day < sent_on {
        return impossible(
            "expected_on",
            day,
            format!("not before {sent_on}, when it went"),
        );
    }
    Ok(())
}

/// Checks that a person who sends something away says when it is expected, so that it is missed
/// when it does not come. Of an existing fleet that is brought in that may not be known.
pub(super) fn check_expected(
    dossier: &Dossier,
    actor: &Actor,
    (fact, at): (&Fact, Instant),
) -> Result<(), Refusal> {
    let (to, sent) = match fact {
        Fact::ComponentReceived(it) => (&it.location, &it.sent),
        Fact::Relocated(it) => (&it.to, &it.sent),
        Fact::Removed { removal, .. } => (&removal.to, &removal.sent),
        _ => return Ok(()),
    };
    let kind = dossier.documents.location_kind(to, at);
    let away = kind.is_some_and(|(kind, _)| kind.is_away());
    if !away || sent.expected_on.is_some() || actor.authority == Authority::Founder {
        return Ok(());
    }
    let allowed = format!("the day on which it is expected, since {to} is away");
    impossible("expected_on", "nothing", allowed)
}

fn check_bound_for(
    dossier: &Dossier,
    (to, kind): (&LocationName, Option<LocationKind>),
    sent: &Sent,
    at: Instant,
) -> Result<(), Refusal> {
    let in_transit = kind == Some(LocationKind::InTransit);
    match &sent.bound_for {
        None if in_transit => {
            let allowed = format!("the location it is bound for, since {to} is in transit");
            impossible("bound_for", "nothing", allowed)
        }
        Some(name) if !in_transit => {
            let allowed = format!("nothing, unless {to} was said to be in transit");
            impossible("bound_for", name, allowed)
        }
        Some(name) => match dossier.documents.location_kind(name, at) {
            Some((LocationKind::InTransit, _)) => {
                impossible("bound_for", name, "a location where it arrives".into())
            }
            _ => check_named(dossier, name),
        },
        None => Ok(()),
    }
}

fn impossible(
    field: &'static str,
    given: impl std::fmt::Display,
    allowed: String,
) -> Result<(), Refusal> {
    Err(Refusal::Impossible {
        field,
        given: given.to_string(),
        allowed,
    })
}
