//! Keeps cars, units and trains.

use super::ROWS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::to_json;
use domain::configuration::car::{OrderedCar, Vehicle};
use domain::identity::{CarNumber, TrainId, UnitNumber};
use domain::ledger::dossier::Dossier;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

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
            let mut query = QueryBuilder::new("insert into car (id, number, vehicle_number, car_type, revision, fleet, depot, unit_number, unit_place, unit_orientation) ");
            query.push_values(chunk, |mut row, record| {
                let (car, unit) = (&record.car, record.unit.as_ref());
                row.push_bind(record.id.0)
                    .push_bind(car.number.as_str())
                    .push_bind(car.vehicle_number.map(|number| number.to_string()))
                    .push_bind(car.car_type.as_str())
                    .push_bind(car.revision.as_str())
                    .push_bind(car.fleet.as_str())
                    .push_bind(car.depot.as_str())
                    .push_bind(unit.map(|unit| unit.unit.as_str()))
                    .push_bind(unit.and_then(|unit| i16::try_from(unit.place).ok()))
                    .push_bind(unit.map(|unit| unit.orientation.name()));
            });
            query.push(" on conflict (id) do update set vehicle_number = excluded.vehicle_number, revision = excluded.revision, fleet = excluded.fleet, depot = excluded.depot, unit_number = excluded.unit_number, unit_place = excluded.unit_place, unit_orientation = excluded.unit_orientation");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
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

const PUT_TRAIN: &str = "insert into train (id, name, formed_by, formed_at, formation) values ($1, $2, $3, $4, $5)
    on conflict (id) do update set formed_by = excluded.formed_by, formed_at = excluded.formed_at, formation = excluded.formation";
const CLEAR_TRAIN: &str = "delete from train_car where train_id = $1";

/// Trains change one at a time, so each is written by itself.
pub(super) async fn put_trains(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<TrainId>,
) -> Result<(), StoreError> {
    for train in changed.iter().filter_map(|name| dossier.trains.get(name)) {
        let formation = &train.formation;
        let body = to_json(&formation.vehicles)?;
        on!(tx, conn => sqlx::query(PUT_TRAIN)
            .bind(train.id.0).bind(formation.id.as_str()).bind(train.by.0)
            .bind(At(train.formed_at)).bind(&body)
            .execute(conn).await.map(drop))?;
        on!(tx, conn => sqlx::query(CLEAR_TRAIN).bind(train.id.0).execute(conn).await.map(drop))?;
        let cars = cars_of(dossier, &formation.vehicles);
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into train_car (train_id, place, car_number, orientation) ");
            query.push_values(cars.iter().zip(1_i16..), |mut row, (place, number)| {
                row.push_bind(train.id.0)
                    .push_bind(number)
                    .push_bind(place.car.as_str())
                    .push_bind(place.orientation.name());
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

fn cars_of(dossier: &Dossier, vehicles: &[Vehicle]) -> Vec<OrderedCar> {
    let unit = |number: &UnitNumber| {
        dossier
            .units
            .get(number)
            .map(|unit| unit.formation.cars.clone())
            .unwrap_or_default()
    };
    vehicles
        .iter()
        .flat_map(|vehicle| vehicle.cars(unit))
        .collect()
}
