//! Tasks and facts for the checks of due points against published rules.

use domain::due::compute;
use domain::due::facts::{
    Done, FirstFitting, MeterFacts, Moment, Scale, SubjectFacts, SubjectKind,
};
use domain::due::point::DuePoints;
use domain::due::task::{AppliesTo, ClockStart, CountsFrom, Interval, Limit, Task, TaskKind};
use domain::time::Day;
use domain::units::{Amount, ByMeter, Meter};

/// A limit with the same tolerance before and after.
pub const fn limit(interval: Interval, early: i64, late: i64) -> Limit {
    Limit {
        interval,
        early,
        late,
    }
}

/// Thousandths of an hour as an amount of running hours.
pub const fn running_hours(thousandths: i64) -> Interval {
    Interval::Usage(Meter::RunningHours, Amount(thousandths))
}

/// A repeating inspection.
///
/// # Panics
/// When the limits are not those of a task.
pub fn inspection(source: &str, limits: &[Limit], counts_from: CountsFrom) -> Task {
    Task {
        code: "T-1".parse().expect("a code"),
        revision: "A".parse().expect("a revision"),
        title: "Inspection".to_owned(),
        kind: TaskKind::Inspection,
        applies_to: AppliesTo::Part("P-1".parse().expect("a part number")),
        limits: limits.to_vec().try_into().expect("limits of a task"),
        counts_from,
        clock_start: ClockStart::Overhaul,
        longest_in_store_days: None,
        satisfies: Vec::new(),
        obligations: Vec::new(),
        source: source.to_owned(),
    }
}

/// A day from its text.
///
/// # Panics
/// When there is no such day.
pub fn day(text: &str) -> Day {
    text.parse().expect("a date")
}

/// A moment on a day with so many thousandths of running hours.
pub fn moment(on: &str, hours_thousandths: i64) -> Moment {
    Moment {
        on: Some(day(on)),
        fitted: FirstFitting::On(day(on)),
        counted: ByMeter {
            running_hours: Some(Amount(hours_thousandths)),
            ..ByMeter::default()
        },
    }
}

/// Where a task lies whose first interval counts from the first moment, and which was done at
/// the others.
pub fn points_after(task: &Task, first: Moment, done: &[Moment]) -> DuePoints {
    let doings: Vec<Done> = done.iter().map(|&moment| Done { moment, task }).collect();
    let subject = SubjectFacts {
        kind: SubjectKind::Component,
        made: first,
        overhauled: None,
        doings: &doings,
        scale: ByMeter::from_fn(|_| Scale::OWN),
        at_once: None,
    };
    compute(task, &subject, &ByMeter::from_fn(|_| MeterFacts::UNKNOWN)).points
}
