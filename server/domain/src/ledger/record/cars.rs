//! Cars, the units they run in, and the trains made of them.

use crate::configuration::car::{Car, Train, Unit, Vehicle};
use crate::identity::{CarNumber, TrainId, UnitNumber};
use crate::ledger::dossier::{CarRecord, Dossier, Formed, Membership};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::collections::HashSet;

/// The most cars in a unit and vehicles in a train.
const FORMATION_MAX: usize = 40;

pub(super) fn known_car<'a>(
    dossier: &'a Dossier,
    number: &CarNumber,
) -> Result<&'a CarRecord, Refusal> {
    let unknown = || Refusal::Unknown {
        what: "car",
        name: number.to_string(),
    };
    dossier.cars.get(number).ok_or_else(unknown)
}

/// The same, if it was there at a time.
pub(super) fn car_then<'a>(
    dossier: &'a Dossier,
    number: &CarNumber,
    at: Instant,
) -> Result<&'a CarRecord, Refusal> {
    let record = known_car(dossier, number)?;
    if record.there_since <= at {
        return Ok(record);
    }
    Err(Refusal::Contradicts {
        what: format!("something about car {number} at {at}", at = at.told()),
        by: record.id,
        since: record.there_since.into(),
        allowed: "give a time from when it is registered, or register it for the earlier time first",
    })
}

/// Checks what is said of a car, a unit or a train.
pub(super) fn check(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    let what = match fact {
        Fact::CarRegistered(car) => {
            check_car(dossier, car, at)?;
            format!("car {}", car.number)
        }
        Fact::UnitFormed(unit) => {
            check_unit(dossier, unit, at)?;
            format!("unit {}", unit.number)
        }
        Fact::TrainFormed(train) => {
            check_train(dossier, train, at)?;
            format!("train {}", train.id)
        }
        _ => return Ok(()),
    };
    match dossier.told_otherwise(fact, at) {
        None => Ok(()),
        Some(by) => Err(Refusal::Contradicts {
            what: format!("this of {what} from {at} on", at = at.told()),
            by,
            since: at.into(),
            allowed: "that entry says something else from the same moment on: give the time from which this holds",
        }),
    }
}

/// Folds what is said of a car, a unit or a train. What holds from the latest time stands,
/// whichever was recorded last, and of one time what was recorded last; anything before is history.
pub(super) fn fold(dossier: &mut Dossier, entry: &Entry) {
    let (at, by) = (entry.effective_at, entry.seq);
    match &entry.fact {
        Fact::CarRegistered(car) => fold_car(dossier, entry, car),
        Fact::UnitFormed(unit) if stands_for_unit(dossier, &unit.number, at) => {
            put_unit(dossier, (at, by), unit);
        }
        Fact::TrainFormed(train) if stands_for_train(dossier, &train.id, at) => {
            put_train(dossier, (at, by), train);
        }
        _ => {}
    }
    dossier.load_told(entry);
}

/// Whether what is said of a unit from a time on is what stands, and not history.
fn stands_for_unit(dossier: &Dossier, number: &UnitNumber, at: Instant) -> bool {
    let known = dossier.units.get(number);
    known.is_none_or(|known| known.formed_at <= at)
}

/// The same of a train.
fn stands_for_train(dossier: &Dossier, id: &TrainId, at: Instant) -> bool {
    let known = dossier.trains.get(id);
    known.is_none_or(|known| known.formed_at <= at)
}

fn check_car(dossier: &Dossier, car: &Car, at: Instant) -> Result<(), Refusal> {
    let design = dossier.documents.design(&car.car_type, &car.revision);
    if design.is_none() {
        let name = format!("{} revision {}", car.car_type, car.revision);
        return Err(Refusal::Unknown {
            what: "car_type",
            name,
        });
    }
    let registered = dossier.zone.day_of(at);
    if let Some(on) = car.entered_service_on.filter(|on| registered < *on) {
        return Err(Refusal::Impossible {
            field: "entered_service_on",
            given: on.to_string(),
            allowed: format!("not after it is registered on {registered}"),
        });
    }
    check_vehicle_number(dossier, car)?;
    let Some(known) = dossier.cars.get(&car.number) else {
        return Ok(());
    };
    let same_again = known.car == *car && known.registered_at <= at;
    if known.car.car_type == car.car_type && !same_again {
        return Ok(());
    }
    Err(Refusal::AlreadyDefined {
        what: "car",
        name: car.number.to_string(),
        by: known.id,
        allowed: "change its depot, fleet or day in service, but not its type",
    })
}

/// A vehicle number is of one car.
fn check_vehicle_number(dossier: &Dossier, car: &Car) -> Result<(), Refusal> {
    let Some(number) = &car.vehicle_number else {
        return Ok(());
    };
    let mut others = dossier.cars.values();
    let bears = |other: &&CarRecord| {
        other.car.number != car.number && other.car.vehicle_number.as_ref() == Some(number)
    };
    match others.find(bears) {
        None => Ok(()),
        Some(other) => Err(Refusal::Impossible {
            field: "vehicle_number",
            given: number.to_string(),
            allowed: format!(
                "a number that no other car bears; car {} bears it (by {})",
                other.car.number, other.registered_by
            ),
        }),
    }
}

/// Which revision is the baseline of a car, new or not, is a matter of two people.
pub(super) fn check_keeps_revision(dossier: &Dossier, car: &Car) -> Result<(), Refusal> {
    match dossier.cars.get(&car.number) {
        Some(known) if known.car.revision == car.revision => Ok(()),
        Some(_) => Err(Refusal::NeedsTwoPeople {
            allowed: "propose from when the revision holds for the car; another brake engineer approves it",
        }),
        None => Err(Refusal::NeedsTwoPeople {
            allowed: "propose the new car with its revision; a brake engineer other than you approves it",
        }),
    }
}

/// Only a new car is proposed: of one that is known the revision is put in force from a day on,
/// and anything else is recorded.
pub(super) fn check_new(dossier: &Dossier, car: &Car) -> Result<(), Refusal> {
    match dossier.cars.get(&car.number) {
        None => Ok(()),
        Some(known) => Err(Refusal::AlreadyDefined {
            what: "car",
            name: car.number.to_string(),
            by: known.id,
            allowed: "record its depot, fleet or day in service; propose from when another revision holds",
        }),
    }
}

fn fold_car(dossier: &mut Dossier, entry: &Entry, car: &Car) {
    let at = entry.effective_at;
    let record = dossier
        .cars
        .entry(car.number.clone())
        .or_insert_with(|| CarRecord {
            id: entry.seq,
            car: car.clone(),
            registered_at: at,
            registered_by: entry.seq,
            there_since: at,
            unit: None,
        });
    record.there_since = record.there_since.min(at);
    dossier.changes.cars.insert(car.number.clone());
    if at < record.registered_at {
        return;
    }
    record.car = car.clone();
    record.registered_at = at;
    record.registered_by = entry.seq;
    if !dossier.depots.contains(&car.depot) {
        dossier.depots.insert(car.depot.clone());
    }
    dossier.moved.cars.insert(car.number.clone());
    dossier.changes.departs(&car.number);
    dossier.changes.stale_cars.insert(car.number.clone());
    dossier.changes.marks_from(&car.number, Instant::EARLIEST);
}

fn check_size(what: &'static str, count: usize) -> Result<(), Refusal> {
    if (1..=FORMATION_MAX).contains(&count) {
        return Ok(());
    }
    let allowed = format!("1 to {FORMATION_MAX}");
    Err(Refusal::Impossible {
        field: what,
        given: count.to_string(),
        allowed,
    })
}

fn check_unit(dossier: &Dossier, unit: &Unit, at: Instant) -> Result<(), Refusal> {
    check_size("place", unit.cars.len())?;
    let stands = stands_for_unit(dossier, &unit.number, at);
    let mut seen = HashSet::new();
    for place in &unit.cars {
        let record = car_then(dossier, &place.car, at)?;
        if !seen.insert(&place.car) {
            return Err(Refusal::Impossible {
                field: "car",
                given: place.car.to_string(),
                allowed: "each car once in a unit".into(),
            });
        }
        if stands {
            of_no_other(record, &unit.number)?;
        }
    }
    Ok(())
}

/// Checks that a car is in no other unit than one.
pub(super) fn of_no_other(record: &CarRecord, unit: &UnitNumber) -> Result<(), Refusal> {
    match &record.unit {
        Some(other) if other.unit != *unit => Err(Refusal::Impossible {
            field: "car",
            given: record.car.number.to_string(),
            allowed: format!("a car of no other unit; it is in unit {}", other.unit),
        }),
        _ => Ok(()),
    }
}

/// Makes what an entry tells of a unit from a time on the one that stands.
pub(super) fn put_unit(dossier: &mut Dossier, (at, by): (Instant, Seq), unit: &Unit) {
    let number = &unit.number;
    let known = dossier.units.get(number);
    let id = known.map_or(by, |known| known.id);
    let before = known.map_or_else(Vec::new, |known| known.formation.cars.clone());
    for place in before {
        set_membership(dossier, (&place.car, number), None);
    }
    for (index, place) in unit.cars.iter().enumerate() {
        let membership = Membership {
            unit: number.clone(),
            place: u16::try_from(index + 1).unwrap_or(u16::MAX),
            orientation: place.orientation,
        };
        set_membership(dossier, (&place.car, number), Some(membership));
    }
    dossier.units.insert(
        number.clone(),
        Formed {
            id,
            by,
            formed_at: at,
            formation: unit.clone(),
        },
    );
    dossier.changes.units.insert(number.clone());
}

/// A car that has come into another unit stays there.
fn set_membership(
    dossier: &mut Dossier,
    (car, unit): (&CarNumber, &UnitNumber),
    membership: Option<Membership>,
) {
    let record = dossier.cars.get_mut(car);
    if let Some(record) = record.filter(|record| of_no_other(record, unit).is_ok()) {
        record.unit = membership;
        dossier.moved.cars.insert(car.clone());
        dossier.changes.cars.insert(car.clone());
        dossier.changes.stale_cars.insert(car.clone());
        dossier.changes.marks_from(car, Instant::EARLIEST);
    }
}

/// A unit as it was formed at a time.
fn unit_then<'a>(
    dossier: &'a Dossier,
    number: &UnitNumber,
    at: Instant,
) -> Result<&'a Unit, Refusal> {
    if let Some(unit) = dossier.unit_at(number, at) {
        return Ok(unit);
    }
    Err(match dossier.unit_first_formed(number) {
        None => Refusal::Unknown {
            what: "unit",
            name: number.to_string(),
        },
        Some((since, by)) => Refusal::Contradicts {
            what: format!("unit {number} in a train at {at}", at = at.told()),
            by,
            since: since.into(),
            allowed: "give a time from when the unit is formed, or tell first how it was formed then",
        },
    })
}

fn check_train(dossier: &Dossier, train: &Train, at: Instant) -> Result<(), Refusal> {
    check_size("place", train.vehicles.len())?;
    let mut seen = HashSet::new();
    for vehicle in &train.vehicles {
        let cars: Vec<&CarNumber> = match vehicle {
            Vehicle::Car(car, _) => vec![&car_then(dossier, car, at)?.car.number],
            Vehicle::Unit(number, _) => {
                let unit = unit_then(dossier, number, at)?;
                unit.cars.iter().map(|place| &place.car).collect()
            }
        };
        if let Some(twice) = cars.into_iter().find(|car| !seen.insert((*car).clone())) {
            return Err(Refusal::Impossible {
                field: "car",
                given: twice.to_string(),
                allowed: "each car once in a train".into(),
            });
        }
    }
    Ok(())
}

/// Makes what an entry tells of a train from a time on the one that stands.
pub(super) fn put_train(dossier: &mut Dossier, (at, by): (Instant, Seq), train: &Train) {
    let known = dossier.trains.get(&train.id);
    let id = known.map_or(by, |known| known.id);
    dossier.trains.insert(
        train.id.clone(),
        Formed {
            id,
            by,
            formed_at: at,
            formation: train.clone(),
        },
    );
    dossier.changes.trains.insert(train.id.clone());
    dossier.moved.trains.insert(train.id.clone());
    // They may have run in another train, of which nothing is true any more.
    let units = &dossier.units;
    let of_unit = |number: &UnitNumber| {
        let unit = units.get(number);
        unit.map_or(Vec::new(), |unit| unit.formation.cars.clone())
    };
    let cars = train
        .vehicles
        .iter()
        .flat_map(|vehicle| vehicle.cars(of_unit));
    let cars: Vec<CarNumber> = cars.map(|place| place.car).collect();
    dossier.moved.cars.extend(cars);
}
