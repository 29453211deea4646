//! Cars, the units they run in, and the trains made of them.

use crate::configuration::car::{Car, Train, Unit, Vehicle};
use crate::identity::{CarNumber, UnitNumber};
use crate::ledger::dossier::{CarRecord, Dossier, Formed, Membership};
use crate::ledger::entry::{Entry, Seq};
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

pub(super) fn check_car(dossier: &Dossier, car: &Car, at: Instant) -> Result<(), Refusal> {
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
    match dossier.cars.get(&car.number) {
        Some(known) if known.car.car_type != car.car_type || known.car == *car => {
            Err(Refusal::AlreadyDefined {
                what: "car",
                name: car.number.to_string(),
                by: known.id,
                allowed: "change its depot, fleet or day in service, but not its type",
            })
        }
        _ => Ok(()),
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

pub(super) fn fold_car(dossier: &mut Dossier, by: Seq, car: &Car) {
    let record = dossier
        .cars
        .entry(car.number.clone())
        .or_insert_with(|| CarRecord {
            id: by,
            car: car.clone(),
            unit: None,
        });
    record.car = car.clone();
    if !dossier.depots.contains(&car.depot) {
        dossier.depots.insert(car.depot.clone());
    }
    dossier.moved.cars.insert(car.number.clone());
    dossier.changes.cars.insert(car.number.clone());
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

pub(super) fn check_unit(dossier: &Dossier, unit: &Unit) -> Result<(), Refusal> {
    check_size("place", unit.cars.len())?;
    let mut seen = HashSet::new();
    for place in &unit.cars {
        let record = known_car(dossier, &place.car)?;
        if !seen.insert(&place.car) {
            return Err(Refusal::Impossible {
                field: "car",
                given: place.car.to_string(),
                allowed: "each car once in a unit".into(),
            });
        }
        if let Some(other) = record
            .unit
            .as_ref()
            .filter(|other| other.unit != unit.number)
        {
            return Err(Refusal::Impossible {
                field: "car",
                given: place.car.to_string(),
                allowed: format!("a car of no other unit; it is in unit {}", other.unit),
            });
        }
    }
    Ok(())
}

pub(super) fn fold_unit(dossier: &mut Dossier, entry: &Entry, unit: &Unit) {
    let before = dossier
        .units
        .get(&unit.number)
        .map(|known| known.formation.cars.clone());
    for place in before.into_iter().flatten() {
        set_membership(dossier, &place.car, None);
    }
    for (index, place) in unit.cars.iter().enumerate() {
        let membership = Membership {
            unit: unit.number.clone(),
            place: u16::try_from(index + 1).unwrap_or(u16::MAX),
            orientation: place.orientation,
        };
        set_membership(dossier, &place.car, Some(membership));
    }
    let id = dossier
        .units
        .get(&unit.number)
        .map_or(entry.seq, |known| known.id);
    dossier.units.insert(
        unit.number.clone(),
        Formed {
            id,
            by: entry.seq,
            formed_at: entry.effective_at,
            formation: unit.clone(),
        },
    );
    dossier.changes.units.insert(unit.number.clone());
}

fn set_membership(dossier: &mut Dossier, car: &CarNumber, membership: Option<Membership>) {
    if let Some(record) = dossier.cars.get_mut(car) {
        record.unit = membership;
        dossier.moved.cars.insert(car.clone());
        dossier.changes.cars.insert(car.clone());
        dossier.changes.stale_cars.insert(car.clone());
        dossier.changes.marks_from(car, Instant::EARLIEST);
    }
}

pub(super) fn check_train(dossier: &Dossier, train: &Train) -> Result<(), Refusal> {
    check_size("place", train.vehicles.len())?;
    let mut seen = HashSet::new();
    for vehicle in &train.vehicles {
        let cars: Vec<&CarNumber> = match vehicle {
            Vehicle::Car(car, _) => vec![&known_car(dossier, car)?.car.number],
            Vehicle::Unit(number, _) => {
                let unknown = || Refusal::Unknown {
                    what: "unit",
                    name: number.to_string(),
                };
                let unit = dossier.units.get(number).ok_or_else(unknown)?;
                unit.formation.cars.iter().map(|place| &place.car).collect()
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

pub(super) fn fold_train(dossier: &mut Dossier, entry: &Entry, train: &Train) {
    let id = dossier
        .trains
        .get(&train.id)
        .map_or(entry.seq, |known| known.id);
    dossier.trains.insert(
        train.id.clone(),
        Formed {
            id,
            by: entry.seq,
            formed_at: entry.effective_at,
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
