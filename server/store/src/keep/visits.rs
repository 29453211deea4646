//! Keeps visits.

use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::due::visit::VisitRecord;
use domain::identity::VisitNumber;
use domain::ledger::dossier::Dossier;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const PUT: &str = "insert into visit (number, unit, depot, comes_on, goes_on, hours, planned_by, cancelled_by) values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict (number) do update set unit = excluded.unit, depot = excluded.depot, comes_on = excluded.comes_on, goes_on = excluded.goes_on, hours = excluded.hours, planned_by = excluded.planned_by, cancelled_by = excluded.cancelled_by";
const CLEAR: &str = "delete from visit_modification where visit = $1";

/// At most three statements a visit.
pub(super) async fn put_visits(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<VisitNumber>,
) -> Result<(), StoreError> {
    for record in changed
        .iter()
        .filter_map(|number| dossier.visits.get(number))
    {
        put(tx, record).await?;
    }
    Ok(())
}

async fn put(tx: &mut Tx, record: &VisitRecord) -> Result<(), StoreError> {
    let visit = &record.visit;
    let number = visit.number.as_str();
    on!(tx, conn => sqlx::query(PUT)
        .bind(number)
        .bind(visit.unit.as_str())
        .bind(visit.depot.as_str())
        .bind(On(visit.from))
        .bind(On(visit.until))
        .bind(i64::from(u32::from(visit.hours)))
        .bind(record.by.0)
        .bind(record.cancelled_by.map(|by| by.0))
        .execute(conn).await.map(drop))?;
    on!(tx, conn => sqlx::query(CLEAR).bind(number).execute(conn).await.map(drop))?;
    if visit.modifications.is_empty() {
        return Ok(());
    }
    on!(tx, conn => {
        let mut query = QueryBuilder::new("insert into visit_modification (visit, modification) ");
        query.push_values(&visit.modifications, |mut row, modification| {
            row.push_bind(number).push_bind(modification.as_str());
        });
        query.build().execute(conn).await.map(drop)
    })?;
    Ok(())
}
