//! What is on the cars of a formation now, as a decision needs it.

use super::proved::tell_unproved;
use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, parsed_option, row};
use domain::configuration::filled::FilledPositions;
use domain::decision::conceded::DepartsThere;
use domain::decision::due_at_once::DueAtOnce;
use domain::decision::failed_test::FailedTest;
use domain::decision::overdue::OverdueTask;
use domain::decision::shortcoming::FittedTold;
use domain::due::task::Metric;
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::entry::Seq;
use domain::time::{Day, Instant};
use domain::units::{Amount, Meter};
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

row!(OnCarRow {
    car: String,
    positions: String,
    part: Option<String>,
    condition: Option<String>,
    departs: Option<String>,
    setting: Option<String>,
    concession: Option<String>,
    from_on: Option<On>,
    until_on: Option<On>,
    failed: Option<String>,
    at_once: Option<String>,
    overdue: Option<String>,
    limit_at: Option<i64>,
});

/// Pushes the numbers of cars, with commas between.
macro_rules! push_numbers {
    ($query:expr, $numbers:expr) => {{
        let mut list = $query.separated(", ");
        for number in $numbers {
            list.push_bind(number.as_str());
        }
    }};
}

/// What is on a car: the positions that hold a component, what is told of some of them, and the
/// places that depart from the baseline, in their order; its tests that were failed and not passed
/// since; and its work that is due at once, on what is fitted to it as well, and that is overdue.
#[derive(Default)]
pub(super) struct OnCar {
    pub(super) filled: FilledPositions,
    pub(super) told: Vec<FittedTold>,
    pub(super) departs: Vec<DepartsThere>,
    pub(super) failed_tests: Vec<FailedTest>,
    pub(super) due_at_once: Vec<DueAtOnce>,
    pub(super) overdue: Vec<OverdueTask>,
}

impl OnCarRow {
    /// The task that the row tells to be overdue, with the limit that sets its day.
    fn overdue(&self, set_by: &str) -> Result<Option<OverdueTask>, sqlx::Error> {
        let Some(due) = self.from_on else {
            return Ok(None);
        };
        let set_by: Option<Metric> = parsed_option(Some(set_by).filter(|name| !name.is_empty()))?;
        let meter = match set_by {
            None | Some(Metric::Calendar) => None,
            Some(Metric::Odometer) => Some(Meter::Odometer),
            Some(Metric::RunningHours) => Some(Meter::RunningHours),
            Some(Metric::CompressorHours) => Some(Meter::CompressorHours),
        };
        // What was passed before the meter began is no reading of it.
        let shown = self.limit_at.map(Amount).filter(|at| Amount(0) <= *at);
        Ok(Some(OverdueTask {
            latest: self.until_on.map(|latest| latest.0),
            due: due.0,
            // What stands in the place of positions is the task, and in that of the part the position.
            task: parsed(&self.positions)?,
            position: parsed_option(self.part.as_deref())?,
            at: meter.zip(shown),
        }))
    }
}

impl OnCar {
    fn add(&mut self, row: OnCarRow) -> Result<(), sqlx::Error> {
        if let Some(set_by) = &row.overdue {
            self.overdue.extend(row.overdue(set_by)?);
        } else if let Some(at_once) = &row.at_once {
            // What stands in the place of positions is the task, and in that of the part the position.
            let task = parsed(&row.positions)?;
            let found = from_json(at_once)?;
            self.due_at_once
                .extend(match parsed_option(row.part.as_deref())? {
                    None => DueAtOnce::of_car(task, &found),
                    Some(position) => Some(DueAtOnce::of_fitted(task, position, &found)),
                });
        } else if let Some(failed) = &row.failed {
            // What stands in the place of positions is the procedure.
            self.failed_tests.push(FailedTest {
                procedure: parsed(&row.positions)?,
                record: parsed(failed)?,
                unproved: Vec::new(),
            });
        } else if let (Some(part), Some(condition)) = (&row.part, &row.condition) {
            self.told.push(FittedTold {
                position: parsed(&row.positions)?,
                part: parsed(part)?,
                condition: parsed(condition)?,
            });
        } else if let (Some(kind), Some(from)) = (&row.departs, row.from_on) {
            let setting = row.setting.as_deref().filter(|name| !name.is_empty());
            for position in row.positions.split(' ') {
                self.departs.push(DepartsThere {
                    position: parsed(position)?,
                    setting: parsed_option(setting)?,
                    kind: parsed(kind)?,
                    concession: parsed_option(row.concession.as_deref())?,
                    from: from.0,
                    until: row.until_on.map(|until| until.0),
                });
            }
        } else {
            self.filled = FilledPositions::of(row.positions);
        }
        Ok(())
    }
}

/// What is on cars. The codes of filled positions come with a space between: one row a car is read
/// in a third of the time of one a position; so do those of places that depart in one way, which are
/// many where nobody recorded how anything is set. What is told is of components at the places given,
/// and of all that are not serviceable, of which a register has few. Of tests the last by each
/// procedure that counts is told, where it was failed. What is overdue, and due at once on what is
/// fitted, is told as on a day, linear in what is due on the cars by it. One statement, and three where a
/// test was failed.
pub(super) async fn on_cars(
    tx: &mut Tx,
    numbers: &[CarNumber],
    (places, day): (&BTreeSet<PositionCode>, Day),
) -> Result<HashMap<CarNumber, OnCar>, StoreError> {
    let rows: Vec<OnCarRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, string_agg(fitment.position, ' ') as positions, cast(null as TEXT) as part, cast(null as TEXT) as condition, cast(null as TEXT) as departs, cast(null as TEXT) as setting, cast(null as TEXT) as concession, cast(null as DATE) as from_on, cast(null as DATE) as until_on, cast(null as TEXT) as failed, cast(null as TEXT) as at_once, cast(null as TEXT) as overdue, cast(null as BIGINT) as limit_at from car join fitment on fitment.car_id = car.id where fitment.until_at is null and fitment.known_until is null and car.number in (");
        push_numbers!(query, numbers);
        query.push(") group by car.number union all select car.number, fitment.position, component.part, component.condition, null, null, null, null, null, null, null, null, null from car cross join fitment cross join component where car.number in (");
        push_numbers!(query, numbers);
        query.push(") and fitment.car_id = car.id and fitment.position in (");
        let mut list = query.separated(", ");
        list.push_bind("");
        for place in places {
            list.push_bind(place.as_str());
        }
        query.push(") and fitment.until_at is null and fitment.known_until is null and component.id = fitment.component_id union all select car.number, fitment.position, component.part, component.condition, null, null, null, null, null, null, null, null, null from component cross join fitment cross join car where component.condition <> 'serviceable' and component.location is null and fitment.component_id = component.id and fitment.until_at is null and fitment.known_until is null and car.id = fitment.car_id and car.number in (");
        push_numbers!(query, numbers);
        query.push(") union all select car.number, test_record.procedure_code, null, null, null, null, null, null, null, test_record.name, null, null, null from car cross join test_record where test_record.car_id = car.id and test_record.outcome = 'failed' and not exists (select 1 from test_record later where later.car_id = test_record.car_id and later.procedure_code = test_record.procedure_code and later.outcome in ('passed', 'failed') and (later.tested_at > test_record.tested_at or (later.tested_at = test_record.tested_at and later.id > test_record.id))) and car.number in (");
        push_numbers!(query, numbers);
        query.push(") union all select car.number, due.task, null, null, null, null, null, null, null, null, due.at_once, null, null from car cross join due where due.subject_id = car.id and due.at_once is not null and car.number in (");
        push_numbers!(query, numbers);
        query.push(") union all select car.number, due.task, due.position, null, null, null, null, null, null, null, due.at_once, null, null from car cross join due where due.car_id = car.id and due.position is not null and due.at_once is not null and due.due_on <= ");
        query.push_bind(On(day)).push(" and car.number in (");
        push_numbers!(query, numbers);
        query.push(") union all select car.number, due.task, due.position, null, null, null, null, due.due_on, case when due.at_once is null then due.latest_on end, null, null, coalesce(due.set_by, ''), case due.set_by when 'odometer' then due.odometer_due when 'running_hours' then due.running_hours_due when 'compressor_hours' then due.compressor_hours_due end - (meter.last_usage - meter.last_shown) from car cross join due left join meter on meter.car_id = due.car_id and meter.meter = case due.set_by when 'odometer' then 0 when 'running_hours' then 1 when 'compressor_hours' then 2 end where due.car_id = car.id and due.due_on < ");
        query.push_bind(On(day)).push(" and due.latest_on < ").push_bind(On(day));
        query.push(" and car.number in (");
        push_numbers!(query, numbers);
        query.push(") union all select car.number, string_agg(departure.position, ' '), null, null, departure.kind, departure.setting, departure.concession, departure.from_on, departure.until_on, null, null, null, null from car cross join departure where departure.car_id = car.id and car.number in (");
        push_numbers!(query, numbers);
        query.push(") group by car.number, departure.kind, departure.setting, departure.concession, departure.from_on, departure.until_on order by 1, 2");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut on_cars: HashMap<CarNumber, OnCar> = HashMap::new();
    for row in rows {
        on_cars.entry(parsed(&row.car)?).or_default().add(row)?;
    }
    for on_car in on_cars.values_mut() {
        on_car.departs.sort();
        on_car.failed_tests.sort();
        on_car.due_at_once.sort();
    }
    let failed = on_cars.iter_mut();
    let failed = failed.map(|(car, on_car)| (car, &mut on_car.failed_tests));
    let now = (Seq(i64::MAX), Instant::LATEST);
    tell_unproved(tx, failed.collect(), now).await?;
    Ok(on_cars)
}
