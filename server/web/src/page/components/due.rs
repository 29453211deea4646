//! The due work of a component: each task with its limits, where each limit lies, and which of
//! them sets the date.

use super::used::told;
use crate::address;
use crate::due::words;
use crate::show;
use domain::due::DueRow;
use domain::due::point::{Lack, Point, Window};
use domain::due::state::State;
use domain::due::task::{Interval, Limit, Metric, Task};
use domain::identity::TaskCode;
use domain::ledger::standing::{ComponentHistory, MeterStanding};
use domain::time::{Day, Instant, Zone};
use domain::units::{Amount, Meter};
use domain::worked::{Step, Worked};
use std::sync::Arc;

/// A task of a component.
#[derive(Debug)]
pub(super) struct TaskRow {
    pub(super) task: Arc<Task>,
    pub(super) state: State,
    pub(super) on: Option<Day>,
    /// Why it is due at once, with the address of the entry that says so.
    pub(super) at_once: Option<(String, String)>,
    /// Early and late date, where they differ.
    pub(super) spread: Option<(String, String)>,
    pub(super) limits: Vec<LimitRow>,
    pub(super) steps: Vec<Step>,
}

/// A limit of a task.
#[derive(Debug)]
pub(super) struct LimitRow {
    pub(super) interval: String,
    pub(super) tolerance: String,
    /// Where it lies, or why that cannot be told.
    pub(super) point: Result<String, String>,
    pub(super) sets_the_date: bool,
    /// What no reading tells of the use on which it rests, in words.
    pub(super) estimated: Vec<String>,
}

/// Whose work it is, and the moment that is told of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Of<'a> {
    pub(super) history: &'a ComponentHistory<'a>,
    pub(super) at: Instant,
    pub(super) zone: &'a Zone,
}

impl Of<'_> {
    /// What no reading tells of the use on which a limit of a task rests.
    fn estimated(self, task: &TaskCode, interval: Interval) -> Vec<String> {
        match interval {
            Interval::Days(_) | Interval::Months(_) => Vec::new(),
            Interval::Usage(meter, _) => {
                let estimated = self.history.estimated_for(task, meter, self.at);
                told(&estimated, self.zone)
            }
        }
    }
}

/// Where the component is: limits by meter are told as what the host car's meter then shows, or
/// in store as the component's own use.
#[derive(Debug, Clone, Copy)]
pub(super) enum Where<'a> {
    OnCar(&'a [(Meter, MeterStanding)]),
    InStore,
}

impl Where<'_> {
    /// How far what the meter shows lies below what the car has run, after replacements.
    fn offset(self, meter: Meter) -> Option<Amount> {
        let Where::OnCar(standings) = self else {
            return None;
        };
        let standing = standings.iter().find(|(other, _)| *other == meter);
        standing.map(|(_, standing)| standing.last.usage - standing.shown)
    }
}

/// The tasks in the order of their dates; those without a date last.
pub(super) fn rows(
    worked: Vec<(Arc<Task>, Worked<DueRow>)>,
    place: Where<'_>,
    of: Of<'_>,
) -> Vec<TaskRow> {
    let mut rows: Vec<TaskRow> = worked
        .into_iter()
        .map(|(task, worked)| row(task, worked, place, of))
        .collect();
    rows.sort_by_key(|row| (row.on.is_none(), row.on, row.task.code.clone()));
    rows
}

fn row(task: Arc<Task>, worked: Worked<DueRow>, place: Where<'_>, of: Of<'_>) -> TaskRow {
    let Worked {
        value: DueRow { points, forecast },
        steps,
    } = worked;
    let limits = task.limits.iter().map(|limit| {
        let point = match limit.interval {
            Interval::Days(_) | Interval::Months(_) => calendar_point(&points.calendar),
            Interval::Usage(meter, _) => usage_point(&points.meters[meter], meter, place),
        };
        LimitRow {
            interval: interval(limit.interval),
            tolerance: tolerance(&task, limit),
            estimated: match point {
                Ok(_) => of.estimated(&task.code, limit.interval),
                Err(_) => Vec::new(),
            },
            point,
            sets_the_date: forecast.set_by == Some(limit.interval.metric()),
        }
    });
    TaskRow {
        state: forecast.state_on(of.zone.day_of(of.at)),
        on: forecast.on,
        at_once: forecast
            .at_once
            .map(|found| (words::at_once(&found), address::entry(found.by))),
        spread: forecast
            .early
            .zip(forecast.late)
            .filter(|(early, late)| early != late)
            .map(|(early, late)| (early.to_string(), late.to_string())),
        limits: limits.collect(),
        task,
        steps,
    }
}

fn interval(interval: Interval) -> String {
    match interval {
        Interval::Days(days) => format!("{days} days"),
        Interval::Months(months) => format!("{months} months"),
        Interval::Usage(meter, amount) => format!("{} ({meter})", show::tenths(amount, meter)),
    }
}

fn tolerance(task: &Task, limit: &Limit) -> String {
    let by = |value: i64| match limit.interval {
        Interval::Days(_) | Interval::Months(_) => format!("{value} days"),
        Interval::Usage(meter, _) => show::tenths(Amount(value), meter),
    };
    format!("{} early, {} late", by(limit.early), by(task.late(limit)))
}

fn calendar_point(point: &Point<Day>) -> Result<String, String> {
    match point {
        Point::At(Window { opens, due, latest }) => {
            Ok(format!("{due}; window {opens} to {latest}"))
        }
        Point::AtTheLatest(Window { due, latest, .. }) => Ok(format!(
            "at the latest {due}, and overdue after {latest}; the day it counts from is not known"
        )),
        other => Err(no_point(other, Metric::Calendar)),
    }
}

fn usage_point(point: &Point<Amount>, meter: Meter, place: Where<'_>) -> Result<String, String> {
    let (words, offset) = match (place, place.offset(meter)) {
        (Where::InStore, _) => ("when it has run, counted since it came in,", Amount(0)),
        (Where::OnCar(_), Some(offset)) => ("when the car’s meter shows", offset),
        (Where::OnCar(_), None) => ("when the car has run", Amount(0)),
    };
    let amount = |amount: &Amount| show::amount(*amount - offset, meter);
    match point {
        Point::At(Window { opens, due, latest }) => Ok(format!(
            "{words} {}; window {} to {}",
            amount(due),
            amount(opens),
            amount(latest)
        )),
        other => Err(no_point(other, meter.into())),
    }
}

fn no_point<T>(point: &Point<T>, metric: Metric) -> String {
    match point {
        Point::NotStarted => "not started: it counts from fitting".to_owned(),
        Point::Unknown(lack) => {
            let lack = match lack {
                Lack::Anchor | Lack::AnchorAtTheLatest => "what it counts from",
                Lack::Use => "a reading at fitting or removal",
                Lack::Reading => "a reading of the car’s meter",
                Lack::Rate => "a second reading for the daily rate",
            };
            format!("cannot be told, because this is missing: {lack} ({metric})")
        }
        Point::NoLimit | Point::At(_) | Point::AtTheLatest(_) => String::new(),
    }
}
