//! Meters as kept: readings and replacements.

use super::KEYS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::identity::CarNumber;
use domain::ledger::dossier::{Dossier, ReadingRecord, ReplacementRecord};
use domain::ledger::entry::Seq;
use domain::time::Instant;
use domain::units::{Amount, Meter};
use domain::usage::rate::RATE_DAYS;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

row!(
    /// What a meter showed: a reading, or the last value of a meter that was replaced with the
    /// first of the one after it.
    ShownRow {
        car: String,
        meter: i16,
        shown_at: At,
        shown: i64,
        first_shown: Option<i64>,
        recorded_by: i64,
    }
);

/// Readings as such rows.
pub(crate) const READINGS: &str = "select car.number as car, reading.meter, reading.taken_at as shown_at, reading.shown, cast(null as BIGINT) as first_shown, reading.recorded_by ";
/// Replacements as such rows, after readings.
pub(crate) const AND_REPLACEMENTS: &str = " union all select car.number as car, meter_replacement.meter, meter_replacement.replaced_at as shown_at, meter_replacement.last_shown as shown, meter_replacement.first_shown, meter_replacement.recorded_by ";

/// The number of a meter in its columns.
pub(crate) fn number(meter: Meter) -> i16 {
    match meter {
        Meter::Odometer => 0,
        Meter::RunningHours => 1,
        Meter::CompressorHours => 2,
    }
}

/// The meter of a number.
pub(crate) fn meter(number: i16) -> Result<Meter, sqlx::Error> {
    usize::try_from(number)
        .ok()
        .and_then(|place| Meter::ALL.get(place))
        .copied()
        .ok_or_else(|| sqlx::Error::Decode(format!("no meter has number {number}").into()))
}

/// Loads meters, each with all its replacements and with its readings from the last one before
/// the given moment on.
pub(super) async fn load_meters(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &BTreeMap<(CarNumber, Meter), Instant>,
) -> Result<(), StoreError> {
    let wanted: Vec<(&(CarNumber, Meter), &Instant)> = wanted.iter().collect();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<ShownRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number, meter, earliest) as (");
            query.push_values(chunk, |mut row, ((car, meter), earliest)| {
                row.push_bind(car.as_str()).push_bind(number(*meter)).push_bind(At(**earliest));
            });
            query.push(") ").push(READINGS).push("from wanted cross join car cross join reading where car.number = wanted.number and reading.car_id = car.id and reading.meter = wanted.meter
                and reading.taken_at >= coalesce((select max(other.taken_at) from reading other
                    where other.car_id = car.id and other.meter = wanted.meter
                    and other.taken_at < wanted.earliest), wanted.earliest)");
            query.push(AND_REPLACEMENTS).push("from wanted cross join car cross join meter_replacement where car.number = wanted.number and meter_replacement.car_id = car.id and meter_replacement.meter = wanted.meter");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        put(dossier, &rows)?;
    }
    Ok(())
}

/// The replacements of the meters of cars that are listed after it.
const REPLACED_ON: &str =
    "from car join meter_replacement on meter_replacement.car_id = car.id where car.id in (";

/// Meters are read more often than that; one that was not is loaded with all its readings.
const LATELY_DAYS: i64 = 60;

/// Loads all meters of cars by id, with all their replacements and with the readings that tell what
/// they showed at a moment or later and what they gain: those from the last one before that
/// moment and before the days that a rate is told from.
pub(crate) async fn load_since(
    tx: &mut Tx,
    dossier: &mut Dossier,
    (cars, from): (&[i64], Instant),
) -> Result<(), StoreError> {
    let lately = At(from.earlier_by_days(LATELY_DAYS));
    let begin = At(from.earlier_by_days(LATELY_DAYS + RATE_DAYS));
    let rows: Vec<ShownRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("with before (car_id, meter, last_at) as (select reading.car_id, reading.meter, max(reading.taken_at) from reading where reading.taken_at < ");
        query.push_bind(begin).push(" and reading.car_id in (");
        let mut of = query.separated(", ");
        for car in cars {
            of.push_bind(*car);
        }
        query.push(") group by reading.car_id, reading.meter) ").push(READINGS).push("from car join reading on reading.car_id = car.id left join before on before.car_id = reading.car_id and before.meter = reading.meter left join meter on meter.car_id = reading.car_id and meter.meter = reading.meter where car.id in (");
        let mut list = query.separated(", ");
        for car in cars {
            list.push_bind(*car);
        }
        // Of a meter that was not read lately, the rate may be told from earlier still.
        query.push(") and (reading.taken_at >= ").push_bind(begin).push(" or reading.taken_at >= before.last_at or meter.last_at is null or meter.last_at < ");
        query.push_bind(lately).push(")").push(AND_REPLACEMENTS).push(REPLACED_ON);
        let mut replaced = query.separated(", ");
        for car in cars {
            replaced.push_bind(*car);
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    put(dossier, &rows)
}

/// Loads of all meters of cars by id, with all their replacements, the readings that tell what
/// they showed at one moment each: the last until then and the first from then on.
pub(crate) async fn load_around(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &[(i64, Instant)],
) -> Result<(), StoreError> {
    if wanted.is_empty() {
        return Ok(());
    }
    let rows: Vec<ShownRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("with wanted (car_id, meter, moment) as (");
        let each = wanted.iter().flat_map(|of| Meter::ALL.iter().map(move |meter| (of, *meter)));
        query.push_values(each, |mut row, ((car, at), meter)| {
            row.push_bind(*car).push_bind(number(meter)).push_bind(At(*at));
        });
        query.push("), around (car_id, meter, taken_at) as (
            select wanted.car_id, wanted.meter, (select max(reading.taken_at) from reading where reading.car_id = wanted.car_id and reading.meter = wanted.meter and reading.taken_at <= wanted.moment) from wanted
            union all select wanted.car_id, wanted.meter, (select min(reading.taken_at) from reading where reading.car_id = wanted.car_id and reading.meter = wanted.meter and reading.taken_at >= wanted.moment) from wanted) ").push(READINGS).push("from around cross join car cross join reading where car.id = around.car_id and reading.car_id = around.car_id and reading.meter = around.meter and reading.taken_at = around.taken_at");
        query.push(AND_REPLACEMENTS).push(REPLACED_ON);
        let mut replaced = query.separated(", ");
        for (car, _) in wanted {
            replaced.push_bind(*car);
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    put(dossier, &rows)
}

/// Puts what meters showed into the dossier.
pub(crate) fn put(dossier: &mut Dossier, rows: &[ShownRow]) -> Result<(), StoreError> {
    for row in rows {
        let key = (parsed(&row.car)?, meter(row.meter)?);
        let record = dossier.meters.entry(key).or_default();
        let (by, at, shown) = (Seq(row.recorded_by), row.shown_at.0, Amount(row.shown));
        match row.first_shown {
            None => {
                let reading = ReadingRecord {
                    by,
                    at,
                    value: shown,
                };
                record.readings.insert(at, reading);
            }
            Some(first) => {
                let replacement = ReplacementRecord {
                    by,
                    at,
                    last_value: shown,
                    first_value: Amount(first),
                };
                record.replacements.insert(at, replacement);
            }
        }
    }
    Ok(())
}
