//! Rows of the due list as they come from the database.

use super::{DueCursor, DueItem, MeterLimit};
use crate::column::{At, On};
use crate::row::{from_json, parsed, parsed_option, row};
use domain::configuration::component::{ComponentRef, Subject};
use domain::due::forecast::{Forecast, Lacking};
use domain::due::task::Metric;
use domain::identity::TaskCode;
use domain::time::Day;
use domain::units::{Amount, Meter};

row!(
    /// A row of the due list.
    DueListRow {
    subject_id: i64,
    task: String,
    part: Option<String>,
    serial: Option<String>,
    subject_car: Option<String>,
    car: Option<String>,
    unit_number: Option<String>,
    position: Option<String>,
    fleet: Option<String>,
    depot: Option<String>,
    location: Option<String>,
    due_on: Option<On>,
    early_on: Option<On>,
    late_on: Option<On>,
    opens_on: Option<On>,
    latest_on: Option<On>,
    set_by: Option<String>,
    lacking: Option<String>,
    at_once: Option<String>,
    odometer_due: Option<i64>,
    running_hours_due: Option<i64>,
    compressor_hours_due: Option<i64>,
    last_at: Option<At>,
    last_usage: Option<i64>,
    last_shown: Option<i64>,
    estimated: i64,
});

/// The due rows of a list, up to the conditions. What is told of their subjects is looked up by
/// [`TOLD`] for the rows of the page alone. That the date rests on use of which no reading tells is
/// found as the core finds it (`ComponentHistory::estimated_for`): the component came off a car after
/// the last reading of its meter, with no gap in its use since and the task not done since.
pub(super) const LISTED: &str = "select listed.subject_id, listed.task, component.part, component.serial, subject_car.number as subject_car, car.number as car, car.unit_number, listed.position, listed.fleet, listed.depot, component.location, listed.due_on, listed.early_on, listed.late_on, listed.opens_on, listed.latest_on, listed.set_by, listed.lacking, listed.at_once, listed.odometer_due, listed.running_hours_due, listed.compressor_hours_due, meter.last_at, meter.last_usage, meter.last_shown,
    cast(case when listed.set_by <> 'calendar' and exists (select 1 from fitment came_off cross join meter last_read where came_off.component_id = listed.component_id and came_off.known_until is null
        and last_read.car_id = came_off.car_id and last_read.meter = case listed.set_by when 'odometer' then 0 when 'running_hours' then 1 when 'compressor_hours' then 2 end
        and last_read.last_at < came_off.until_at and case listed.set_by when 'odometer' then came_off.until_odometer when 'running_hours' then came_off.until_running_hours else came_off.until_compressor_hours end is not null
        and not exists (select 1 from work_done where work_done.component_id = listed.component_id and work_done.task = listed.task and work_done.done_at >= came_off.until_at)
        and not exists (select 1 from (select fitment.from_at, fitment.until_at, case listed.set_by when 'odometer' then fitment.from_odometer when 'running_hours' then fitment.from_running_hours else fitment.from_compressor_hours end as began, case listed.set_by when 'odometer' then fitment.until_odometer when 'running_hours' then fitment.until_running_hours else fitment.until_compressor_hours end as ended
            from fitment where fitment.component_id = listed.component_id and fitment.known_until is null and fitment.from_at >= came_off.from_at) gap
            where (gap.from_at > came_off.from_at and gap.began is null) or (gap.until_at is not null and ((gap.began is null and gap.ended is null) or (gap.began is not null and (gap.ended is null or gap.ended < gap.began)))))) then 1 else 0 end as BIGINT) as estimated
    from (select due.* from due where ";

/// What follows the conditions, order and limit of [`LISTED`]. The rows come in no order.
pub(super) const TOLD: &str = ") listed
    left join component on component.id = listed.component_id
    left join car on car.id = listed.car_id
    left join meter on meter.car_id = listed.car_id and meter.meter = case listed.set_by when 'odometer' then 0 when 'running_hours' then 1 when 'compressor_hours' then 2 end
    left join car subject_car on subject_car.id = listed.subject_id and listed.component_id is null";

/// A forecast as kept: its days in the order of the columns, which limit sets the first, and what
/// is lacking, and what makes it due at once.
pub(crate) fn forecast(
    days: [Option<On>; 5],
    set_by: Option<&str>,
    lacking: Option<&str>,
    at_once: Option<&str>,
) -> Result<Forecast, sqlx::Error> {
    let [on, early, late, opens, latest] = days.map(|day| day.map(|on| on.0));
    Ok(Forecast {
        on,
        early,
        late,
        opens,
        latest,
        set_by: parsed_option(set_by)?,
        lacking: lacking.map_or(Ok(Lacking::default()), from_json)?,
        at_once: at_once.map(from_json).transpose()?,
    })
}

impl DueListRow {
    /// The row as the core has it, with its state on a day.
    pub(super) fn item(&self, today: Day) -> Result<DueItem, sqlx::Error> {
        let subject = match (&self.part, &self.serial, &self.subject_car) {
            (Some(part), Some(serial), _) => Subject::Component(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            }),
            (_, _, Some(car)) => Subject::Car(parsed(car)?),
            _ => return Err(sqlx::Error::Decode("due work on nothing".into())),
        };
        let days = [
            self.due_on,
            self.early_on,
            self.late_on,
            self.opens_on,
            self.latest_on,
        ];
        let forecast = forecast(
            days,
            self.set_by.as_deref(),
            self.lacking.as_deref(),
            self.at_once.as_deref(),
        )?;
        let task: TaskCode = parsed(&self.task)?;
        Ok(DueItem {
            cursor: DueCursor {
                on: forecast.on,
                subject: self.subject_id,
                task: task.clone(),
            },
            subject,
            task,
            car: parsed_option(self.car.as_deref())?,
            unit: parsed_option(self.unit_number.as_deref())?,
            position: parsed_option(self.position.as_deref())?,
            fleet: parsed_option(self.fleet.as_deref())?,
            depot: parsed_option(self.depot.as_deref())?,
            location: parsed_option(self.location.as_deref())?,
            state: forecast.state_on(today),
            limit: self.limit(forecast.set_by),
            estimated: self.estimated != 0,
            forecast,
        })
    }

    /// The due points are kept as use counted on through replacements of the meter; people read
    /// what the present meter shows.
    fn limit(&self, set_by: Option<Metric>) -> Option<MeterLimit> {
        let (meter, due) = match set_by? {
            Metric::Calendar => return None,
            Metric::Odometer => (Meter::Odometer, self.odometer_due?),
            Metric::RunningHours => (Meter::RunningHours, self.running_hours_due?),
            Metric::CompressorHours => (Meter::CompressorHours, self.compressor_hours_due?),
        };
        let last = match (self.last_at, self.last_usage, self.last_shown) {
            (Some(at), Some(usage), Some(shown)) => Some((at.0, Amount(usage), Amount(shown))),
            _ => None,
        };
        let behind = last.map_or(Amount(0), |(_, usage, shown)| usage - shown);
        Some(MeterLimit {
            meter,
            at: Amount(due) - behind,
            last: last.map(|(at, _, shown)| (at, shown)),
        })
    }
}
