//! A due row with its steps, for people who check it by hand.

use crate::due::anchor::{Anchor, Anchors};
use crate::due::at_once::AtOnce;
use crate::due::facts::{LastReading, MeterFacts, Scale, ScaleBegins, SubjectFacts};
use crate::due::forecast::{PassedOn, meter_dates};
use crate::due::point::{Lack, Point, Window};
use crate::due::task::{Interval, Task};
use crate::due::{DueRow, compute_read};
use crate::time::Day;
use crate::units::{Amount, ByMeter, Meter};
use crate::usage::rate::DailyRate;
use crate::worked::{Source, Step, Worked};
use std::fmt::Display;

/// The same as [`compute_read`], with a step for each limit and date. Allocates its texts: for one
/// row on a page, not for lists.
pub fn worked(
    task: &Task,
    subject: &SubjectFacts,
    (meters, passed): (&ByMeter<MeterFacts>, PassedOn<'_>),
) -> Worked<DueRow> {
    let value = compute_read(task, subject, (meters, passed));
    let working = Working {
        task,
        subject,
        meters,
        passed,
        anchors: Anchors::of(task, subject),
        row: &value,
    };
    let steps = working.steps();
    Worked { value, steps }
}

struct Working<'a> {
    task: &'a Task,
    subject: &'a SubjectFacts<'a>,
    meters: &'a ByMeter<MeterFacts>,
    passed: PassedOn<'a>,
    anchors: Anchors,
    row: &'a DueRow,
}

impl Working<'_> {
    fn steps(&self) -> Vec<Step> {
        let mut steps = Vec::with_capacity(2 * self.task.limits.len() + 1);
        for limit in self.task.limits.iter() {
            match limit.interval {
                Interval::Days(days) => steps.push(self.calendar(&format!("{days} days"))),
                Interval::Months(months) => {
                    steps.push(self.calendar(&format!("{months} months")));
                }
                Interval::Usage(meter, interval) => {
                    steps.push(self.usage(meter, interval));
                    steps.extend(self.dates(meter));
                }
            }
        }
        steps.extend(self.at_once());
        steps.push(self.first());
        steps
    }

    fn calendar(&self, interval: &str) -> Step {
        let from = match self.anchors.calendar {
            Anchor::At { from, why } => format!("{why} {}", from.day()),
            Anchor::AtTheLatest { from, why } => format!("{why} {} at the latest", from.day()),
            Anchor::NotStarted | Anchor::Unknown => String::new(),
        };
        let working = match &self.row.points.calendar {
            Point::At(window) => format!("{from} + {interval}: {}", shown(window, "")),
            Point::AtTheLatest(window) => format!(
                "{from} + {interval}: {}; {}",
                shown(window, ""),
                lacking(Lack::AnchorAtTheLatest)
            ),
            point => no_point(point),
        };
        self.after_task("calendar limit".to_owned(), working)
    }

    fn usage(&self, meter: Meter, interval: Amount) -> Step {
        let unit = meter.unit();
        let Scale { ahead, begins } = self.subject.scale[meter];
        let counted = match begins {
            ScaleBegins::WithItsLife => "counted use",
            ScaleBegins::AfterAGap => "use counted after the last gap in its use",
        };
        let told = |amount: Amount| amount.worked_out(meter);
        let from = match self.anchors.meters[meter] {
            Anchor::At { from, why } => format!("{why} at {} {unit} of {counted}", told(from)),
            Anchor::NotStarted | Anchor::Unknown | Anchor::AtTheLatest { .. } => String::new(),
        };
        let working = match &self.row.points.meters[meter] {
            Point::At(Window { opens, due, latest }) => {
                let [opens, due, latest] = [*opens, *due, *latest].map(told);
                format!(
                    "{from} + {interval} {unit} + {} {unit} that the car's meter is ahead: {}",
                    told(ahead),
                    shown(&Window { opens, due, latest }, unit)
                )
            }
            point => no_point(point),
        };
        self.after_task(format!("{meter} limit"), working)
    }

    /// When a meter reaches its due point, where that is known.
    fn dates(&self, meter: Meter) -> Option<Step> {
        let point = &self.row.points.meters[meter];
        let window = point.window()?;
        let facts = &self.meters[meter];
        let passed = |value| (self.passed)(meter, value);
        let dates = meter_dates(point, facts, &passed);
        let unit = meter.unit();
        let reached = facts.last.filter(|last| window.due < last.usage);
        if let Some((last, on)) = reached.and_then(|last| Some((last, passed(window.due)?))) {
            let LastReading { on: read_on, usage } = last;
            return Some(Step {
                what: format!("{meter} date"),
                working: format!(
                    "{} {unit} on {read_on}; {} {unit} passed on {on}, between the readings around it",
                    usage.tenths(),
                    window.due.worked_out(meter)
                ),
                source: Source::CommonPractice,
            });
        }
        let read = facts
            .last
            .map_or_else(String::new, |LastReading { on, usage }| {
                let remaining = (window.due - usage).worked_out(meter);
                format!(
                    "{} {unit} on {on}, {remaining} {unit} remain",
                    usage.tenths()
                )
            });
        let rate = facts.rate.map_or_else(String::new, |rate| gain(rate, unit));
        let outcome = match (dates.lacking, dates.on) {
            (Some(lack), _) => lacking(lack),
            (None, Some(on)) => format!("{on} ({} to {})", date(dates.early), date(dates.late)),
            (None, None) => "no date, because the meter stands still".to_owned(),
        };
        let mut parts = vec![read, rate, outcome];
        parts.retain(|part| !part.is_empty());
        Some(Step {
            what: format!("{meter} date"),
            working: parts.join("; "),
            source: Source::CommonPractice,
        })
    }

    /// Why the work is due at once, if it is.
    fn at_once(&self) -> Option<Step> {
        let AtOnce { on, cause, by } = self.row.points.at_once?;
        let working = format!("{cause} on {on}, {by}");
        Some(self.after_task("due at once".to_owned(), working))
    }

    fn first(&self) -> Step {
        let forecast = &self.row.forecast;
        let due = match (forecast.on, forecast.set_by) {
            (Some(on), Some(metric)) => format!("{on}, set by {metric}"),
            (Some(on), None) => format!("{on}, at once"),
            _ => "no date".to_owned(),
        };
        let unknown = forecast.lacking.iter();
        let unknown = unknown.map(|(metric, lack)| format!("{metric} limit {}", lacking(lack)));
        let parts: Vec<String> = std::iter::once(due).chain(unknown).collect();
        self.after_task(
            "due at the first of its limits".to_owned(),
            parts.join("; "),
        )
    }

    fn after_task(&self, what: String, working: String) -> Step {
        let (code, revision) = (&self.task.code, &self.task.revision);
        let place = format!(
            "task {code} revision {revision}, after {}",
            self.task.source
        );
        Step {
            what,
            working,
            source: Source::Operator(place),
        }
    }
}

fn shown<T: Display>(window: &Window<T>, unit: &str) -> String {
    let Window { opens, due, latest } = window;
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    format!("due {due}{unit}, window {opens} to {latest}{unit}")
}

fn gain(rate: DailyRate, unit: &str) -> String {
    let [slow, likely, fast] = [rate.slow(), rate.likely(), rate.fast()].map(Amount::tenths);
    format!("{likely} {unit} a day ({slow} to {fast})")
}

fn date(day: Option<Day>) -> String {
    day.map_or_else(|| "no date".to_owned(), |day| day.to_string())
}

fn no_point<T>(point: &Point<T>) -> String {
    match point {
        Point::Unknown(lack) => lacking(*lack),
        Point::NotStarted => "not started: counts from fitting".to_owned(),
        Point::NoLimit | Point::At(_) | Point::AtTheLatest(_) => String::new(),
    }
}

fn lacking(lack: Lack) -> String {
    let fact = match lack {
        Lack::AnchorAtTheLatest => {
            return "known only at the latest, for want of the day it counts from".to_owned();
        }
        Lack::Anchor => "what it counts from",
        Lack::Use => "the use at a fitting or removal since",
        Lack::Reading => "a reading of the meter",
        Lack::Rate => "a second reading for the daily rate",
    };
    format!("unknown for want of {fact}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::due::examples::{fitted_new, odometer, overhaul};
    use crate::due::facts::{FirstFitting, Moment};
    use crate::due::task::ClockStart;

    fn workings(meters: &ByMeter<MeterFacts>) -> Vec<String> {
        let steps = worked(&overhaul(), &fitted_new(), (meters, &|_, _| None)).steps;
        steps.into_iter().map(|step| step.working).collect()
    }

    #[test]
    fn the_steps_can_be_followed_by_hand() {
        assert_eq!(
            workings(&odometer("2025-06-01", 230_000)),
            [
                "made 2024-01-31 + 24 months: due 2026-01-31, window 2025-12-02 to 2026-03-02",
                "made at 0 km of counted use + 200000 km + 50000 km that the car's meter is \
                 ahead: due 250000 km, window 230000 to 260000 km",
                "230000 km on 2025-06-01, 20000 km remain; 400 km a day (300 to 500); \
                 2025-07-21 (2025-07-11 to 2025-08-06)",
                "2025-07-21, set by odometer",
            ]
        );
    }

    #[test]
    fn the_steps_are_no_finer_than_what_was_read() {
        let mut meters = odometer("2025-06-01", 230_000);
        let last = meters.odometer.last.as_mut().expect("it was read");
        last.usage = last.usage + Amount(123);
        let [slow, likely, fast] = [300_049, 400_051, 500_000].map(Amount);
        meters.odometer.rate = DailyRate::new(slow, likely, fast);
        assert_eq!(
            workings(&meters)[2],
            "230000.1 km on 2025-06-01, 20000 km remain; 400.1 km a day (300 to 500); \
             2025-07-20 (2025-07-10 to 2025-08-06)"
        );
    }

    #[test]
    fn a_day_that_is_known_only_at_the_latest_is_told_as_such() {
        let ages = Task {
            clock_start: ClockStart::Fitting,
            longest_in_store_days: Some(730),
            ..overhaul()
        };
        let used = SubjectFacts {
            made: Moment {
                fitted: FirstFitting::UNKNOWN,
                ..fitted_new().made
            },
            ..fitted_new()
        };
        let meters = odometer("2025-06-01", 60_000);
        let steps = worked(&ages, &used, (&meters, &|_, _| None)).steps;
        assert_eq!(
            steps[0].working,
            "longest in store 2026-01-30 at the latest + 24 months: due 2028-01-30, window \
             2027-12-01 to 2028-02-29; known only at the latest, for want of the day it counts from"
        );
    }

    #[test]
    fn what_is_lacking_is_named_in_the_steps() {
        let mut meters = odometer("2025-06-01", 230_000);
        meters.odometer.rate = None;
        let workings = workings(&meters);
        assert_eq!(
            workings[3],
            "2026-01-31, set by calendar; odometer limit unknown for want of a second reading \
             for the daily rate"
        );
    }
}
