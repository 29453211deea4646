//! Which cars are built to which design.

use super::View;
use super::formations::NotFound;
use crate::connect::on;
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::car::{Orientation, Vehicle};
use domain::configuration::car_type::CarType;
use domain::identity::{CarTypeName, Revision};
use domain::isolation::takes::Trial;
use domain::ledger::dossier::CarRecord;
use domain::time::Day;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

row!(DesignRow {
    car_type: String,
    revision: String,
    cars: i64,
});

const DESIGNS: &str = "select car_type, revision, count(*) as cars from car
    group by car_type, revision order by car_type, revision";

impl View {
    /// How many cars there are of each design on a day. One statement, and one more for each
    /// type of which was said from when a revision holds; linear in the cars.
    pub async fn cars_of_designs(
        &mut self,
        on: Day,
    ) -> Result<BTreeMap<(CarTypeName, Revision), i64>, StoreError> {
        let rows: Vec<DesignRow> =
            on!(&mut self.tx, conn => sqlx::query_as(DESIGNS).fetch_all(conn).await)?;
        let mut designs = BTreeMap::new();
        for row in rows {
            designs.insert((parsed(&row.car_type)?, parsed(&row.revision)?), row.cars);
        }
        let names: Vec<CarTypeName> = designs.keys().map(|(name, _)| name).cloned().collect();
        for name in names {
            if self.documents.effectivities(&name).is_empty() {
                continue;
            }
            designs.retain(|(other, _), _| *other != name);
            for car in self.cars_of_type(&name).await? {
                let revision = self.documents.revision(&car.car, on).clone();
                *designs.entry((name.clone(), revision)).or_default() += 1;
            }
        }
        Ok(designs)
    }

    /// All cars of a type, those in units first. Linear in them.
    async fn cars_of_type(&mut self, name: &CarTypeName) -> Result<Vec<CarRecord>, StoreError> {
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS).push(" from car where car_type = ").push_bind(name.as_str());
            query.push(" order by case when unit_number is null then 1 else 0 end, number");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(CarRow::record).collect();
        Ok(records?)
    }

    /// A unit with a car of a design in it on a day, or such a car by itself where none is in a
    /// unit; none where there is no such car. One statement, linear in the cars of the type.
    pub async fn vehicle_of_design(
        &mut self,
        design: &CarType,
        on: Day,
    ) -> Result<Option<Vehicle>, StoreError> {
        let cars = self.cars_of_type(&design.name).await?;
        let of_design =
            |record: &CarRecord| *self.documents.revision(&record.car, on) == design.revision;
        let Some(record) = cars.into_iter().find(of_design) else {
            return Ok(None);
        };
        Ok(Some(match record.unit {
            Some(unit) => Vehicle::Unit(unit.unit, Orientation::Forward),
            None => Vehicle::Car(record.car.number, Orientation::Forward),
        }))
    }

    /// The formation of some units and cars, to try a design in; none of no vehicles. Four
    /// statements.
    pub async fn trial(
        &mut self,
        vehicles: Vec<Vehicle>,
        on: Day,
    ) -> Result<Result<Option<Trial>, NotFound>, StoreError> {
        if vehicles.is_empty() {
            return Ok(Ok(None));
        }
        let cars = self.formation(&vehicles, None).await?;
        let documents = &self.documents;
        Ok(cars.map(|cars| {
            let with_design = cars.into_iter().map(|car| {
                let design = documents.car_type(&car.record.car, on).cloned();
                (car.place, design)
            });
            let cars = with_design.collect();
            Some(Trial { vehicles, cars })
        }))
    }
}
