//! Isolations as kept.

use super::KEYS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::component::PositionRef;
use domain::ledger::dossier::{Dossier, IsolationRecord};
use domain::ledger::entry::Seq;
use domain::ledger::fact::CutOut;
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
    }
);

/// The columns of [`IsolationRow`], from `isolation` and `car`.
pub(crate) const ISOLATION_COLUMNS: &str = "isolation.id, car.number as car, isolation.position, isolation.state, isolation.cause, isolation.since, isolation.not_before, isolation.ended_at, isolation.ended_by";

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
            ended: self
                .ended_at
                .zip(self.ended_by)
                .map(|(at, by)| (at.0, Seq(by))),
        })
    }
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
