//! What was touched on cars, as it holds now: what came and went, settings, cut-outs that ended and
//! units that were formed.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row};
use crate::shape::padded;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::obligations::{Touch, WorkDone, put_in_order};
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::HashMap;

row!(TouchRow {
    car_id: i64,
    work: String,
    position: String,
    touched_at: At,
    touched_by: i64,
    body: String,
});

/// What was touched on some cars, each since a moment, by the numbers of the cars and in order. One
/// statement, none where nothing is asked; linear in all that was ever fitted to the cars.
pub(crate) async fn load(
    tx: &mut Tx,
    wanted: &[(i64, Instant)],
) -> Result<HashMap<i64, Vec<Touch>>, StoreError> {
    if wanted.is_empty() {
        return Ok(HashMap::new());
    }
    let rows: Vec<TouchRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("with asked (car_id, since) as (");
        query.push_values(padded(wanted), |mut row, car| {
            row.push_bind(car.map(|(id, _)| *id)).push_bind(car.map(|(_, since)| At(*since)));
        });
        query.push(") select fitment.car_id, 'exchanged' as work, fitment.position, fitment.from_at as touched_at, fitment.fitted_by as touched_by, '' as body from asked cross join fitment where fitment.car_id = asked.car_id and fitment.known_until is null and fitment.from_at >= asked.since
            union all select fitment.car_id, 'exchanged', fitment.position, fitment.until_at, fitment.removed_by, '' from asked cross join fitment where fitment.car_id = asked.car_id and fitment.known_until is null and fitment.until_at >= asked.since
            union all select setting.car_id, 'set', setting.position, setting.since, setting.id, '' from asked cross join setting where setting.car_id = asked.car_id and setting.known_until is null and setting.how = 'made' and setting.since >= asked.since
            union all select isolation.car_id, 'cut_out_ended', isolation.position, isolation.ended_at, isolation.ended_by, ledger.body from asked cross join isolation cross join ledger where isolation.car_id = asked.car_id and ledger.seq = isolation.ended_by and isolation.ended_at >= asked.since
            union all select car.id, 'coupled', '', unit.formed_at, unit.formed_by, '' from asked cross join car cross join unit where car.id = asked.car_id and unit.number = car.unit_number and unit.formed_at >= asked.since");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut touches: HashMap<i64, Vec<Touch>> = HashMap::new();
    for row in &rows {
        let Some(work) = row.work()? else { continue };
        touches.entry(row.car_id).or_default().push(Touch {
            at: row.touched_at.0,
            by: Seq(row.touched_by),
            work,
        });
    }
    for touched in touches.values_mut() {
        put_in_order(touched);
    }
    Ok(touches)
}

impl TouchRow {
    fn work(&self) -> Result<Option<WorkDone>, sqlx::Error> {
        Ok(match self.work.as_str() {
            "exchanged" => Some(WorkDone::Exchanged(parsed(&self.position)?)),
            "set" => Some(WorkDone::Set(parsed(&self.position)?)),
            "coupled" => Some(WorkDone::Coupled),
            _ => cut_out_ended(&self.position, &self.body)?,
        })
    }
}

/// That the cut-out of a place ended, by the body of the entry that says so.
pub(crate) fn cut_out_ended(position: &str, body: &str) -> Result<Option<WorkDone>, sqlx::Error> {
    let fact: Fact = from_json(body)?;
    let Fact::IsolationEnded { proved_by, .. } = fact else {
        return Ok(None);
    };
    let work = WorkDone::CutOutEnded(parsed(position)?, proved_by);
    Ok(Some(work))
}
