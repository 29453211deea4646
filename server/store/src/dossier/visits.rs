//! Visits as kept.

use super::KEYS;
use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::due::visit::{Visit, VisitRecord};
use domain::identity::{DepotName, UnitNumber, VisitNumber};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::ledger::touches::Touched;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

row!(
    /// A visit, with the numbers of its modifications one a line.
    VisitRow {
        number: String,
        unit: String,
        depot: String,
        comes_on: On,
        goes_on: On,
        hours: i64,
        planned_by: i64,
        cancelled_by: Option<i64>,
        modifications: Option<String>,
    }
);

/// The columns of [`VisitRow`]. No number holds a line's end.
pub(crate) const VISIT_COLUMNS: &str = "visit.number, visit.unit, visit.depot, visit.comes_on, visit.goes_on, visit.hours, visit.planned_by, visit.cancelled_by, (select string_agg(visit_modification.modification, '\n') from visit_modification where visit_modification.visit = visit.number) as modifications";

impl VisitRow {
    /// The visit as the core has it.
    pub(crate) fn record(&self) -> Result<VisitRecord, sqlx::Error> {
        let modifications = self.modifications.as_deref().unwrap_or_default();
        let modifications: Result<BTreeSet<_>, sqlx::Error> =
            modifications.lines().map(parsed).collect();
        Ok(VisitRecord {
            visit: Visit {
                number: parsed(&self.number)?,
                unit: parsed(&self.unit)?,
                depot: parsed(&self.depot)?,
                from: self.comes_on.0,
                until: self.goes_on.0,
                hours: parsed(&self.hours.to_string())?,
                modifications: modifications?,
                in_place_of: None,
            },
            by: Seq(self.planned_by),
            cancelled_by: self.cancelled_by.map(Seq),
        })
    }
}

/// Steps through the index by fleet and depot from each fleet to the next.
const IS_DEPOT: &str = "with recursive at_fleet (name) as (
    select min(car.fleet) from car
    union all
    select (select min(car.fleet) from car where car.fleet > at_fleet.name)
    from at_fleet where at_fleet.name is not null
) select count(*) from at_fleet
where exists (select 1 from car where car.fleet = at_fleet.name and car.depot = $1)";

/// Tells at which of the touched depots cars are at home: a statement for each, of which there are few.
pub(super) async fn load_depots(
    tx: &mut Tx,
    dossier: &mut Dossier,
    depots: &BTreeSet<DepotName>,
) -> Result<(), StoreError> {
    for depot in depots {
        let fleets: i64 = on!(tx, conn => {
            sqlx::query_scalar(IS_DEPOT).bind(depot.as_str()).fetch_one(&mut *conn).await
        })?;
        if fleets != 0 {
            dossier.depots.insert(depot.clone());
        }
    }
    Ok(())
}

/// Loads visits, and all that stand for units: a statement for each of both where any is touched.
pub(super) async fn load_visits(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
) -> Result<(), StoreError> {
    let visits: Vec<&VisitNumber> = touched.visits.iter().collect();
    for chunk in visits.chunks(KEYS) {
        let rows: Vec<VisitRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(VISIT_COLUMNS).push(" from visit where visit.number in (");
            let mut list = query.separated(", ");
            for number in padded(chunk) {
                list.push_bind(number.map(|number| number.as_str()));
            }
            query.push(")");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        keep(dossier, &rows)?;
    }
    let units: Vec<&UnitNumber> = touched.visiting.iter().collect();
    for chunk in units.chunks(KEYS) {
        let rows: Vec<VisitRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(VISIT_COLUMNS);
            query.push(" from visit where visit.cancelled_by is null and visit.unit in (");
            let mut list = query.separated(", ");
            for unit in padded(chunk) {
                list.push_bind(unit.map(|unit| unit.as_str()));
            }
            query.push(")");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        keep(dossier, &rows)?;
    }
    Ok(())
}

fn keep(dossier: &mut Dossier, rows: &[VisitRow]) -> Result<(), StoreError> {
    for row in rows {
        let record = row.record()?;
        dossier.visits.insert(record.visit.number.clone(), record);
    }
    Ok(())
}
