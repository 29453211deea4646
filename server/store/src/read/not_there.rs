//! Whether the places that a list is narrowed to are in the register at all: nothing due on a car
//! and no such car are two answers.

use super::as_known::cars_known;
use super::departures::DepartureFilter;
use super::due::DueFilter;
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::{AsAt, View};
use domain::identity::{CarNumber, DepotName, FleetName, PartNumber, UnitNumber};
use sqlx::QueryBuilder;

const FLEET: &str = " union all select 'fleet' where exists (select 1";
const DEPOT: &str = " union all select 'depot' where exists (select 1";
const UNIT: &str = " union all select 'unit' where exists (select 1";
const CAR: &str = " union all select 'car' where exists (select 1";

/// The places and the part that a question names.
#[derive(Debug, Clone, Copy, Default)]
pub struct Named<'a> {
    /// A fleet.
    pub fleet: Option<&'a FleetName>,
    /// A depot.
    pub depot: Option<&'a DepotName>,
    /// A unit.
    pub unit: Option<&'a UnitNumber>,
    /// A car.
    pub car: Option<&'a CarNumber>,
    /// A part.
    pub part: Option<&'a PartNumber>,
}

impl DueFilter {
    /// What it names.
    pub fn named(&self) -> Named<'_> {
        Named {
            fleet: self.fleet.as_ref(),
            depot: self.depot.as_ref(),
            unit: self.unit.as_ref(),
            car: self.car.as_ref(),
            part: self.part.as_ref(),
        }
    }
}

impl DepartureFilter {
    /// What it names.
    pub fn named(&self) -> Named<'_> {
        Named {
            fleet: self.fleet.as_ref(),
            depot: self.depot.as_ref(),
            unit: self.unit.as_ref(),
            car: self.car.as_ref(),
            part: None,
        }
    }
}

impl Named<'_> {
    /// What one of its fields names; nothing where it names nothing.
    pub fn name(&self, field: &str) -> &str {
        let named = match field {
            "fleet" => self.fleet.map(FleetName::as_str),
            "depot" => self.depot.map(DepotName::as_str),
            "unit" => self.unit.map(UnitNumber::as_str),
            "car" => self.car.map(CarNumber::as_str),
            _ => self.part.map(PartNumber::as_str),
        };
        named.unwrap_or("")
    }
}

/// The column of a car by which a field names it.
fn column(field: &str) -> &str {
    if field == "car" { "number" } else { field }
}

impl View {
    /// Whether any car was in the register then: of an earlier time it has nothing to tell. Two statements
    /// at most, which end at the first car that was.
    pub async fn had_cars(&mut self, as_at: AsAt) -> Result<bool, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let one: Option<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.id ");
            cars_known!(query, Some(last));
            query.push(" and car.id <= ").push_bind(last.0);
            query.push(" and (car.there_since is null or car.there_since <= ");
            query.push_bind(At(as_at.effective)).push(") limit 1");
            query.build_query_scalar().fetch_optional(conn).await
        })?;
        Ok(one.is_some())
    }

    /// Which fields of a question name what is not in the register, or was not then. One statement,
    /// with one lookup for each field but the part, which is in memory.
    pub async fn not_there(&mut self, named: Named<'_>) -> Result<Vec<&'static str>, StoreError> {
        let fleet = named.fleet.map(FleetName::as_str);
        let depot = named.depot.map(DepotName::as_str);
        let unit = named.unit.map(UnitNumber::as_str);
        let car = named.car.map(CarNumber::as_str);
        let part = named.part;
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
            for (field, there, name) in &named {
                query.push(there);
                if *field == "unit" {
                    query.push(" from unit where unit.number = ");
                } else {
                    cars_known!(query, self.known);
                    query.push(" and car.").push(column(field)).push(" = ");
                }
                query.push_bind(*name).push(")");
            }
            query.build_query_scalar().fetch_all(conn).await
        })?;
        let absent = |field: &&str| !there.iter().any(|found| found == field);
        missing.extend(named.iter().map(|(field, ..)| *field).filter(absent));
        Ok(missing)
    }
}
