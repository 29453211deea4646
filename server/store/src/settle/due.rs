//! Due rows as written from the core's answer. What stands already as it is answered is left
//! alone: each row that is written costs an entry in every index by date.

use super::hosts::Host;
use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{row, to_json};
use crate::shape::{meant, padded};
use domain::due::DueRow;
use domain::due::forecast::Forecast;
use domain::due::point::{DuePoints, Lack, Point};
use domain::due::task::Task;
use domain::ledger::dossier::{CarRecord, ComponentRecord, Fitment};
use domain::time::Day;
use domain::units::Amount;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

/// Rows of one statement: with thirty-three columns far below the bind limits, and few in vain
/// where they do not fill its shape.
const ROWS: usize = 16;

row!(
    /// A due row, column by column.
    #[derive(PartialEq)]
    Written {
        subject_id: i64,
        task: String,
        component_id: Option<i64>,
        part: Option<String>,
        car_id: Option<i64>,
        position: Option<String>,
        fleet: Option<String>,
        depot: Option<String>,
        due_on: Option<On>,
        early_on: Option<On>,
        late_on: Option<On>,
        opens_on: Option<On>,
        latest_on: Option<On>,
        set_by: Option<String>,
        lacking: Option<String>,
        calendar_opens: Option<On>,
        calendar_due: Option<On>,
        calendar_latest: Option<On>,
        calendar_unknown: Option<String>,
        odometer_opens: Option<i64>,
        odometer_due: Option<i64>,
        odometer_latest: Option<i64>,
        odometer_unknown: Option<String>,
        running_hours_opens: Option<i64>,
        running_hours_due: Option<i64>,
        running_hours_latest: Option<i64>,
        running_hours_unknown: Option<String>,
        compressor_hours_opens: Option<i64>,
        compressor_hours_due: Option<i64>,
        compressor_hours_latest: Option<i64>,
        compressor_hours_unknown: Option<String>,
        at_once: Option<String>,
    }
);

const COLUMNS: &str = "subject_id, task, component_id, part, car_id, position, fleet, depot, due_on, early_on, late_on, opens_on, latest_on, set_by, lacking, calendar_opens, calendar_due, calendar_latest, calendar_unknown, odometer_opens, odometer_due, odometer_latest, odometer_unknown, running_hours_opens, running_hours_due, running_hours_latest, running_hours_unknown, compressor_hours_opens, compressor_hours_due, compressor_hours_latest, compressor_hours_unknown, at_once";

/// The place of a due row: what lists select by.
pub(super) struct Place {
    subject: i64,
    component: Option<i64>,
    part: Option<String>,
    car: Option<i64>,
    position: Option<String>,
    fleet: Option<String>,
    depot: Option<String>,
}

impl Place {
    /// Of work on a component, fitted or not.
    pub(super) fn of_component(
        record: &ComponentRecord,
        fitted: Option<(&Fitment, &Host)>,
    ) -> Self {
        let (fitment, host) = (fitted.map(|(f, _)| f), fitted.map(|(_, h)| h));
        Self {
            subject: record.id.0,
            component: Some(record.id.0),
            part: Some(record.component.part.to_string()),
            car: host.map(|host| host.id),
            position: fitment.map(|fitment| fitment.at.position.to_string()),
            fleet: host.map(|host| host.fleet.clone()),
            depot: host.map(|host| host.depot.clone()),
        }
    }

    /// Of work on a car as a whole.
    pub(super) fn of_car(car: &CarRecord) -> Self {
        Self {
            subject: car.id.0,
            component: None,
            part: None,
            car: Some(car.id.0),
            position: None,
            fleet: Some(car.car.fleet.to_string()),
            depot: Some(car.car.depot.to_string()),
        }
    }
}

impl Written {
    /// The row of a task at its place.
    pub(super) fn new(place: Place, task: &Task, row: &DueRow) -> Result<Self, sqlx::Error> {
        let DueRow { forecast, points } = row;
        let [due_on, early_on, late_on, opens_on, latest_on] =
            dates(forecast).map(|day| day.map(On));
        let [calendar_opens, calendar_due, calendar_latest] =
            window(&points.calendar).map(|day| day.map(On));
        let amounts = |point| window(point).map(|amount| amount.map(|amount: Amount| amount.0));
        let meters = &points.meters;
        let [odometer_opens, odometer_due, odometer_latest] = amounts(&meters.odometer);
        let [running_hours_opens, running_hours_due, running_hours_latest] =
            amounts(&meters.running_hours);
        let [
            compressor_hours_opens,
            compressor_hours_due,
            compressor_hours_latest,
        ] = amounts(&meters.compressor_hours);
        Ok(Self {
            subject_id: place.subject,
            task: task.code.to_string(),
            component_id: place.component,
            part: place.part,
            car_id: place.car,
            position: place.position,
            fleet: place.fleet,
            depot: place.depot,
            due_on,
            early_on,
            late_on,
            opens_on,
            latest_on,
            set_by: forecast.set_by.map(|metric| metric.name().to_owned()),
            lacking: lacking(forecast)?,
            calendar_opens,
            calendar_due,
            calendar_latest,
            calendar_unknown: unknown(&points.calendar),
            odometer_opens,
            odometer_due,
            odometer_latest,
            odometer_unknown: unknown(&meters.odometer),
            running_hours_opens,
            running_hours_due,
            running_hours_latest,
            running_hours_unknown: unknown(&meters.running_hours),
            compressor_hours_opens,
            compressor_hours_due,
            compressor_hours_latest,
            compressor_hours_unknown: unknown(&meters.compressor_hours),
            at_once: at_once(points)?,
        })
    }
}

/// Makes the rows of subjects these: one statement to read what stands, one a block of those that
/// are new or moved, one if any are gone.
pub(super) async fn replace(
    tx: &mut Tx,
    subjects: &[i64],
    rows: Vec<Written>,
) -> Result<(), StoreError> {
    let mut standing = standing(tx, subjects).await?;
    let mut moved = Vec::new();
    for row in rows {
        let was = standing.remove(&(row.subject_id, row.task.clone()));
        if was.as_ref() != Some(&row) {
            moved.push(row);
        }
    }
    let gone: Vec<(i64, String)> = standing.into_keys().collect();
    clear(tx, &gone).await?;
    put(tx, &moved).await
}

async fn standing(
    tx: &mut Tx,
    subjects: &[i64],
) -> Result<BTreeMap<(i64, String), Written>, StoreError> {
    let rows: Vec<Written> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(COLUMNS).push(" from due where subject_id in (");
        let mut list = query.separated(", ");
        for id in padded(subjects) {
            list.push_bind(id.copied());
        }
        query.push(")");
        query.build_query_as().fetch_all(&mut *conn).await
    })?;
    let rows = rows.into_iter();
    Ok(rows
        .map(|row| ((row.subject_id, row.task.clone()), row))
        .collect())
}

async fn clear(tx: &mut Tx, gone: &[(i64, String)]) -> Result<(), StoreError> {
    for chunk in gone.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("delete from due where (subject_id, task) in (");
            query.push_values(padded(chunk), |mut row, key| {
                row.push_bind(key.map(|(subject, _)| *subject))
                    .push_bind(key.map(|(_, task)| task.as_str()));
            });
            query.push(")");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

/// What becomes of a row that stands.
const MOVE: &str = " on conflict (subject_id, task) do update set component_id = excluded.component_id, part = excluded.part, car_id = excluded.car_id, position = excluded.position, fleet = excluded.fleet, depot = excluded.depot, due_on = excluded.due_on, early_on = excluded.early_on, late_on = excluded.late_on, opens_on = excluded.opens_on, latest_on = excluded.latest_on, set_by = excluded.set_by, lacking = excluded.lacking, calendar_opens = excluded.calendar_opens, calendar_due = excluded.calendar_due, calendar_latest = excluded.calendar_latest, calendar_unknown = excluded.calendar_unknown, odometer_opens = excluded.odometer_opens, odometer_due = excluded.odometer_due, odometer_latest = excluded.odometer_latest, odometer_unknown = excluded.odometer_unknown, running_hours_opens = excluded.running_hours_opens, running_hours_due = excluded.running_hours_due, running_hours_latest = excluded.running_hours_latest, running_hours_unknown = excluded.running_hours_unknown, compressor_hours_opens = excluded.compressor_hours_opens, compressor_hours_due = excluded.compressor_hours_due, compressor_hours_latest = excluded.compressor_hours_latest, compressor_hours_unknown = excluded.compressor_hours_unknown, at_once = excluded.at_once";

async fn put(tx: &mut Tx, rows: &[Written]) -> Result<(), StoreError> {
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("with reckoned (meant, ");
            query.push(COLUMNS).push(") as (");
            query.push_values(meant(chunk), |mut row, (meant, due)| {
                row.push_bind(meant)
                    .push_bind(due.subject_id)
                    .push_bind(due.task.as_str())
                    .push_bind(due.component_id)
                    .push_bind(due.part.as_deref())
                    .push_bind(due.car_id)
                    .push_bind(due.position.as_deref())
                    .push_bind(due.fleet.as_deref())
                    .push_bind(due.depot.as_deref())
                    .push_bind(due.due_on)
                    .push_bind(due.early_on)
                    .push_bind(due.late_on)
                    .push_bind(due.opens_on)
                    .push_bind(due.latest_on)
                    .push_bind(due.set_by.as_deref())
                    .push_bind(due.lacking.as_deref())
                    .push_bind(due.calendar_opens)
                    .push_bind(due.calendar_due)
                    .push_bind(due.calendar_latest)
                    .push_bind(due.calendar_unknown.as_deref())
                    .push_bind(due.odometer_opens)
                    .push_bind(due.odometer_due)
                    .push_bind(due.odometer_latest)
                    .push_bind(due.odometer_unknown.as_deref())
                    .push_bind(due.running_hours_opens)
                    .push_bind(due.running_hours_due)
                    .push_bind(due.running_hours_latest)
                    .push_bind(due.running_hours_unknown.as_deref())
                    .push_bind(due.compressor_hours_opens)
                    .push_bind(due.compressor_hours_due)
                    .push_bind(due.compressor_hours_latest)
                    .push_bind(due.compressor_hours_unknown.as_deref())
                    .push_bind(due.at_once.as_deref());
            });
            query.push(") insert into due (").push(COLUMNS).push(") select ").push(COLUMNS);
            query.push(" from reckoned where meant").push(MOVE);
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}

pub(super) fn dates(forecast: &Forecast) -> [Option<Day>; 5] {
    [
        forecast.on,
        forecast.early,
        forecast.late,
        forecast.opens,
        forecast.latest,
    ]
}

pub(super) fn lacking(forecast: &Forecast) -> Result<Option<String>, sqlx::Error> {
    if forecast.lacking.is_nothing() {
        Ok(None)
    } else {
        to_json(&forecast.lacking).map(Some)
    }
}

fn at_once(points: &DuePoints) -> Result<Option<String>, sqlx::Error> {
    points.at_once.as_ref().map(to_json).transpose()
}

fn window<T: Copy>(point: &Point<T>) -> [Option<T>; 3] {
    let window = point.last_window();
    [
        window.map(|w| w.opens),
        window.map(|w| w.due),
        window.map(|w| w.latest),
    ]
}

/// What a limit is unknown for until something begins it.
pub(super) const NOT_STARTED: &str = "not_started";

fn unknown<T>(point: &Point<T>) -> Option<String> {
    match point {
        Point::NoLimit | Point::At(_) => None,
        Point::NotStarted => Some(NOT_STARTED.to_owned()),
        Point::AtTheLatest(_) => Some(Lack::AnchorAtTheLatest.name().to_owned()),
        Point::Unknown(lack) => Some(lack.name().to_owned()),
    }
}
