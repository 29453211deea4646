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
    /// A reading.
    ReadingRow {
        car: String,
        meter: i16,
        taken_at: At,
        shown: i64,
        recorded_by: i64,
    }
);

row!(
    /// A replacement of a meter.
    ReplacementRow {
        car: String,
        meter: i16,
        replaced_at: At,
        last_shown: i64,
        first_shown: i64,
        recorded_by: i64,
    }
);

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
        let readings: Vec<ReadingRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number, meter, earliest) as (");
            query.push_values(chunk, |mut row, ((car, meter), earliest)| {
                row.push_bind(car.as_str()).push_bind(number(*meter)).push_bind(At(**earliest));
            });
            query.push(") select car.number as car, reading.meter, reading.taken_at, reading.shown, reading.recorded_by
                from wanted cross join car cross join reading where car.number = wanted.number and reading.car_id = car.id and reading.meter = wanted.meter
                and reading.taken_at >= coalesce((select max(other.taken_at) from reading other
                    where other.car_id = car.id and other.meter = wanted.meter
                    and other.taken_at < wanted.earliest), wanted.earliest)");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        readings
            .iter()
            .try_for_each(|row| put_reading(dossier, row))?;
        let replacements: Vec<ReplacementRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number, meter) as (");
            query.push_values(chunk, |mut row, ((car, meter), _)| {
                row.push_bind(car.as_str()).push_bind(number(*meter));
            });
            query.push(") select car.number as car, meter_replacement.meter, meter_replacement.replaced_at, meter_replacement.last_shown, meter_replacement.first_shown, meter_replacement.recorded_by
                from wanted cross join car cross join meter_replacement where car.number = wanted.number and meter_replacement.car_id = car.id and meter_replacement.meter = wanted.meter");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        replacements
            .iter()
            .try_for_each(|row| put_replacement(dossier, row))?;
    }
    Ok(())
}

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
    let readings: Vec<ReadingRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("with before (car_id, meter, last_at) as (select reading.car_id, reading.meter, max(reading.taken_at) from reading where reading.taken_at < ");
        query.push_bind(begin).push(" and reading.car_id in (");
        let mut of = query.separated(", ");
        for car in cars {
            of.push_bind(*car);
        }
        query.push(") group by reading.car_id, reading.meter) select car.number as car, reading.meter, reading.taken_at, reading.shown, reading.recorded_by from car join reading on reading.car_id = car.id left join before on before.car_id = reading.car_id and before.meter = reading.meter left join meter on meter.car_id = reading.car_id and meter.meter = reading.meter where car.id in (");
        let mut list = query.separated(", ");
        for car in cars {
            list.push_bind(*car);
        }
        // Of a meter that was not read lately, the rate may be told from earlier still.
        query.push(") and (reading.taken_at >= ").push_bind(begin).push(" or reading.taken_at >= before.last_at or meter.last_at is null or meter.last_at < ");
        query.push_bind(lately).push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    readings
        .iter()
        .try_for_each(|row| put_reading(dossier, row))?;
    load_replacements(tx, dossier, cars).await
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
    let readings: Vec<ReadingRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("with wanted (car_id, meter, moment) as (");
        let each = wanted.iter().flat_map(|of| Meter::ALL.iter().map(move |meter| (of, *meter)));
        query.push_values(each, |mut row, ((car, at), meter)| {
            row.push_bind(*car).push_bind(number(meter)).push_bind(At(*at));
        });
        query.push("), around (car_id, meter, taken_at) as (
            select wanted.car_id, wanted.meter, (select max(reading.taken_at) from reading where reading.car_id = wanted.car_id and reading.meter = wanted.meter and reading.taken_at <= wanted.moment) from wanted
            union all select wanted.car_id, wanted.meter, (select min(reading.taken_at) from reading where reading.car_id = wanted.car_id and reading.meter = wanted.meter and reading.taken_at >= wanted.moment) from wanted)
            select car.number as car, reading.meter, reading.taken_at, reading.shown, reading.recorded_by
            from around cross join car cross join reading where car.id = around.car_id and reading.car_id = around.car_id and reading.meter = around.meter and reading.taken_at = around.taken_at");
        query.build_query_as().fetch_all(conn).await
    })?;
    readings
        .iter()
        .try_for_each(|row| put_reading(dossier, row))?;
    let cars: Vec<i64> = wanted.iter().map(|(car, _)| *car).collect();
    load_replacements(tx, dossier, &cars).await
}

async fn load_replacements(
    tx: &mut Tx,
    dossier: &mut Dossier,
    cars: &[i64],
) -> Result<(), StoreError> {
    let replacements: Vec<ReplacementRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, meter_replacement.meter, meter_replacement.replaced_at, meter_replacement.last_shown, meter_replacement.first_shown, meter_replacement.recorded_by from car join meter_replacement on meter_replacement.car_id = car.id where car.id in (");
        let mut list = query.separated(", ");
        for car in cars {
            list.push_bind(*car);
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    replacements
        .iter()
        .try_for_each(|row| put_replacement(dossier, row))?;
    Ok(())
}

/// Puts a reading into the dossier.
pub(crate) fn put_reading(dossier: &mut Dossier, row: &ReadingRow) -> Result<(), sqlx::Error> {
    let record = dossier
        .meters
        .entry((parsed(&row.car)?, meter(row.meter)?))
        .or_default();
    let (by, at, value) = (Seq(row.recorded_by), row.taken_at.0, Amount(row.shown));
    record.readings.insert(at, ReadingRecord { by, at, value });
    Ok(())
}

/// Puts a replacement of a meter into the dossier.
pub(crate) fn put_replacement(
    dossier: &mut Dossier,
    row: &ReplacementRow,
) -> Result<(), sqlx::Error> {
    let record = dossier
        .meters
        .entry((parsed(&row.car)?, meter(row.meter)?))
        .or_default();
    let at = row.replaced_at.0;
    let (last_value, first_value) = (Amount(row.last_shown), Amount(row.first_shown));
    let by = Seq(row.recorded_by);
    record.replacements.insert(
        at,
        ReplacementRecord {
            by,
            at,
            last_value,
            first_value,
        },
    );
    Ok(())
}
