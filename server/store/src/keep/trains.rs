//! Keeps trains, and which cars they are made of as their units are formed now.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::row::{from_json, to_json};
use domain::configuration::car::{OrderedCar, Vehicle};
use domain::identity::{TrainId, UnitNumber};
use domain::ledger::dossier::Dossier;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

const PUT_TRAIN: &str = "insert into train (id, name, formed_by, formed_at, formation) values ($1, $2, $3, $4, $5)
    on conflict (id) do update set formed_by = excluded.formed_by, formed_at = excluded.formed_at, formation = excluded.formation";

/// Trains change one at a time, so each is written by itself; those of units that are formed
/// anew follow. Cars must have been written before.
pub(super) async fn put_trains(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<TrainId>,
    units: &BTreeSet<UnitNumber>,
) -> Result<(), StoreError> {
    let mut formations: HashMap<i64, Vec<Vehicle>> = of_units(tx, units).await?;
    for train in changed.iter().filter_map(|name| dossier.trains.get(name)) {
        let formation = &train.formation;
        let body = to_json(&formation.vehicles)?;
        on!(tx, conn => sqlx::query(PUT_TRAIN)
            .bind(train.id.0).bind(formation.id.as_str()).bind(train.by.0)
            .bind(At(train.formed_at)).bind(&body)
            .execute(conn).await.map(drop))?;
        formations.insert(train.id.0, formation.vehicles.clone());
    }
    for (id, vehicles) in formations {
        put_cars_of_train(tx, id, &vehicles).await?;
    }
    Ok(())
}

const TRAINS: &str = "select id, formation from train";

/// The trains that units are in. Reads all trains, which are few, when a unit is formed.
async fn of_units(
    tx: &mut Tx,
    units: &BTreeSet<UnitNumber>,
) -> Result<HashMap<i64, Vec<Vehicle>>, StoreError> {
    let mut formations = HashMap::new();
    if units.is_empty() {
        return Ok(formations);
    }
    let rows: Vec<(i64, String)> = on!(tx, conn => sqlx::query_as(TRAINS).fetch_all(conn).await)?;
    for (id, formation) in rows {
        let vehicles: Vec<Vehicle> = from_json(&formation)?;
        let concerned = |vehicle: &Vehicle| match vehicle {
            Vehicle::Unit(number, _) => units.contains(number),
            Vehicle::Car(..) => false,
        };
        if vehicles.iter().any(concerned) {
            formations.insert(id, vehicles);
        }
    }
    Ok(formations)
}

const CLEAR_CARS: &str = "delete from train_car where train_id = $1";

async fn put_cars_of_train(tx: &mut Tx, id: i64, vehicles: &[Vehicle]) -> Result<(), StoreError> {
    let mut units: HashMap<&UnitNumber, Vec<OrderedCar>> = HashMap::new();
    for vehicle in vehicles {
        if let Vehicle::Unit(number, _) = vehicle {
            units.insert(number, cars_of_unit(tx, number).await?);
        }
    }
    let unit = |number: &UnitNumber| units.get(number).cloned().unwrap_or_default();
    let places = vehicles.iter().flat_map(|vehicle| vehicle.cars(unit));
    let places: Vec<(OrderedCar, i16)> = places.zip(1..).collect();
    on!(tx, conn => sqlx::query(CLEAR_CARS).bind(id).execute(conn).await.map(drop))?;
    on!(tx, conn => {
        let mut query = QueryBuilder::new("insert into train_car (train_id, place, car_number, orientation) ");
        query.push_values(&places, |mut row, (place, number)| {
            row.push_bind(id)
                .push_bind(*number)
                .push_bind(place.car.as_str())
                .push_bind(place.orientation.name());
        });
        query.build().execute(&mut *conn).await.map(drop)
    })?;
    Ok(())
}

async fn cars_of_unit(tx: &mut Tx, number: &UnitNumber) -> Result<Vec<OrderedCar>, StoreError> {
    let rows: Vec<CarRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(CAR_COLUMNS).push(" from car where car.unit_number = ");
        query.push_bind(number.as_str()).push(" order by car.unit_place");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut places = Vec::with_capacity(rows.len());
    for row in rows {
        let record = row.record()?;
        if let Some(membership) = record.unit {
            places.push(OrderedCar {
                car: record.car.number,
                orientation: membership.orientation,
            });
        }
    }
    Ok(places)
}
