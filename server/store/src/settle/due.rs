//! Due rows: written from the core's answer, and read back for a new forecast.

use super::components::Host;
use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row, to_json};
use domain::due::facts::MeterFacts;
use domain::due::forecast::Forecast;
use domain::due::point::{DuePoints, Point, Window};
use domain::due::task::{Metric, Task};
use domain::due::{DueRow, reforecast as core_reforecast};
use domain::ledger::dossier::{CarRecord, ComponentRecord, Fitment};
use domain::time::Day;
use domain::units::{Amount, ByMeter, Meter};
use sqlx::QueryBuilder;
use std::sync::Arc;

/// Rows of one statement: with thirty-two columns below the bind limits.
const ROWS: usize = 800;

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
        for id in subjects {
            list.push_bind(*id);
        }
        query.push(")");
        query.build().execute(&mut *conn).await.map(drop)
    })?;
    Ok(())
}

async fn put(tx: &mut Tx, rows: &[(Place<'_>, &Task, &DueRow)]) -> Result<(), StoreError> {
    for chunk in rows.chunks(ROWS) {
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

fn dates(forecast: &Forecast) -> [Option<Day>; 5] {
    [
        forecast.on,
        forecast.early,
        forecast.late,
        forecast.opens,
        forecast.latest,
    ]
}

fn lacking(forecast: &Forecast) -> Result<Option<String>, sqlx::Error> {
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

const NOT_STARTED: &str = "not_started";

fn unknown<T>(point: &Point<T>) -> Option<&'static str> {
    match point {
        Point::NoLimit | Point::At(_) => None,
        Point::NotStarted => Some(NOT_STARTED),
        Point::Unknown(lack) => Some(lack.name()),
    }
}

row!(
    /// The due points of a row.
    PointsRow {
        subject_id: i64,
        task: String,
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

fn point<T>(values: [Option<T>; 3], unknown: Option<&str>) -> Result<Point<T>, sqlx::Error> {
    Ok(match (values, unknown) {
        ([Some(opens), Some(due), Some(latest)], _) => Point::At(Window { opens, due, latest }),
        (_, Some(NOT_STARTED)) => Point::NotStarted,
        (_, Some(lack)) => Point::Unknown(parsed(lack)?),
        _ => Point::NoLimit,
    })
}

impl PointsRow {
    fn points(&self) -> Result<DuePoints, sqlx::Error> {
        let day = |on: Option<On>| on.map(|on| on.0);
        let calendar = [
            day(self.calendar_opens),
            day(self.calendar_due),
            day(self.calendar_latest),
        ];
        let meter = |values: [Option<i64>; 3], unknown: &Option<String>| {
            point(values.map(|value| value.map(Amount)), unknown.as_deref())
        };
        Ok(DuePoints {
            calendar: point(calendar, self.calendar_unknown.as_deref())?,
            meters: ByMeter {
                odometer: meter(
                    [self.odometer_opens, self.odometer_due, self.odometer_latest],
                    &self.odometer_unknown,
                )?,
                running_hours: meter(
                    [
                        self.running_hours_opens,
                        self.running_hours_due,
                        self.running_hours_latest,
                    ],
                    &self.running_hours_unknown,
                )?,
                compressor_hours: meter(
                    [
                        self.compressor_hours_opens,
                        self.compressor_hours_due,
                        self.compressor_hours_latest,
                    ],
                    &self.compressor_hours_unknown,
                )?,
            },
            at_once: self.at_once.as_deref().map(from_json).transpose()?,
        })
    }
}

/// The rows of a car's components that a new reading can move: those with a limit by meter.
const OF_CAR: &str = "select subject_id, task, calendar_opens, calendar_due, calendar_latest, calendar_unknown, odometer_opens, odometer_due, odometer_latest, odometer_unknown, running_hours_opens, running_hours_due, running_hours_latest, running_hours_unknown, compressor_hours_opens, compressor_hours_due, compressor_hours_latest, compressor_hours_unknown, at_once
    from due where car_id = $1 and component_id is not null
    and coalesce(odometer_due, running_hours_due, compressor_hours_due) is not null";

/// Works out anew the dates of a car's components from their due points: one statement to read
/// and one to write, linear in the components of the car.
pub(super) async fn reforecast(
    tx: &mut Tx,
    car: &CarRecord,
    meters: &ByMeter<MeterFacts>,
) -> Result<(), StoreError> {
    let rows: Vec<PointsRow> =
        on!(tx, conn => sqlx::query_as(OF_CAR).bind(car.id.0).fetch_all(conn).await)?;
    let mut forecasts = Vec::with_capacity(rows.len());
    for row in &rows {
        let forecast = core_reforecast(&row.points()?, meters);
        forecasts.push((row, lacking(&forecast)?, forecast));
    }
    for chunk in forecasts.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("with forecast (subject_id, task, d0, d1, d2, d3, d4, metric, missing) as (");
            query.push_values(chunk, |mut row, (of, lacking, forecast)| {
                row.push_bind(of.subject_id).push_bind(of.task.as_str());
                for day in dates(forecast) {
                    row.push_bind(day.map(On));
                }
                row.push_bind(forecast.set_by.map(Metric::name))
                    .push_bind(lacking.as_deref());
            });
            query.push(") update due set due_on = d0, early_on = d1, late_on = d2, opens_on = d3, latest_on = d4, set_by = metric, lacking = missing from forecast where due.subject_id = forecast.subject_id and due.task = forecast.task");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
