//! Keeps readings and replacements of meters.

use super::ROWS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::meters::number;
use crate::error::StoreError;
use domain::identity::CarNumber;
use domain::ledger::dossier::{Dossier, MeterRecord};
use domain::time::Instant;
use domain::units::Meter;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

type Keys = BTreeSet<(CarNumber, Meter, Instant)>;

fn car_id(dossier: &Dossier, car: &CarNumber) -> Option<i64> {
    dossier.cars.get(car).map(|car| car.id.0)
}

fn record<'a>(dossier: &'a Dossier, car: &CarNumber, meter: Meter) -> Option<&'a MeterRecord> {
    dossier.meters.get(&(car.clone(), meter))
}

const DROP_READING: &str = "delete from reading where car_id = $1 and meter = $2 and taken_at = $3";

pub(super) async fn put_readings(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &Keys,
) -> Result<(), StoreError> {
    let mut rows = Vec::with_capacity(changed.len());
    for (car, meter, at) in changed {
        let Some(id) = car_id(dossier, car) else {
            continue;
        };
        match record(dossier, car, *meter).and_then(|record| record.readings.get(at)) {
            Some(reading) => rows.push((id, number(*meter), reading)),
            None => on!(tx, conn => sqlx::query(DROP_READING)
                .bind(id).bind(number(*meter)).bind(At(*at))
                .execute(conn).await.map(drop))?,
        }
    }
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into reading (car_id, meter, taken_at, shown, recorded_by) ");
            query.push_values(chunk, |mut row, (id, meter, reading)| {
                row.push_bind(*id)
                    .push_bind(*meter)
                    .push_bind(At(reading.at))
                    .push_bind(reading.value.0)
                    .push_bind(reading.by.0);
            });
            query.push(" on conflict (car_id, meter, taken_at) do update set shown = excluded.shown, recorded_by = excluded.recorded_by");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

const DROP_REPLACEMENT: &str =
    "delete from meter_replacement where car_id = $1 and meter = $2 and replaced_at = $3";
const PUT_REPLACEMENT: &str = "insert into meter_replacement (car_id, meter, replaced_at, last_shown, first_shown, recorded_by) values ($1, $2, $3, $4, $5, $6)
    on conflict (car_id, meter, replaced_at) do update set last_shown = excluded.last_shown, first_shown = excluded.first_shown, recorded_by = excluded.recorded_by";

/// Replacements are rare, so each is written by itself.
pub(super) async fn put_replacements(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &Keys,
) -> Result<(), StoreError> {
    for (car, meter, at) in changed {
        let Some(id) = car_id(dossier, car) else {
            continue;
        };
        let kept = record(dossier, car, *meter).and_then(|record| record.replacements.get(at));
        match kept {
            Some(kept) => on!(tx, conn => sqlx::query(PUT_REPLACEMENT)
                .bind(id).bind(number(*meter)).bind(At(*at))
                .bind(kept.last_value.0).bind(kept.first_value.0).bind(kept.by.0)
                .execute(conn).await.map(drop))?,
            None => on!(tx, conn => sqlx::query(DROP_REPLACEMENT)
                .bind(id).bind(number(*meter)).bind(At(*at))
                .execute(conn).await.map(drop))?,
        }
    }
    Ok(())
}
