//! Keeps checks of the fleet and the answers of cars.

use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::to_json;
use domain::identity::CarNumber;
use domain::ledger::dossier::{Changes, Dossier, FleetCheckRecord};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const PUT: &str = "insert into fleet_check (id, title, instruction, looked_for, answer_by, opened_by, opened_at, cars, unanswered, sought) values ($1, $2, $3, $4, $5, $6, $7, $8, $8, $9)";
const ASK: &str = "insert into fleet_check_car (check_id, car_id) select $1, id from car where number = $2 on conflict (check_id, car_id) do update set answered_by = null, answer = null, remark = null, person = null, looked_at = null";
const ANSWER: &str = "update fleet_check_car set answered_by = $3, answer = $4, remark = $5, person = $6, looked_at = $7 where check_id = $1 and car_id = (select id from car where number = $2)";
const COUNT: &str = "update fleet_check set unanswered = $2, closed_at = $3, closed_by = $4, cars = (select count(*) from fleet_check_car where check_id = $1) where id = $1";

/// Rows of one statement.
const ROWS: usize = 1_000;

/// A check is opened by one statement and one a thousand cars; each answer is one, each car that is
/// asked later is one, and one is for the check.
pub(super) async fn put_fleet_checks(
    tx: &mut Tx,
    dossier: &Dossier,
    changes: &Changes,
) -> Result<(), StoreError> {
    for id in &changes.fleet_checks {
        if let Some(record) = dossier.fleet_checks.get(id) {
            put_opened(tx, dossier, record).await?;
        }
    }
    for (check, car) in &changes.fleet_answers {
        if let Some(record) = dossier.fleet_checks.get(check) {
            put_answer(tx, record, car).await?;
        }
    }
    let counted: BTreeSet<Seq> = changes.fleet_answers.iter().map(|(id, _)| *id).collect();
    for record in counted.iter().filter_map(|id| dossier.fleet_checks.get(id)) {
        on!(tx, conn => sqlx::query(COUNT)
            .bind(record.id.0)
            .bind(i64::from(record.unanswered))
            .bind(record.closed.map(|(at, _)| At(at)))
            .bind(record.closed.map(|(_, by)| by.0))
            .execute(conn).await.map(drop))?;
    }
    Ok(())
}

async fn put_opened(
    tx: &mut Tx,
    dossier: &Dossier,
    record: &FleetCheckRecord,
) -> Result<(), StoreError> {
    let check = &record.check;
    let cars = check.cars.iter().filter_map(|car| dossier.cars.get(car));
    let cars: Vec<i64> = cars.map(|car| car.id.0).collect();
    let sought = check.sought.as_ref().map(to_json).transpose()?;
    on!(tx, conn => sqlx::query(PUT)
        .bind(record.id.0)
        .bind(check.title.as_str())
        .bind(check.instruction.as_str())
        .bind(check.looked_for.as_str())
        .bind(On(check.answer_by))
        .bind(record.by.as_str())
        .bind(At(record.opened_at))
        .bind(i64::try_from(cars.len()).unwrap_or(i64::MAX))
        .bind(sought.as_deref())
        .execute(conn).await.map(drop))?;
    for chunk in cars.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into fleet_check_car (check_id, car_id) ");
            query.push_values(chunk, |mut row, car| {
                row.push_bind(record.id.0).push_bind(*car);
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

async fn put_answer(
    tx: &mut Tx,
    record: &FleetCheckRecord,
    car: &CarNumber,
) -> Result<(), StoreError> {
    let Some(answer) = record.cars.get(car) else {
        return Ok(());
    };
    let Some(answer) = answer else {
        on!(tx, conn => sqlx::query(ASK).bind(record.id.0).bind(car.as_str()).execute(conn).await.map(drop))?;
        return Ok(());
    };
    on!(tx, conn => sqlx::query(ANSWER)
        .bind(record.id.0)
        .bind(car.as_str())
        .bind(answer.entry.0)
        .bind(answer.answer.name())
        .bind(answer.remark.as_str())
        .bind(answer.by.as_str())
        .bind(At(answer.at))
        .execute(conn).await.map(drop))?;
    Ok(())
}
