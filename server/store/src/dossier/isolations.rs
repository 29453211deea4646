//! Isolations as kept.

use super::KEYS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger;
use crate::row::{parsed, row};
use domain::configuration::component::PositionRef;
use domain::ledger::dossier::{Dossier, IsolationRecord};
use domain::ledger::entry::Seq;
use domain::ledger::fact::{CutOut, Fact};
use domain::ledger::touches::Touched;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

row!(
    /// An isolation.
    IsolationRow {
        id: i64,
        car: String,
        position: String,
        state: String,
        cause: String,
        since: At,
        not_before: Option<At>,
        ended_at: Option<At>,
        ended_by: Option<i64>,
        first_since: At,
    }
);

/// The columns of [`IsolationRow`], from `isolation` and `car`. A place is cut out without a break
/// since the first state after the last that a test ended, and not an entry of another state.
pub(crate) const ISOLATION_COLUMNS: &str = "isolation.id, car.number as car, isolation.position, isolation.state, isolation.cause, isolation.since, isolation.not_before, isolation.ended_at, isolation.ended_by, coalesce((select min(earlier.since) from isolation earlier where earlier.car_id = isolation.car_id and earlier.position = isolation.position and earlier.since <= isolation.since and not exists (select 1 from isolation proven where proven.car_id = earlier.car_id and proven.position = earlier.position and proven.since >= earlier.since and proven.id <> isolation.id and proven.ended_at <= isolation.since and not exists (select 1 from isolation later where later.id = proven.ended_by))), isolation.since) as first_since";

impl IsolationRow {
    /// The isolation as the core has it.
    pub(crate) fn record(&self) -> Result<IsolationRecord, sqlx::Error> {
        let at = PositionRef {
            car: parsed(&self.car)?,
            position: parsed(&self.position)?,
        };
        Ok(IsolationRecord {
            id: Seq(self.id),
            cut_out: CutOut {
                at,
                state: parsed(&self.state)?,
                cause: self.cause.clone(),
                not_before: self.not_before.map(|at| at.0),
            },
            since: self.since.0,
            first: self.first_since.0,
            ended: self
                .ended_at
                .zip(self.ended_by)
                .map(|(at, by)| (at.0, Seq(by))),
        })
    }
}

const ENDED_BY: &str = "select ended_by from isolation where id = $1";

/// Loads the entry that ended a cut-out which is corrected, and says that the test is needed which
/// then proved the brake. At most three statements.
pub(super) async fn load_end(
    tx: &mut Tx,
    (dossier, touched): (&mut Dossier, &mut Touched),
    cut_out: Seq,
) -> Result<(), StoreError> {
    let by: Option<Option<i64>> = on!(tx, conn => sqlx::query_scalar(ENDED_BY)
        .bind(cut_out.0).fetch_optional(conn).await)?;
    let Some(by) = by.flatten() else {
        return Ok(());
    };
    if let Some((entry, _)) = ledger::read_one(tx, Seq(by)).await?
        && let Fact::IsolationEnded { proved_by, .. } = &entry.fact
    {
        touched.tests.insert(proved_by.clone());
        dossier.proved.push(entry);
    }
    Ok(())
}

/// Loads all isolations of positions.
pub(super) async fn load_isolations(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &BTreeSet<PositionRef>,
) -> Result<(), StoreError> {
    let wanted: Vec<&PositionRef> = wanted.iter().collect();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<IsolationRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (car, position) as (");
            query.push_values(chunk, |mut row, at| {
                row.push_bind(at.car.as_str()).push_bind(at.position.as_str());
            });
            query.push(") select ").push(ISOLATION_COLUMNS);
            query.push(" from wanted cross join car cross join isolation where car.number = wanted.car and isolation.car_id = car.id and isolation.position = wanted.position order by isolation.since, isolation.id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            dossier
                .isolations
                .entry(record.cut_out.at.clone())
                .or_default()
                .push(record);
        }
    }
    Ok(())
}
