//! Concessions: granted and prolonged by two people, withdrawn by one, and what they allow.

use super::assemblies::check_made_for;
use super::cars::known_car;
use super::{Text, plausible_text};
use crate::configuration::car_type::PositionKind;
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::concession::{Allowed, Concession, ConcessionRecord};
use crate::configuration::effectivity::CarRange;
use crate::configuration::host::{Host, HostPosition};
use crate::identity::{CarNumber, ConcessionNumber};
use crate::ledger::dossier::{Dossier, PlaceOnCar};
use crate::ledger::entry::Entry;
use crate::refusal::Refusal;
use crate::time::{Day, Instant};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The longest time that a concession is granted or prolonged for, in months from the day of that:
/// what is to last is a change of the baseline. Common practice, no source.
const MONTHS_MAX: i32 = 24;

fn unknown(number: &ConcessionNumber) -> Refusal {
    Refusal::Unknown {
        what: "concession",
        name: number.to_string(),
    }
}

fn check_until(until: Day, today: Day) -> Result<(), Refusal> {
    let latest = today.plus_months(MONTHS_MAX);
    if today <= until && until <= latest {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "until",
        given: until.to_string(),
        allowed: format!(
            "a day from {today} to {latest}; what is to last longer is approved in a revision"
        ),
    })
}

pub(super) fn check_granted(
    dossier: &Dossier,
    concession: &Concession,
    at: Instant,
) -> Result<(), Refusal> {
    let documents = &dossier.documents;
    if let Some(known) = documents.concessions.get(&concession.number) {
        return Err(Refusal::AlreadyDefined {
            what: "concession",
            name: concession.number.to_string(),
            by: known.by,
            allowed: "give it a number of its own",
        });
    }
    let position = &concession.position;
    let designs = documents.car_types.values();
    let places = designs.filter_map(|design| documents.place(&design.document, position));
    let places: Vec<PlaceOnCar> = places.collect();
    let unknown = |what, name: String| Err(Refusal::Unknown { what, name });
    if places.is_empty() {
        return unknown("position", position.to_string());
    }
    match &concession.allows {
        Allowed::Part(number) => {
            let Some(part) = documents.part(number) else {
                return unknown("part", number.to_string());
            };
            let kinds: BTreeSet<PositionKind> =
                places.iter().map(|place| place.position.kind).collect();
            check_made_for("part", part, &Vec::from_iter(kinds))?;
        }
        Allowed::Setting(setting) | Allowed::SettingOutOfRange(setting)
            if places
                .iter()
                .all(|place| place.position.setting(setting).is_none()) =>
        {
            return unknown("setting", format!("{setting} at {position}"));
        }
        Allowed::Setting(_) | Allowed::SettingOutOfRange(_) => {}
    }
    check_values(concession, &places)?;
    plausible_text("reason", &concession.reason, Text::Needed)?;
    check_until(concession.until, dossier.zone.day_of(at))
}

/// What is allowed outside a range has a range of its own: a valve set to nothing at all is not what
/// anybody agreed to.
fn check_values(concession: &Concession, places: &[PlaceOnCar]) -> Result<(), Refusal> {
    let impossible = |given: String, allowed: String| {
        Err(Refusal::Impossible {
            field: "values",
            given,
            allowed,
        })
    };
    match (&concession.allows, &concession.values) {
        (Allowed::SettingOutOfRange(_), None) => impossible(
            "nothing".to_owned(),
            "the values that are allowed outside the range, as 8.7 to 9.2 bar".to_owned(),
        ),
        (Allowed::SettingOutOfRange(name), Some(values)) => {
            let mut settings = places
                .iter()
                .filter_map(|place| place.position.setting(name));
            match settings.next() {
                Some(setting) if !values.are_of_kind_of(setting) => {
                    impossible(values.to_string(), setting.kind())
                }
                _ => Ok(()),
            }
        }
        (Allowed::Part(_) | Allowed::Setting(_), Some(values)) => impossible(
            values.to_string(),
            "nothing, unless it is for a setting outside its range".to_owned(),
        ),
        (Allowed::Part(_) | Allowed::Setting(_), None) => Ok(()),
    }
}

/// Checks that what people propose is for cars that there are. What is brought in may come before
/// its cars.
pub(super) fn check_cars(dossier: &Dossier, concession: &Concession) -> Result<(), Refusal> {
    for (first, last) in concession.cars.ranges().iter().map(CarRange::ends) {
        known_car(dossier, first)?;
        known_car(dossier, last)?;
    }
    Ok(())
}

pub(super) fn fold_granted(dossier: &mut Dossier, entry: &Entry, concession: &Concession) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.put_concession(entry.seq, entry.effective_at, concession.clone());
    changed(dossier, entry, &concession.number);
}

/// A concession that is over is not brought back: what is to be allowed again is granted anew.
fn in_force<'a>(
    dossier: &'a Dossier,
    number: &ConcessionNumber,
    at: Instant,
) -> Result<&'a ConcessionRecord, Refusal> {
    let known = dossier.documents.concessions.get(number);
    let known = known.ok_or_else(|| unknown(number))?;
    if known.holds(at, dossier.zone.day_of(at)) {
        return Ok(known);
    }
    let until = known.until();
    Err(Refusal::Impossible {
        field: "concession",
        given: number.to_string(),
        allowed: match known.withdrawn {
            Some((by, _)) => format!("one that is in force; it was withdrawn by {by}"),
            None => format!(
                "one that is in force; it is from {} to {until}",
                known.granted_at
            ),
        },
    })
}

pub(super) fn check_prolonged(
    dossier: &Dossier,
    (number, until): (&ConcessionNumber, Day),
    at: Instant,
) -> Result<(), Refusal> {
    let known = in_force(dossier, number, at)?;
    if until <= known.until() {
        return Err(Refusal::Impossible {
            field: "until",
            given: until.to_string(),
            allowed: format!("a day after {}, on which it ends now", known.until()),
        });
    }
    check_until(until, dossier.zone.day_of(at))
}

pub(super) fn fold_prolonged(
    dossier: &mut Dossier,
    entry: &Entry,
    (number, until): (&ConcessionNumber, Day),
) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.prolong_concession(entry.seq, number, until);
    changed(dossier, entry, number);
}

pub(super) fn check_withdrawn(
    dossier: &Dossier,
    number: &ConcessionNumber,
    at: Instant,
) -> Result<(), Refusal> {
    in_force(dossier, number, at).map(drop)
}

pub(super) fn fold_withdrawn(dossier: &mut Dossier, entry: &Entry, number: &ConcessionNumber) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.withdraw_concession((entry.seq, entry.effective_at), number);
    changed(dossier, entry, number);
}

fn changed(dossier: &mut Dossier, entry: &Entry, number: &ConcessionNumber) {
    dossier.changes.documents.push(entry.seq);
    let Some(record) = dossier.documents.concessions.get(number) else {
        return;
    };
    let position = record.granted.position.clone();
    dossier.changes.stale_places.insert(position);
    // What was agreed with it is told beside the verdicts about its cars.
    let decided = dossier.decisions.values();
    let decided = decided.flat_map(|decision| &decision.taken.found.cars);
    let concerned = decided.filter(|car| record.granted.cars.hold(&car.number));
    let concerned: BTreeSet<CarNumber> = concerned.map(|car| car.number.clone()).collect();
    dossier.moved.cars.extend(concerned);
}

/// Checks that a concession allows a component at a position from a moment on. `refused` is why
/// the baseline does not.
pub(super) fn check_allows(
    dossier: &Dossier,
    (component, number): (&ComponentRef, &ConcessionNumber),
    (at, moment): (&HostPosition, Instant),
    refused: Refusal,
) -> Result<(), Refusal> {
    // Of what is not known nothing is allowed.
    if matches!(&refused, Refusal::StateNotApproved { state: None, .. }) {
        return Err(refused);
    }
    let known = in_force(dossier, number, moment)?;
    let place = place_on_car(dossier, at, moment);
    let covers = |place: &PositionRef| known.covers(&Allowed::Part(component.part.clone()), place);
    if let Some(place) = place.filter(covers) {
        return made_for_place(dossier, component, (&place, moment));
    }
    let Concession {
        cars,
        position,
        allows,
        ..
    } = &known.granted;
    Err(Refusal::Impossible {
        field: "concession",
        given: number.to_string(),
        allowed: format!(
            "one for {} at {at}; it is for {allows} at {position} of cars {cars}",
            component.part
        ),
    })
}

/// No concession makes a part what it is not. One that was granted for cars of several types may
/// name a part that is made for the position of that code on one of them.
fn made_for_place(
    dossier: &Dossier,
    component: &ComponentRef,
    (place, moment): (&PositionRef, Instant),
) -> Result<(), Refusal> {
    let documents = &dossier.documents;
    let car = known_car(dossier, &place.car)?;
    let design = documents.car_type(&car.car, dossier.zone.day_of(moment));
    let there = design.and_then(|design| documents.place(design, &place.position));
    match (documents.part(&component.part), there) {
        (Some(part), Some(there)) => check_made_for("part", part, &[there.position.kind]),
        _ => Ok(()),
    }
}

/// Where a position of a car or an assembly is on a car at a moment.
fn place_on_car(dossier: &Dossier, at: &HostPosition, moment: Instant) -> Option<PositionRef> {
    match &at.host {
        Host::Car(_) => at.on_car(),
        Host::Assembly(assembly) => {
            let mut places = dossier.fitments_of(assembly);
            let place = places.find(|place| place.period().holds(moment))?;
            Some(PositionRef {
                car: place.at.car.clone(),
                position: place.at.position.followed_by(&at.position)?,
            })
        }
    }
}
