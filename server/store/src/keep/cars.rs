//! Keeps cars and units.

use super::ROWS;
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::identity::{CarNumber, UnitNumber};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

pub(super) async fn put_cars(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<CarNumber>,
) -> Result<(), StoreError> {
    let records: Vec<_> = changed
        .iter()
        .filter_map(|number| dossier.cars.get(number))
        .collect();
    for chunk in records.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into car_ever (id, number, vehicle_number, car_type, revision, fleet, depot, entered_service_on, unit_number, unit_place, unit_orientation, registered_by, registered_at, there_since) ");
            query.push_values(chunk, |mut row, record| {
                let (car, unit) = (&record.car, record.unit.as_ref());
                row.push_bind(record.id.0)
                    .push_bind(car.number.as_str())
                    .push_bind(car.vehicle_number.map(|number| number.to_string()))
                    .push_bind(car.car_type.as_str())
                    .push_bind(car.revision.as_str())
                    .push_bind(car.fleet.as_str())
                    .push_bind(car.depot.as_str())
                    .push_bind(car.entered_service_on.map(On))
                    .push_bind(unit.map(|unit| unit.unit.as_str()))
                    .push_bind(unit.and_then(|unit| i16::try_from(unit.place).ok()))
                    .push_bind(unit.map(|unit| unit.orientation.name()))
                    .push_bind(record.registered_by.0)
                    .push_bind(At(record.registered_at))
                    .push_bind(At(record.there_since));
            });
            query.push(" on conflict (id) do update set vehicle_number = excluded.vehicle_number, revision = excluded.revision, fleet = excluded.fleet, depot = excluded.depot, entered_service_on = excluded.entered_service_on, unit_number = excluded.unit_number, unit_place = excluded.unit_place, unit_orientation = excluded.unit_orientation, registered_by = excluded.registered_by, registered_at = excluded.registered_at, there_since = excluded.there_since");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

/// What follows from a car is nothing once that is not in the register any more.
const FOLLOWS: [&str; 5] = [
    "delete from due where car_id = $1 or subject_id = $1",
    "delete from departure where car_id = $1",
    "delete from meter where car_id = $1",
    "delete from stale_car where car_id = $1",
    "delete from stale_departure where car_id = $1",
];

const WITHDRAWN: &str = "update car_ever set withdrawn_by = $2 where id = $1";

/// Takes cars out of which the registration was withdrawn, each with the entry that did. Nothing that
/// stands refers to them; what was known of them before stays, and their rows with it.
pub(super) async fn take_out(tx: &mut Tx, gone: &BTreeMap<Seq, Seq>) -> Result<(), StoreError> {
    for (car, by) in gone {
        for statement in FOLLOWS {
            on!(tx, conn => sqlx::query(statement).bind(car.0).execute(conn).await.map(drop))?;
        }
        on!(tx, conn => sqlx::query(WITHDRAWN).bind(car.0).bind(by.0).execute(conn).await.map(drop))?;
    }
    Ok(())
}

pub(super) async fn put_units(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<UnitNumber>,
) -> Result<(), StoreError> {
    let units: Vec<_> = changed
        .iter()
        .filter_map(|number| dossier.units.get(number))
        .collect();
    for chunk in units.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into unit (id, number, formed_by, formed_at) ");
            query.push_values(chunk, |mut row, unit| {
                row.push_bind(unit.id.0)
                    .push_bind(unit.formation.number.as_str())
                    .push_bind(unit.by.0)
                    .push_bind(At(unit.formed_at));
            });
            query.push(" on conflict (id) do update set formed_by = excluded.formed_by, formed_at = excluded.formed_at");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
