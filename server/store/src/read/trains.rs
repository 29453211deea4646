//! Trains, and the formation of any train as a decision needs it.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row};
use domain::configuration::car::{OrderedCar, Train, Vehicle};
use domain::identity::{CarNumber, PositionCode, TrainId, UnitNumber};
use domain::ledger::dossier::{CarRecord, Formed, IsolationRecord, Membership};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// A car in a train, with what a decision needs of it.
#[derive(Debug, Clone)]
pub struct CarInTrain {
    /// Its place and orientation.
    pub place: OrderedCar,
    /// Itself.
    pub record: CarRecord,
    /// The positions that hold a component.
    pub filled: BTreeSet<PositionCode>,
    /// The cut-outs in force on it.
    pub isolations: Vec<IsolationRecord>,
}

/// Why a formation cannot be looked up.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotFound {
    /// No such unit.
    #[error("unit {0} is not in the register")]
    Unit(UnitNumber),
    /// No such car.
    #[error("car {0} is not in the register")]
    Car(CarNumber),
}

row!(TrainRow {
    id: i64,
    name: String,
    formed_by: i64,
    formed_at: At,
    formation: String
});

impl TrainRow {
    fn train(&self) -> Result<Formed<Train>, sqlx::Error> {
        let formation = Train {
            id: parsed(&self.name)?,
            vehicles: from_json(&self.formation)?,
        };
        let (id, by) = (Seq(self.id), Seq(self.formed_by));
        Ok(Formed {
            id,
            by,
            formed_at: self.formed_at.0,
            formation,
        })
    }
}

const TRAINS: &str =
    "select id, name, formed_by, formed_at, formation from train order by name limit $1";
const TRAIN: &str = "select id, name, formed_by, formed_at, formation from train where name = $1";
/// The most trains that a list shows.
const TRAINS_MAX: i64 = 500;

row!(FilledRow {
    car: String,
    position: String
});

impl View {
    /// All trains by name.
    pub async fn trains(&mut self) -> Result<Vec<Formed<Train>>, StoreError> {
        let rows: Vec<TrainRow> = on!(&mut self.tx, conn => sqlx::query_as(TRAINS).bind(TRAINS_MAX).fetch_all(conn).await)?;
        let trains: Result<Vec<_>, _> = rows.iter().map(TrainRow::train).collect();
        Ok(trains?)
    }

    /// One train.
    pub async fn train(&mut self, id: &TrainId) -> Result<Option<Formed<Train>>, StoreError> {
        let row: Option<TrainRow> = on!(&mut self.tx, conn => sqlx::query_as(TRAIN).bind(id.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.train()).transpose()?)
    }

    /// The cars of a formation in order, with what is fitted and what is cut out: four
    /// statements, linear in the cars. Units are as they are formed now.
    pub async fn formation(
        &mut self,
        vehicles: &[Vehicle],
    ) -> Result<Result<Vec<CarInTrain>, NotFound>, StoreError> {
        let units = self.units_of(vehicles).await?;
        let mut places = Vec::new();
        for vehicle in vehicles {
            let cars = vehicle.cars(|number| units.get(number).cloned().unwrap_or_default());
            if let (true, Vehicle::Unit(number, _)) = (cars.is_empty(), vehicle) {
                return Ok(Err(NotFound::Unit(number.clone())));
            }
            places.extend(cars);
        }
        let numbers: Vec<CarNumber> = places.iter().map(|place| place.car.clone()).collect();
        if numbers.is_empty() {
            return Ok(Ok(Vec::new()));
        }
        let mut records = self.cars_of(&numbers).await?;
        let mut filled = self.filled(&numbers).await?;
        let isolations = self.in_force_on(&numbers).await?;
        let mut cars = Vec::with_capacity(places.len());
        for place in places {
            let Some(record) = records.remove(&place.car) else {
                return Ok(Err(NotFound::Car(place.car)));
            };
            let of_car = isolations
                .iter()
                .filter(|other| other.cut_out.at.car == place.car);
            cars.push(CarInTrain {
                record,
                filled: filled.remove(&place.car).unwrap_or_default(),
                isolations: of_car.cloned().collect(),
                place,
            });
        }
        Ok(Ok(cars))
    }

    async fn units_of(
        &mut self,
        vehicles: &[Vehicle],
    ) -> Result<HashMap<UnitNumber, Vec<OrderedCar>>, StoreError> {
        let numbers: Vec<&UnitNumber> = vehicles
            .iter()
            .filter_map(|vehicle| match vehicle {
                Vehicle::Unit(number, _) => Some(number),
                Vehicle::Car(..) => None,
            })
            .collect();
        let mut units: HashMap<UnitNumber, Vec<OrderedCar>> = HashMap::new();
        if numbers.is_empty() {
            return Ok(units);
        }
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS).push(" from car where car.unit_number in (");
            let mut list = query.separated(", ");
            for number in &numbers {
                list.push_bind(number.as_str());
            }
            query.push(") order by car.unit_number, car.unit_place");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            if let Some(Membership {
                unit, orientation, ..
            }) = record.unit
            {
                let place = OrderedCar {
                    car: record.car.number,
                    orientation,
                };
                units.entry(unit).or_default().push(place);
            }
        }
        Ok(units)
    }

    async fn cars_of(
        &mut self,
        numbers: &[CarNumber],
    ) -> Result<HashMap<CarNumber, CarRecord>, StoreError> {
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS).push(" from car where car.number in (");
            let mut list = query.separated(", ");
            for number in numbers {
                list.push_bind(number.as_str());
            }
            query.push(")");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut records = HashMap::new();
        for row in rows {
            let record = row.record()?;
            records.insert(record.car.number.clone(), record);
        }
        Ok(records)
    }

    async fn filled(
        &mut self,
        numbers: &[CarNumber],
    ) -> Result<HashMap<CarNumber, BTreeSet<PositionCode>>, StoreError> {
        let rows: Vec<FilledRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.number as car, fitment.position from car join fitment on fitment.car_id = car.id where fitment.until_at is null and fitment.known_until is null and car.number in (");
            let mut list = query.separated(", ");
            for number in numbers {
                list.push_bind(number.as_str());
            }
            query.push(")");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut filled: HashMap<CarNumber, BTreeSet<PositionCode>> = HashMap::new();
        for row in rows {
            filled
                .entry(parsed(&row.car)?)
                .or_default()
                .insert(parsed(&row.position)?);
        }
        Ok(filled)
    }
}
