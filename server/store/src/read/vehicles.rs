//! Which units and cars a formation in words names.

use super::View;
use super::as_known::cars_known;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::car::Vehicle;
use domain::decision::formation::{FormationText, NamedVehicle, Unresolved};
use domain::identity::{CarNumber, UnitNumber};
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

row!(NameRow {
    kind: String,
    name: String
});

impl View {
    /// Which units and cars a text names; of a view of what was known at a time, cars as they were in the
    /// register then. One statement.
    pub async fn vehicles(
        &mut self,
        formation: &FormationText,
    ) -> Result<Result<Vec<Vehicle>, Unresolved>, StoreError> {
        let named = formation.vehicles();
        let units: Vec<UnitNumber> = named.iter().filter_map(NamedVehicle::unit).collect();
        let cars: Vec<CarNumber> = named.iter().filter_map(NamedVehicle::car).collect();
        let rows: Vec<NameRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select 'unit' as kind, number as name from unit where number in (");
            let mut list = query.separated(", ");
            list.push_bind("");
            for unit in &units {
                list.push_bind(unit.as_str());
            }
            query.push(") union all select 'car', car.number");
            cars_known!(query, self.known);
            query.push(" and car.number in (");
            let mut list = query.separated(", ");
            list.push_bind("");
            for car in &cars {
                list.push_bind(car.as_str());
            }
            query.push(")");
            query.build_query_as().fetch_all(conn).await
        })?;
        let (mut units, mut cars) = (BTreeSet::new(), BTreeSet::new());
        for row in rows {
            match row.kind.as_str() {
                "unit" => drop(units.insert(parsed(&row.name)?)),
                _ => drop(cars.insert(parsed(&row.name)?)),
            }
        }
        Ok(named
            .iter()
            .map(|vehicle| vehicle.resolve(&units, &cars))
            .collect())
    }
}
