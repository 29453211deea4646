//! Cars, units and trains as kept.

use super::KEYS;
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, parsed_option, row};
use domain::configuration::car::{Car, OrderedCar, Train, Unit};
use domain::identity::{CarNumber, TrainId};
use domain::ledger::dossier::{CarRecord, Dossier, Formed, Membership};
use domain::ledger::entry::Seq;
use domain::ledger::touches::Touched;
use domain::time::Instant;
use domain::vehicle_number::VehicleNumber;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

row!(
    /// A car.
    CarRow {
        id: i64,
        number: String,
        vehicle_number: Option<String>,
        car_type: String,
        revision: String,
        fleet: String,
        depot: String,
        entered_service_on: Option<On>,
        unit_number: Option<String>,
        unit_place: Option<i16>,
        unit_orientation: Option<String>,
        registered_by: Option<i64>,
        registered_at: Option<At>,
        there_since: Option<At>,
    }
);

/// The columns of [`CarRow`].
pub(crate) const CAR_COLUMNS: &str = "car.id, car.number, car.vehicle_number, car.car_type, car.revision, car.fleet, car.depot, car.entered_service_on, car.unit_number, car.unit_place, car.unit_orientation, car.registered_by, car.registered_at, car.there_since";

impl CarRow {
    /// Whether it is a row of the same car as another.
    pub(crate) fn is_same(&self, other: &Self) -> bool {
        self.id == other.id
    }

    /// The car as the core has it.
    pub(crate) fn record(&self) -> Result<CarRecord, sqlx::Error> {
        let unit = match (&self.unit_number, self.unit_place, &self.unit_orientation) {
            (Some(unit), Some(place), Some(orientation)) => Some(Membership {
                unit: parsed(unit)?,
                place: u16::try_from(place).unwrap_or_default(),
                orientation: parsed(orientation)?,
            }),
            _ => None,
        };
        let car = Car {
            number: parsed(&self.number)?,
            vehicle_number: parsed_option(self.vehicle_number.as_deref())?,
            car_type: parsed(&self.car_type)?,
            revision: parsed(&self.revision)?,
            fleet: parsed(&self.fleet)?,
            depot: parsed(&self.depot)?,
            entered_service_on: self.entered_service_on.map(|on| on.0),
        };
        // Of a car that an older server brought in, nothing is held against its time.
        let time = |at: Option<At>| at.map_or(Instant::EARLIEST, |at| at.0);
        Ok(CarRecord {
            id: Seq(self.id),
            car,
            registered_at: time(self.registered_at),
            registered_by: Seq(self.registered_by.unwrap_or(self.id)),
            there_since: time(self.there_since),
            unit,
        })
    }
}

/// Loads the cars of these numbers.
pub(super) async fn load_cars(
    tx: &mut Tx,
    dossier: &mut Dossier,
    numbers: &BTreeSet<CarNumber>,
) -> Result<(), StoreError> {
    let numbers: Vec<&CarNumber> = numbers.iter().collect();
    for chunk in numbers.chunks(KEYS) {
        let rows: Vec<CarRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number) as (");
            query.push_values(chunk, |mut row, number| {
                row.push_bind(number.as_str());
            });
            query.push(") select ").push(CAR_COLUMNS);
            query.push(" from wanted cross join car where car.number = wanted.number");
            query.build_query_as().fetch_all(conn).await
        })?;
        put(dossier, &rows)?;
    }
    Ok(())
}

fn put(dossier: &mut Dossier, rows: &[CarRow]) -> Result<(), StoreError> {
    for row in rows {
        let record = row.record()?;
        dossier.cars.insert(record.car.number.clone(), record);
    }
    Ok(())
}

/// Loads the cars that bear some vehicle numbers.
pub(super) async fn load_bearing(
    tx: &mut Tx,
    dossier: &mut Dossier,
    numbers: &BTreeSet<VehicleNumber>,
) -> Result<(), StoreError> {
    let numbers: Vec<String> = numbers.iter().map(VehicleNumber::to_string).collect();
    for chunk in numbers.chunks(KEYS) {
        let rows: Vec<CarRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (vehicle_number) as (");
            query.push_values(chunk, |mut row, number| {
                row.push_bind(number.as_str());
            });
            query.push(") select ").push(CAR_COLUMNS);
            query.push(" from wanted cross join car where car.vehicle_number = wanted.vehicle_number");
            query.build_query_as().fetch_all(conn).await
        })?;
        put(dossier, &rows)?;
    }
    Ok(())
}

row!(UnitRow {
    id: i64,
    number: String,
    formed_by: i64,
    formed_at: At
});

/// Loads units with their cars; the cars are touched with them.
pub(super) async fn load_units(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &mut Touched,
) -> Result<(), StoreError> {
    let numbers: Vec<_> = touched.units.iter().cloned().collect();
    for chunk in numbers.chunks(KEYS) {
        let rows: Vec<UnitRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number) as (");
            query.push_values(chunk, |mut row, number| {
                row.push_bind(number.as_str());
            });
            query.push(") select unit.id, unit.number, unit.formed_by, unit.formed_at from wanted cross join unit where unit.number = wanted.number");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let formation = Unit {
                number: parsed(&row.number)?,
                cars: Vec::new(),
            };
            let (id, by, formed_at) = (Seq(row.id), Seq(row.formed_by), row.formed_at.0);
            let formed = Formed {
                id,
                by,
                formed_at,
                formation,
            };
            dossier
                .units
                .insert(formed.formation.number.clone(), formed);
        }
        let cars: Vec<CarRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number) as (");
            query.push_values(chunk, |mut row, number| {
                row.push_bind(number.as_str());
            });
            query.push(") select ").push(CAR_COLUMNS);
            query.push(" from wanted cross join car where car.unit_number = wanted.number order by car.unit_number, car.unit_place");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in cars {
            let record = row.record()?;
            let Some(membership) = &record.unit else {
                continue;
            };
            if let Some(unit) = dossier.units.get_mut(&membership.unit) {
                let (car, orientation) = (record.car.number.clone(), membership.orientation);
                unit.formation.cars.push(OrderedCar { car, orientation });
            }
            touched.cars.insert(record.car.number);
        }
    }
    Ok(())
}

row!(TrainRow {
    id: i64,
    name: String,
    formed_by: i64,
    formed_at: At,
    formation: String
});

const TRAIN: &str = "select id, name, formed_by, formed_at, formation from train where name = $1";

/// Loads trains; a command touches one at most, an import few.
pub(super) async fn load_trains(
    tx: &mut Tx,
    dossier: &mut Dossier,
    names: &BTreeSet<TrainId>,
) -> Result<(), StoreError> {
    for name in names {
        let row: Option<TrainRow> =
            on!(tx, conn => sqlx::query_as(TRAIN).bind(name.as_str()).fetch_optional(conn).await)?;
        if let Some(row) = row {
            let formation = Train {
                id: parsed(&row.name)?,
                vehicles: from_json(&row.formation)?,
            };
            let (id, by, formed_at) = (Seq(row.id), Seq(row.formed_by), row.formed_at.0);
            let formed = Formed {
                id,
                by,
                formed_at,
                formation,
            };
            dossier.trains.insert(name.clone(), formed);
        }
    }
    Ok(())
}
