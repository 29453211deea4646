//! Notes what is stale while many entries are recorded in one transaction, and settles it at
//! the end.

use super::{Settling, cars, departures, work};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::import::Go;
use crate::row::parsed;
use domain::configuration::component::ComponentRef;
use domain::due::task::AppliesTo;
use domain::identity::CarNumber;
use domain::ledger::departures::Departing;
use domain::ledger::dossier::Dossier;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// Rows of one statement.
const ROWS: usize = 1_000;
/// Cars settled together: their readings and fitments are in memory at once.
const CARS: i64 = 20;
/// Cars whose departures are settled together: what is fitted on them is in memory at once.
const DEPARTING: i64 = 64;
/// Components settled together.
const COMPONENTS: i64 = 1_000;

/// Notes the cars and components that a dossier's changes have made stale.
pub(crate) async fn note(tx: &mut Tx, dossier: &Dossier) -> Result<(), StoreError> {
    let changes = &dossier.changes;
    let cars = changes.stale_cars.iter().chain(&changes.stale_meters);
    let cars = cars.chain(changes.stale_marks.keys());
    let cars: BTreeSet<i64> = cars
        .filter_map(|car| Some(dossier.cars.get(car)?.id.0))
        .collect();
    let components = changes.stale_components.iter();
    let components: BTreeSet<i64> = components
        .filter_map(|component| Some(dossier.components.get(component)?.id.0))
        .collect();
    put(tx, "insert into stale_car (car_id) ", &cars).await?;
    put(
        tx,
        "insert into stale_component (component_id) ",
        &components,
    )
    .await?;
    let departing = changes.stale_departures.keys();
    let departing: BTreeSet<i64> = departing
        .filter_map(|car| Some(dossier.cars.get(car)?.id.0))
        .collect();
    put(tx, "insert into stale_departure (car_id) ", &departing).await?;
    for effectivity in &changes.stale_baselines {
        let name = effectivity.car_type.as_str();
        on!(tx, conn => sqlx::query(NOTE_BASELINE).bind(name).execute(conn).await.map(drop))?;
    }
    for place in &changes.stale_places {
        on!(tx, conn => sqlx::query(NOTE_PLACE).bind(place.as_str()).execute(conn).await.map(drop))?;
    }
    note_subjects(tx, &changes.stale_subjects).await
}

const NOTE_PLACE: &str = "insert into stale_departure (car_id)
    select distinct car_id from departure where position = $1 on conflict do nothing";
const NOTE_BASELINE: &str = "insert into stale_departure (car_id)
    select id from car where car_type = $1 on conflict do nothing";

const NOTE_PART: &str = "insert into stale_component (component_id)
    select id from component where part = $1 and withdrawn_by = 0 on conflict do nothing";
const NOTE_CAR_TYPE: &str = "insert into stale_car (car_id)
    select id from car where car_type = $1 on conflict do nothing";

async fn note_subjects(tx: &mut Tx, subjects: &[AppliesTo]) -> Result<(), StoreError> {
    for subject in subjects {
        let (statement, name) = match subject {
            AppliesTo::Part(part) => (NOTE_PART, part.as_str()),
            AppliesTo::CarType(name) => (NOTE_CAR_TYPE, name.as_str()),
        };
        on!(tx, conn => sqlx::query(statement).bind(name).execute(conn).await.map(drop))?;
    }
    Ok(())
}

async fn put(tx: &mut Tx, into: &'static str, ids: &BTreeSet<i64>) -> Result<(), StoreError> {
    let ids: Vec<i64> = ids.iter().copied().collect();
    for chunk in ids.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new(into);
            query.push_values(chunk, |mut row, id| {
                row.push_bind(*id);
            });
            query.push(" on conflict do nothing");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

const NEXT_CARS: &str =
    "select car.id, car.number from stale_car join car on car.id = stale_car.car_id
    where $1 < stale_car.car_id order by stale_car.car_id limit $2";
const NEXT_COMPONENTS: &str = "select component.id, component.part, component.serial
    from stale_component join component on component.id = stale_component.component_id
    where $1 < stale_component.component_id order by stale_component.component_id limit $2";
const NEXT_DEPARTING: &str = "select car.id, car.number
    from stale_departure join car on car.id = stale_departure.car_id
    where $1 < stale_departure.car_id order by stale_departure.car_id limit $2";
const CLEAR_DEPARTING: &str = "delete from stale_departure";
const CLEAR_CARS: &str = "delete from stale_car";
const CLEAR_COMPONENTS: &str = "delete from stale_component";

/// Settles everything that was noted. Linear in it; memory is that of one batch. `progress` is
/// told how many components are done, and may stop it; the caller then rolls back.
pub(crate) async fn settle_noted(
    tx: &mut Tx,
    settling: &Settling,
    mut progress: impl FnMut(u64) -> Go,
) -> Result<(), StoreError> {
    let mut after = 0;
    loop {
        let rows: Vec<(i64, String)> = on!(tx, conn => sqlx::query_as(NEXT_CARS).bind(after).bind(CARS).fetch_all(conn).await)?;
        let Some((last, _)) = rows.last() else { break };
        after = *last;
        let numbers: Result<Vec<CarNumber>, _> =
            rows.iter().map(|(_, number)| parsed(number)).collect();
        let numbers = numbers?;
        let whole = numbers.iter().map(|car| (car, Instant::EARLIEST)).collect();
        let changed = cars::settle(
            tx,
            (settling, &cars::Known::new()),
            (cars::Again::Components, &whole),
        )
        .await?;
        work::settle(
            tx,
            (settling, &Dossier::default()),
            (&changed.cars, &BTreeSet::new()),
        )
        .await?;
        let ids = work::ids(tx, &changed.components).await?;
        put(tx, "insert into stale_component (component_id) ", &ids).await?;
    }
    let (mut after, mut done) = (0, 0);
    loop {
        let rows: Vec<(i64, String, String)> = on!(tx, conn => sqlx::query_as(NEXT_COMPONENTS).bind(after).bind(COMPONENTS).fetch_all(conn).await)?;
        let Some((last, ..)) = rows.last() else { break };
        after = *last;
        let mut batch = BTreeSet::new();
        for (_, part, serial) in &rows {
            batch.insert(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            });
        }
        work::settle(
            tx,
            (settling, &Dossier::default()),
            (&BTreeSet::new(), &batch),
        )
        .await?;
        done += batch.len() as u64;
        if progress(done) == Go::Stop {
            return Ok(());
        }
    }
    settle_departures(tx, settling).await?;
    on!(tx, conn => sqlx::query(CLEAR_CARS).execute(conn).await.map(drop))?;
    on!(tx, conn => sqlx::query(CLEAR_COMPONENTS).execute(conn).await.map(drop))?;
    Ok(())
}

/// Settles the departures of all cars that were noted, batch by batch.
async fn settle_departures(tx: &mut Tx, settling: &Settling) -> Result<(), StoreError> {
    let mut after = 0;
    loop {
        let rows: Vec<(i64, String)> = on!(tx, conn => sqlx::query_as(NEXT_DEPARTING).bind(after).bind(DEPARTING).fetch_all(conn).await)?;
        let Some((last, _)) = rows.last() else { break };
        after = *last;
        let numbers: Result<BTreeSet<CarNumber>, _> =
            rows.iter().map(|(_, number)| parsed(number)).collect();
        departures::settle(
            tx,
            (settling, &HashMap::new()),
            (&numbers?, &Departing::Anywhere),
        )
        .await?;
    }
    on!(tx, conn => sqlx::query(CLEAR_DEPARTING).execute(conn).await.map(drop))?;
    Ok(())
}
