//! Dates anew from due points, when a car's meters were read.

use super::due::{NOT_STARTED, dates, lacking};
use crate::column::On;
use crate::connect::{Tx, on};
use crate::dossier::lines::load_lines;
use crate::error::StoreError;
use crate::row::{from_json, parsed, row};
use crate::shape::meant;
use domain::due::facts::MeterFacts;
use domain::due::forecast::Forecast;
use domain::due::point::{DuePoints, Point, Window};
use domain::due::reforecast as core_reforecast;
use domain::due::task::Metric;
use domain::ledger::dossier::CarRecord;
use domain::ledger::reached::HostMeters;
use domain::time::Zone;
use domain::units::{Amount, ByMeter};
use sqlx::QueryBuilder;

row!(
    /// The due points of a row.
    PointsRow {
        subject_id: i64,
        task: String,
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

fn point<T>(values: [Option<T>; 3], unknown: Option<&str>) -> Result<Point<T>, sqlx::Error> {
    Ok(match (values, unknown) {
        ([Some(opens), Some(due), Some(latest)], None) => Point::At(Window { opens, due, latest }),
        ([Some(opens), Some(due), Some(latest)], Some(_)) => {
            Point::AtTheLatest(Window { opens, due, latest })
        }
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

/// The rows of a car and its components that a new reading can move: those with a limit by meter.
const OF_CAR: &str = "select subject_id, task, due_on, early_on, late_on, opens_on, latest_on, set_by, lacking, calendar_opens, calendar_due, calendar_latest, calendar_unknown, odometer_opens, odometer_due, odometer_latest, odometer_unknown, running_hours_opens, running_hours_due, running_hours_latest, running_hours_unknown, compressor_hours_opens, compressor_hours_due, compressor_hours_latest, compressor_hours_unknown, at_once
    from due where car_id = $1
    and coalesce(odometer_due, running_hours_due, compressor_hours_due) is not null";

/// Rows of one statement: about as many as a car has.
const ROWS: usize = 64;

/// The dates of a row that is to be written.
struct Dates<'a> {
    of: &'a PointsRow,
    forecast: Forecast,
    lacking: Option<String>,
}

impl Dates<'_> {
    /// Whether a list would show the row elsewhere.
    fn in_lists(&self) -> bool {
        let [on, _, _, opens, _] = dates(&self.forecast).map(|day| day.map(On));
        (self.of.due_on, self.of.opens_on, &self.of.lacking) != (on, opens, &self.lacking)
    }

    fn beside_lists(&self) -> bool {
        let [_, early, late, _, latest] = dates(&self.forecast).map(|day| day.map(On));
        let (of, set_by) = (self.of, self.forecast.set_by.map(Metric::name));
        (of.early_on, of.late_on, of.latest_on) != (early, late, latest)
            || of.set_by.as_deref() != set_by
    }
}

/// Works out anew the dates of the work on a car from its due points: one statement to read, one
/// more where a window has begun, and two to write, linear in them. What moves in no list leaves the
/// indexes alone, which is most of the cost.
pub(super) async fn reforecast(
    tx: &mut Tx,
    car: &CarRecord,
    (meters, zone): (&ByMeter<MeterFacts>, &Zone),
) -> Result<(), StoreError> {
    let rows: Vec<PointsRow> =
        on!(tx, conn => sqlx::query_as(OF_CAR).bind(car.id.0).fetch_all(conn).await)?;
    let (mut in_lists, mut beside) = (Vec::new(), Vec::new());
    let mut host = HostMeters {
        facts: *meters,
        line: None,
    };
    let mut passed = false;
    for of in &rows {
        passed = passed || of.points()?.are_passed(meters);
    }
    let number = &car.car.number;
    let wanted = passed.then(|| number.clone()).into_iter().collect();
    let lines = load_lines(tx, &wanted).await?;
    host.line = lines.get(number);
    let on = |meter, value| host.passed_on(meter, value, zone);
    for of in &rows {
        let forecast = core_reforecast(&of.points()?, (meters, &on));
        let lacking = lacking(&forecast)?;
        let dates = Dates {
            of,
            forecast,
            lacking,
        };
        if dates.in_lists() {
            in_lists.push(dates);
        } else if dates.beside_lists() {
            beside.push(dates);
        }
    }
    write(tx, &in_lists, "due_on = d0, early_on = d1, late_on = d2, opens_on = d3, latest_on = d4, set_by = metric, lacking = missing").await?;
    write(
        tx,
        &beside,
        "early_on = d1, late_on = d2, latest_on = d4, set_by = metric",
    )
    .await
}

async fn write(tx: &mut Tx, rows: &[Dates<'_>], set: &'static str) -> Result<(), StoreError> {
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("with forecast (meant, subject_id, task, d0, d1, d2, d3, d4, metric, missing) as (");
            query.push_values(meant(chunk), |mut row, (meant, dates_of)| {
                row.push_bind(meant).push_bind(dates_of.of.subject_id).push_bind(dates_of.of.task.as_str());
                for day in dates(&dates_of.forecast) {
                    row.push_bind(day.map(On));
                }
                row.push_bind(dates_of.forecast.set_by.map(Metric::name))
                    .push_bind(dates_of.lacking.as_deref());
            });
            query.push(") update due set ").push(set);
            query.push(" from forecast where forecast.meant and due.subject_id = forecast.subject_id and due.task = forecast.task");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
