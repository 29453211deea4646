//! When the work on cars as a whole is due.

use super::cars::{Known, load_cars, meters_of};
use super::{Settling, components, due, tests};
use crate::connect::{Tx, on};
use crate::dossier::meters;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use domain::configuration::component::Subject;
use domain::identity::CarNumber;
use domain::ledger::dossier::{DoneRecord, Dossier, MeterValues};
use domain::ledger::standing::CarHistory;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// Settles the own work of cars whose marks and meters are settled. A fixed number of statements
/// to load, two a car to write.
pub(super) async fn settle(
    tx: &mut Tx,
    (settling, known): (&Settling, &Known),
    numbers: &BTreeSet<CarNumber>,
) -> Result<(), StoreError> {
    if numbers.is_empty() {
        return Ok(());
    }
    let cars = load_cars(tx, known, numbers.iter()).await?;
    let ids: Vec<i64> = cars.values().map(|car| car.id.0).collect();
    let hosts = components::load_hosts(tx, &numbers.iter().collect(), &settling.zone).await?;
    let entered = load_entered(tx, settling, &cars).await?;
    let mut done = load_done(tx, &ids).await?;
    let mut tests = tests::load(tx, tests::Of::Cars, &ids).await?;
    for (number, car) in &cars {
        let Some(host) = hosts.get(number) else {
            continue;
        };
        let done = done.remove(number).unwrap_or_default();
        let history = CarHistory {
            record: car,
            meters: host.meters,
            entered: entered.get(number).copied().unwrap_or_default(),
            done: done.iter().collect(),
            tests: tests.remove(&car.id.0).unwrap_or_default(),
        };
        let rows = history.due(&settling.documents, &settling.zone);
        due::put_of_car(tx, car, &rows).await?;
    }
    Ok(())
}

/// What cars had run when they entered service, where that is recorded.
async fn load_entered(
    tx: &mut Tx,
    settling: &Settling,
    cars: &Known,
) -> Result<HashMap<CarNumber, MeterValues>, StoreError> {
    let wanted: Vec<(i64, Instant)> = cars
        .values()
        .filter_map(|car| {
            let day = car.car.entered_service_on?;
            Some((car.id.0, settling.zone.start_of(day)))
        })
        .collect();
    let mut dossier = Dossier::default();
    meters::load_around(tx, &mut dossier, &wanted).await?;
    let meters = meters_of(&dossier, cars)?;
    let entered = cars.iter().filter_map(|(number, car)| {
        let day = car.car.entered_service_on?;
        Some((number.clone(), meters[number].on_day(day, &settling.zone)))
    });
    Ok(entered.collect())
}

/// All work done on cars as a whole, by its time.
async fn load_done(
    tx: &mut Tx,
    ids: &[i64],
) -> Result<HashMap<CarNumber, Vec<DoneRecord>>, StoreError> {
    let rows: Vec<DoneRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new(DONE_FROM);
        query.push(" where work_done.subject_car_id in (");
        let mut list = query.separated(", ");
        for id in ids {
            list.push_bind(*id);
        }
        query.push(") order by work_done.done_at, work_done.recorded_by");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut done: HashMap<CarNumber, Vec<DoneRecord>> = HashMap::new();
    for row in &rows {
        let record = row.record()?;
        if let Subject::Car(car) = &record.subject {
            done.entry(car.clone()).or_default().push(record);
        }
    }
    Ok(done)
}
