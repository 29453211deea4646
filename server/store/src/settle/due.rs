//! Due rows as written from the core's answer.

use super::components::Host;
use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::to_json;
use crate::shape::{blocks, padded};
use domain::due::DueRow;
use domain::due::forecast::Forecast;
use domain::due::point::{DuePoints, Point};
use domain::due::task::{Metric, Task};
use domain::ledger::dossier::{CarRecord, ComponentRecord, Fitment};
use domain::time::Day;
use domain::units::{Amount, Meter};
use sqlx::QueryBuilder;
use std::sync::Arc;

/// Rows of one statement: with thirty-two columns below the bind limits.
pub(super) const ROWS: usize = 512;

/// A due row of a component.
pub(super) struct ComponentDue<'a> {
    pub(super) record: &'a ComponentRecord,
    pub(super) place: Option<(&'a Fitment, &'a Host)>,
    pub(super) task: Arc<Task>,
    pub(super) row: DueRow,
}

/// The place of a due row: what lists select by.
struct Place<'a> {
    subject: i64,
    component: Option<i64>,
    part: Option<&'a str>,
    car: Option<i64>,
    position: Option<&'a str>,
    fleet: Option<&'a str>,
    depot: Option<&'a str>,
}

impl ComponentDue<'_> {
    fn place(&self) -> Place<'_> {
        let (fitment, host) = (self.place.map(|(f, _)| f), self.place.map(|(_, h)| h));
        Place {
            subject: self.record.id.0,
            component: Some(self.record.id.0),
            part: Some(self.record.component.part.as_str()),
            car: host.map(|host| host.id),
            position: fitment.map(|fitment| fitment.at.position.as_str()),
            fleet: host.map(|host| host.fleet.as_str()),
            depot: host.map(|host| host.depot.as_str()),
        }
    }
}

/// Replaces all due rows of components.
pub(super) async fn put_of_components(
    tx: &mut Tx,
    ids: &[i64],
    rows: &[ComponentDue<'_>],
) -> Result<(), StoreError> {
    clear(tx, ids).await?;
    let rows: Vec<_> = rows
        .iter()
        .map(|due| (due.place(), &*due.task, &due.row))
        .collect();
    put(tx, &rows).await
}

/// Replaces all due rows of a car as a whole.
pub(super) async fn put_of_car(
    tx: &mut Tx,
    car: &CarRecord,
    rows: &[(Arc<Task>, DueRow)],
) -> Result<(), StoreError> {
    clear(tx, &[car.id.0]).await?;
    let place = || Place {
        subject: car.id.0,
        component: None,
        part: None,
        car: Some(car.id.0),
        position: None,
        fleet: Some(car.car.fleet.as_str()),
        depot: Some(car.car.depot.as_str()),
    };
    let rows: Vec<_> = rows
        .iter()
        .map(|(task, row)| (place(), &**task, row))
        .collect();
    put(tx, &rows).await
}

async fn clear(tx: &mut Tx, subjects: &[i64]) -> Result<(), StoreError> {
    on!(tx, conn => {
        let mut query = QueryBuilder::new("delete from due where subject_id in (");
        let mut list = query.separated(", ");
        for id in padded(subjects) {
            list.push_bind(*id);
        }
        query.push(")");
        query.build().execute(&mut *conn).await.map(drop)
    })?;
    Ok(())
}

async fn put(tx: &mut Tx, rows: &[(Place<'_>, &Task, &DueRow)]) -> Result<(), StoreError> {
    for chunk in blocks(rows, ROWS) {
        let texts: Result<Vec<_>, sqlx::Error> = chunk
            .iter()
            .map(|(_, _, row)| Ok((lacking(&row.forecast)?, at_once(&row.points)?)))
            .collect();
        let texts = texts?;
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into due (subject_id, task, component_id, part, car_id, position, fleet, depot, due_on, early_on, late_on, opens_on, latest_on, set_by, lacking, calendar_opens, calendar_due, calendar_latest, calendar_unknown, odometer_opens, odometer_due, odometer_latest, odometer_unknown, running_hours_opens, running_hours_due, running_hours_latest, running_hours_unknown, compressor_hours_opens, compressor_hours_due, compressor_hours_latest, compressor_hours_unknown, at_once) ");
            query.push_values(chunk.iter().zip(&texts), |mut row, ((place, task, due), (lacking, at_once))| {
                row.push_bind(place.subject)
                    .push_bind(task.code.as_str())
                    .push_bind(place.component)
                    .push_bind(place.part)
                    .push_bind(place.car)
                    .push_bind(place.position)
                    .push_bind(place.fleet)
                    .push_bind(place.depot);
                for day in dates(&due.forecast) {
                    row.push_bind(day.map(On));
                }
                row.push_bind(due.forecast.set_by.map(Metric::name))
                    .push_bind(lacking.as_deref());
                for day in window(&due.points.calendar) {
                    row.push_bind(day.map(On));
                }
                row.push_bind(unknown(&due.points.calendar));
                for meter in Meter::ALL {
                    let point = &due.points.meters[*meter];
                    for amount in window(point) {
                        row.push_bind(amount.map(|amount: Amount| amount.0));
                    }
                    row.push_bind(unknown(point));
                }
                row.push_bind(at_once.as_deref());
            });
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
    let window = point.window();
    [
        window.map(|w| w.opens),
        window.map(|w| w.due),
        window.map(|w| w.latest),
    ]
}

/// What a limit is unknown for until something begins it.
pub(super) const NOT_STARTED: &str = "not_started";

fn unknown<T>(point: &Point<T>) -> Option<&'static str> {
    match point {
        Point::NoLimit | Point::At(_) => None,
        Point::NotStarted => Some(NOT_STARTED),
        Point::Unknown(lack) => Some(lack.name()),
    }
}
