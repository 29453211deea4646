//! Visits: those ahead, those that were, one, and which of them will do a modification.

use super::cars::limit;
use super::{AsAt, View};
use crate::column::On;
use crate::connect::on;
use crate::dossier::visits::{VISIT_COLUMNS, VisitRow};
use crate::error::StoreError;
use domain::due::visit::{Visit, VisitRecord};
use domain::identity::{ModificationNumber, UnitNumber, VisitNumber};
use domain::time::Day;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// Visits on one page of the list.
pub const VISITS_PAGE: usize = 100;

impl View {
    /// Visits by the day on which they end, cancelled ones among them: those that end on a day or
    /// later, or after one of that day; perhaps of one unit. One more than a page where there are
    /// more. One statement.
    pub async fn visits(
        &mut self,
        unit: Option<&UnitNumber>,
        (from, after): (Day, Option<&VisitNumber>),
    ) -> Result<Vec<VisitRecord>, StoreError> {
        let rows: Vec<VisitRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(VISIT_COLUMNS).push(" from visit where (visit.goes_on, visit.number) > (");
            query.push_bind(On(from)).push(", ");
            query.push_bind(after.map_or("", |number| number.as_str())).push(")");
            if let Some(unit) = unit {
                query.push(" and visit.unit = ").push_bind(unit.as_str());
            }
            query.push(" order by visit.goes_on, visit.number limit ");
            query.push_bind(limit(VISITS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// The same as they were planned then. Linear in the visits that were ever planned.
    pub async fn visits_then(
        &mut self,
        unit: Option<&UnitNumber>,
        (from, after): (Day, Option<&VisitNumber>),
        as_at: AsAt,
    ) -> Result<Vec<VisitRecord>, StoreError> {
        let mut visits: Vec<VisitRecord> = self.visits_told(as_at).await?.into_values().collect();
        visits.retain(|record| {
            let visit = &record.visit;
            let page = (visit.until, visit.number.as_str());
            (from, after.map_or("", |number| number.as_str())) < page
                && unit.is_none_or(|unit| *unit == visit.unit)
        });
        visits.sort_by(|one, other| {
            let key = |record: &VisitRecord| (record.visit.until, record.visit.number.clone());
            key(one).cmp(&key(other))
        });
        visits.truncate(VISITS_PAGE + 1);
        Ok(visits)
    }

    /// One visit.
    pub async fn visit(&mut self, number: &VisitNumber) -> Result<Option<VisitRecord>, StoreError> {
        let row: Option<VisitRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(VISIT_COLUMNS).push(" from visit where visit.number = ");
            query.push_bind(number.as_str());
            query.build_query_as().fetch_optional(conn).await
        })?;
        Ok(row.as_ref().map(VisitRow::record).transpose()?)
    }

    /// The next visit of each of some units that is to embody a modification and is not over on a
    /// day. One statement, linear in the visits planned for the modification.
    pub(super) async fn visits_embodying(
        &mut self,
        modification: &ModificationNumber,
        (units, on): (&BTreeSet<&UnitNumber>, Day),
    ) -> Result<HashMap<UnitNumber, Visit>, StoreError> {
        if units.is_empty() {
            return Ok(HashMap::new());
        }
        let rows: Vec<VisitRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(VISIT_COLUMNS);
            query.push(" from visit_modification doing join visit on visit.number = doing.visit where doing.modification = ");
            query.push_bind(modification.as_str());
            query.push(" and visit.cancelled_by is null and visit.goes_on >= ").push_bind(On(on));
            query.push(" and visit.unit in (");
            let mut list = query.separated(", ");
            for unit in units {
                list.push_bind(unit.as_str());
            }
            query.push(") order by visit.comes_on, visit.number");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut next = HashMap::new();
        for record in records(&rows)? {
            let unit = record.visit.unit.clone();
            next.entry(unit).or_insert(record.visit);
        }
        Ok(next)
    }
}

fn records(rows: &[VisitRow]) -> Result<Vec<VisitRecord>, StoreError> {
    let records: Result<Vec<_>, sqlx::Error> = rows.iter().map(VisitRow::record).collect();
    Ok(records?)
}
