//! Keeps confirmed checks and decisions.

use super::Write;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::to_json;
use domain::ledger::consequences::VerdictMoved;
use domain::ledger::dossier::{DecisionRecord, Dossier};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const DROP_CHECK: &str = "delete from check_confirmed where id = $1";
const PUT_CHECK: &str = "insert into check_confirmed (id, isolation_id, check_kind, confirmed_by, confirmed_at) values ($1, $2, $3, $4, $5)";

/// Checks are confirmed one at a time, so each is written by itself.
pub(super) async fn put_confirmed(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
    write: Write,
) -> Result<(), StoreError> {
    for id in changed {
        if *id < write.first {
            on!(tx, conn => sqlx::query(DROP_CHECK).bind(id.0).execute(conn).await.map(drop))?;
        }
        if let Some(confirmed) = dossier.confirmed.get(id) {
            on!(tx, conn => sqlx::query(PUT_CHECK)
                .bind(id.0)
                .bind(confirmed.isolation.0)
                .bind(confirmed.check.name())
                .bind(confirmed.person.as_str())
                .bind(At(confirmed.at))
                .execute(conn).await.map(drop))?;
        }
    }
    Ok(())
}

const PUT_DECISION: &str = "insert into decision (id, train, decided_at, recorded_by, body, void_by, void_because) values ($1, $2, $3, $4, $5, $6, $7)
    on conflict (id) do update set void_by = excluded.void_by, void_because = excluded.void_because";

/// Decisions are few; they are written in their order, so that one is void before another about
/// the same train stands.
pub(super) async fn put_decisions(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
    write: Write,
) -> Result<(), StoreError> {
    for decision in changed.iter().filter_map(|id| dossier.decisions.get(id)) {
        let body = to_json(&decision.taken)?;
        on!(tx, conn => sqlx::query(PUT_DECISION)
            .bind(decision.id.0)
            .bind(decision.taken.train.as_str())
            .bind(At(decision.at))
            .bind(decision.recorded_by.as_str())
            .bind(&body)
            .bind(decision.void.map(|void| void.by.0))
            .bind(decision.void.map(|void| void.because.name()))
            .execute(conn).await.map(drop))?;
        if write.first <= decision.id || decision.void.is_none() {
            put_cars(tx, decision).await?;
        }
    }
    Ok(())
}

const TELL_LATE: &str = "update decision set told_late_by = $2 where id = $1";

const TELL_BESIDE: &str =
    "update decision set told_late_by = coalesce(told_late_by, $2) where id = $1";

/// Marks the decisions that an entry found again: that they would find something else, or the same
/// again. One that changes only what is told beside a verdict which others have moved leaves the blame
/// with these. One statement each, and there are few.
pub(crate) async fn put_told_late(
    tx: &mut Tx,
    by: Seq,
    verdicts: &[VerdictMoved],
) -> Result<(), StoreError> {
    for moved in verdicts {
        let tell = if moved.differs() && moved.is_beside_alone() {
            TELL_BESIDE
        } else {
            TELL_LATE
        };
        let by = moved.differs().then_some(by.0);
        on!(tx, conn => sqlx::query(tell)
            .bind(moved.decision.0).bind(by).execute(conn).await.map(drop))?;
    }
    Ok(())
}

async fn put_cars(tx: &mut Tx, decision: &DecisionRecord) -> Result<(), StoreError> {
    let cars = &decision.taken.found.cars;
    on!(tx, conn => {
        let mut query = QueryBuilder::new("insert into decision_car (decision_id, car_number) ");
        query.push_values(cars, |mut row, car| {
            row.push_bind(decision.id.0).push_bind(car.number.as_str());
        });
        query.push(" on conflict (decision_id, car_number) do nothing");
        query.build().execute(&mut *conn).await.map(drop)
    })?;
    Ok(())
}
