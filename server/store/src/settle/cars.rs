//! What stale cars had run at the moments that matter: when fitments on them began and ended,
//! and when work was done there. Where that moved, the components concerned and the work on the
//! car itself are stale too; for the others a new reading moves only the forecast. Only what bears
//! on the time that has changed is loaded.

use super::Settling;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::dossier::components::{FITMENT_COLUMNS, FitmentRow, columns};
use crate::dossier::meters::{self, number};
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::shape::meant;
use domain::configuration::component::{ComponentRef, Subject};
use domain::due::facts::MeterFacts;
use domain::identity::CarNumber;
use domain::ledger::dossier::{CarRecord, DoneRecord, Dossier, Fitment, MeterValues};
use domain::ledger::standing::CarMeters;
use domain::time::Instant;
use domain::units::{ByMeter, Meter};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What of a car must be worked out anew, besides marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Again {
    /// Nothing: its meters stand where they stood.
    Marks,
    /// Where its meters stand, and from their due points the dates of all work on it.
    Dates,
    /// Everything: its components and its own work are named to be settled after it.
    Components,
}

/// What cars must have worked out anew, and from which moment on each its marks.
pub(super) type Stale<'a> = (Again, &'a BTreeMap<&'a CarNumber, Instant>);

/// Cars that are loaded already.
pub(super) type Known = HashMap<CarNumber, CarRecord>;

/// What is stale after cars were settled.
#[derive(Debug, Default)]
pub(super) struct StaleAfter {
    /// Components.
    pub(super) components: BTreeSet<ComponentRef>,
    /// The fitments that are marked anew, with their marks; their components are among those.
    pub(super) marked: Vec<Fitment>,
    /// Cars whose own work is.
    pub(super) cars: BTreeSet<CarNumber>,
    /// Cars of which all work is to be dated anew, by where their meters stand: what of it is
    /// stale has its dates before.
    pub(super) dates: Vec<(CarRecord, ByMeter<MeterFacts>)>,
}

impl StaleAfter {
    fn insert(&mut self, subject: &Subject) {
        match subject {
            Subject::Component(component) => drop(self.components.insert(component.clone())),
            Subject::Car(car) => drop(self.cars.insert(car.clone())),
        }
    }
}

/// Settles cars together and names what must be settled after them. A fixed number of statements.
pub(super) async fn settle(
    tx: &mut Tx,
    (settling, known): (&Settling, &Known),
    (again, numbers): Stale<'_>,
) -> Result<StaleAfter, StoreError> {
    let mut stale = StaleAfter::default();
    let Some(marks) = numbers.values().min() else {
        return Ok(stale);
    };
    let marks = if again == Again::Components {
        Instant::EARLIEST
    } else {
        *marks
    };
    let cars = load_cars(tx, known, numbers.keys().copied()).await?;
    let ids: Vec<i64> = cars.values().map(|car| car.id.0).collect();
    let meters = load_meters(tx, (&cars, &ids), marks).await?;
    let fitments = load_fitments(tx, &ids, marks).await?;
    stale.marked = mark_fitments(tx, (&meters, marks), &fitments).await?;
    let marked = stale.marked.iter();
    stale.components = marked.map(|fitment| fitment.component.clone()).collect();
    let done = load_done(tx, &ids, marks).await?;
    for moved in mark_done(tx, &meters, &done).await? {
        // A mark moves no date of work whose limits are by the calendar alone.
        let task = settling.documents.tasks.get(&moved.task);
        if task.is_none_or(|task| task.document.counts_use()) {
            stale.insert(&moved.subject);
        }
    }
    if again == Again::Marks {
        return Ok(stale);
    }
    put_standings(tx, &cars, &meters).await?;
    if again == Again::Dates {
        for (number, car) in &cars {
            let facts = meters[number].facts(&settling.zone);
            stale.dates.push((car.clone(), facts));
            let entered = car.car.entered_service_on;
            // What its own work counts from.
            if entered.is_some_and(|day| marks <= settling.zone.start_of(day.plus_days(1))) {
                stale.cars.insert(number.clone());
            }
        }
        return Ok(stale);
    }
    let open = fitments.iter().filter(|fitment| fitment.end.is_none());
    let open = open.map(|fitment| fitment.component.clone());
    stale.components.extend(open);
    stale.cars.extend(cars.into_keys());
    Ok(stale)
}

/// The meters of cars, true from a moment on.
async fn load_meters(
    tx: &mut Tx,
    (cars, ids): (&HashMap<CarNumber, CarRecord>, &[i64]),
    from: Instant,
) -> Result<HashMap<CarNumber, CarMeters>, StoreError> {
    let mut dossier = Dossier::default();
    meters::load_since(tx, &mut dossier, (ids, from)).await?;
    meters_of(&dossier, cars)
}

/// The meters of cars, by what was loaded of them.
pub(super) fn meters_of(
    dossier: &Dossier,
    cars: &Known,
) -> Result<HashMap<CarNumber, CarMeters>, StoreError> {
    let mut meters = HashMap::new();
    for number in cars.keys() {
        let record = |meter| dossier.meters.get(&(number.clone(), meter));
        // What was recorded was checked; a history that does not hold is damage.
        let shown = CarMeters::new(record)
            .map_err(|why| StoreError::Database(sqlx::Error::Decode(Box::new(why))))?;
        meters.insert(number.clone(), shown);
    }
    Ok(meters)
}

/// The cars of these numbers; those that are known already are not read again.
pub(super) async fn load_cars(
    tx: &mut Tx,
    known: &Known,
    numbers: impl Iterator<Item = &CarNumber>,
) -> Result<HashMap<CarNumber, CarRecord>, StoreError> {
    let mut cars = HashMap::new();
    let mut others = Vec::new();
    for number in numbers {
        match known.get(number) {
            Some(car) => drop(cars.insert(number.clone(), car.clone())),
            None => others.push(number),
        }
    }
    if others.is_empty() {
        return Ok(cars);
    }
    let rows: Vec<CarRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(CAR_COLUMNS).push(" from car where car.number in (");
        let mut list = query.separated(", ");
        for number in &others {
            list.push_bind(number.as_str());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in rows {
        let record = row.record()?;
        cars.insert(record.car.number.clone(), record);
    }
    Ok(cars)
}

/// The fitments that begin or end at a moment or later.
async fn load_fitments(
    tx: &mut Tx,
    ids: &[i64],
    from: Instant,
) -> Result<Vec<Fitment>, StoreError> {
    if from == Instant::LATEST {
        return Ok(Vec::new());
    }
    let rows: Vec<FitmentRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(FITMENT_COLUMNS).push(" from fitment join component on component.id = fitment.component_id join car on car.id = fitment.car_id where fitment.known_until is null and fitment.car_id in (");
        let mut list = query.separated(", ");
        for id in ids {
            list.push_bind(*id);
        }
        query.push(") and (fitment.from_at >= ").push_bind(At(from));
        query.push(" or fitment.until_at >= ").push_bind(At(from)).push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let fitments: Result<Vec<_>, _> = rows.iter().map(FitmentRow::fitment).collect();
    Ok(fitments?)
}

/// The work done on cars and their components at a moment or later.
async fn load_done(tx: &mut Tx, ids: &[i64], from: Instant) -> Result<Vec<DoneRecord>, StoreError> {
    let rows: Vec<DoneRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new(DONE_FROM);
        query.push(" where work_done.car_id in (");
        let mut list = query.separated(", ");
        for id in ids {
            list.push_bind(*id);
        }
        query.push(") and work_done.done_at >= ").push_bind(At(from));
        query.build_query_as().fetch_all(conn).await
    })?;
    let done: Result<Vec<_>, _> = rows.iter().map(DoneRow::record).collect();
    Ok(done?)
}

/// Rows of one statement: with seven columns far below the bind limits.
const ROWS: usize = 1_024;

/// Works out the marks of fitments from a moment on and writes those that moved, which it gives.
async fn mark_fitments(
    tx: &mut Tx,
    (meters, since): (&HashMap<CarNumber, CarMeters>, Instant),
    fitments: &[Fitment],
) -> Result<Vec<Fitment>, StoreError> {
    let mut moved = Vec::new();
    for fitment in fitments {
        let shown = &meters[&fitment.at.car];
        let at = |when: Instant, marked: MeterValues| {
            if when < since { marked } else { shown.at(when) }
        };
        let end = fitment.end.as_ref();
        let marked = Fitment {
            meters_from: at(fitment.from, fitment.meters_from),
            meters_until: end
                .map_or_else(MeterValues::default, |end| at(end.at, fitment.meters_until)),
            ..fitment.clone()
        };
        if marked != *fitment {
            moved.push(marked);
        }
    }
    for chunk in moved.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("with mark (meant, id, f0, f1, f2, u0, u1, u2) as (");
            query.push_values(meant(chunk), |mut row, (meant, fitment)| {
                row.push_bind(meant).push_bind(fitment.id.0);
                let marks = [fitment.meters_from, fitment.meters_until];
                for amount in marks.iter().flat_map(columns) {
                    row.push_bind(amount);
                }
            });
            query.push(") update fitment set from_odometer = f0, from_running_hours = f1, from_compressor_hours = f2, until_odometer = u0, until_running_hours = u1, until_compressor_hours = u2 from mark where mark.meant and fitment.id = mark.id and fitment.known_until is null");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(moved)
}

/// Works out the marks of work done, writes those that moved and gives their work.
async fn mark_done<'d>(
    tx: &mut Tx,
    meters: &HashMap<CarNumber, CarMeters>,
    done: &'d [DoneRecord],
) -> Result<Vec<&'d DoneRecord>, StoreError> {
    let mut moved: Vec<(&DoneRecord, MeterValues)> = Vec::new();
    for record in done {
        let Some(shown) = record.car.as_ref().and_then(|car| meters.get(car)) else {
            continue;
        };
        let values = shown.at(record.at);
        if values != record.meters {
            moved.push((record, values));
        }
    }
    for chunk in moved.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("with mark (meant, recorded_by, task, v0, v1, v2) as (");
            query.push_values(meant(chunk), |mut row, (meant, (record, values))| {
                row.push_bind(meant).push_bind(record.by.0).push_bind(record.task.as_str());
                for amount in columns(values) {
                    row.push_bind(amount);
                }
            });
            query.push(") update work_done set odometer = v0, running_hours = v1, compressor_hours = v2 from mark where mark.meant and work_done.recorded_by = mark.recorded_by and work_done.task = mark.task");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(moved.into_iter().map(|(record, _)| record).collect())
}

/// Writes where the meters of cars stand.
async fn put_standings(
    tx: &mut Tx,
    cars: &HashMap<CarNumber, CarRecord>,
    meters: &HashMap<CarNumber, CarMeters>,
) -> Result<(), StoreError> {
    let mut rows = Vec::new();
    for (car, shown) in meters {
        let standings = Meter::ALL
            .iter()
            .filter_map(|meter| Some((*meter, shown.standing(*meter)?)));
        rows.extend(standings.map(|(meter, standing)| (cars[car].id.0, number(meter), standing)));
    }
    let ids: Vec<i64> = cars.values().map(|car| car.id.0).collect();
    on!(tx, conn => {
        let mut query = QueryBuilder::new("delete from meter where car_id in (");
        let mut list = query.separated(", ");
        for id in &ids {
            list.push_bind(*id);
        }
        query.push(")");
        query.build().execute(&mut *conn).await.map(drop)
    })?;
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into meter (car_id, meter, last_at, last_usage, last_shown, rate_slow, rate_likely, rate_fast) ");
            query.push_values(chunk, |mut row, (car, meter, standing)| {
                row.push_bind(*car)
                    .push_bind(*meter)
                    .push_bind(At(standing.last.at))
                    .push_bind(standing.last.usage.0)
                    .push_bind(standing.shown.0)
                    .push_bind(standing.rate.map(|rate| rate.slow().0))
                    .push_bind(standing.rate.map(|rate| rate.likely().0))
                    .push_bind(standing.rate.map(|rate| rate.fast().0));
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
