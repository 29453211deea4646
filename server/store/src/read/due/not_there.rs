//! Whether the places that a list is narrowed to are in the register at all: nothing due on a car
//! and no such car are two answers.

use super::DueFilter;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use domain::identity::{CarNumber, DepotName, FleetName, UnitNumber};
use sqlx::QueryBuilder;

const FLEET: &str = " union all select 'fleet' where exists (select 1 from car where fleet = ";
const DEPOT: &str = " union all select 'depot' where exists (select 1 from car where depot = ";
const UNIT: &str = " union all select 'unit' where exists (select 1 from unit where number = ";
const CAR: &str = " union all select 'car' where exists (select 1 from car where number = ";

impl View {
    /// Which fields of a filter name what is not in the register. One statement, with one lookup
    /// for each field but the part, which is in memory.
    pub async fn not_there(&mut self, filter: &DueFilter) -> Result<Vec<&'static str>, StoreError> {
        let fleet = filter.fleet.as_ref().map(FleetName::as_str);
        let depot = filter.depot.as_ref().map(DepotName::as_str);
        let unit = filter.unit.as_ref().map(UnitNumber::as_str);
        let car = filter.car.as_ref().map(CarNumber::as_str);
        let named = [
            ("fleet", FLEET, fleet),
            ("depot", DEPOT, depot),
            ("unit", UNIT, unit),
            ("car", CAR, car),
        ];
        let named: Vec<_> = named
            .into_iter()
            .filter_map(|(field, there, name)| Some((field, there, name?)))
            .collect();
        let part = filter.part.as_ref();
        let known = |part| self.documents.parts.contains_key(part);
        let mut missing: Vec<&str> = part
            .into_iter()
            .filter(|part| !known(part))
            .map(|_| "part")
            .collect();
        if named.is_empty() {
            return Ok(missing);
        }
        let there: Vec<String> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select '' as field where 1 = 0");
            for (_, there, name) in &named {
                query.push(there).push_bind(*name).push(")");
            }
            query.build_query_scalar().fetch_all(conn).await
        })?;
        let absent = |field: &&str| !there.iter().any(|found| found == field);
        missing.extend(named.iter().map(|(field, ..)| *field).filter(absent));
        Ok(missing)
    }
}
