//! What the intervals of a task count from.
//!
//! Each limit is anchored by itself: work done inside the window of one limit and outside that
//! of another counts from the due point in the one and from where it was done in the other
//! (the rule for two metrics in US Army TM 1-1500-328-23, 1999).

use crate::due::facts::{Done, FirstFitting, Moment, SubjectFacts, SubjectKind};
use crate::due::point::{calendar_point, meter_point};
use crate::due::task::{ClockStart, CountsFrom, Interval, Metric, Task, TaskKind};
use crate::time::Day;
use crate::units::{Amount, ByMeter, Meter};
use crate::words::word_list;
use serde::Serialize;

word_list! {
    /// Why an interval counts from where it does.
    CountedFrom, "counted from" {
        /// The component was made then.
        Made = "made",
        /// The car entered service then.
        EnteredService = "entered_service",
        /// It was overhauled then.
        Overhauled = "overhauled",
        /// It was first fitted then.
        Fitted = "fitted",
        /// It had been in store for as long as it may without its clock running.
        LongestInStore = "longest_in_store",
        /// The work was done then.
        Done = "done",
        /// The work was due then, and was done within tolerance.
        DuePoint = "due_point",
    }
}

/// What one interval counts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Anchor<T> {
    /// The clock starts at fitting, and the component has not been fitted.
    NotStarted,
    /// A fact is lacking.
    Unknown,
    /// A fact is lacking, and whatever it is, it counts from no later than here.
    AtTheLatest {
        /// The last point that is possible.
        from: T,
        /// Why not later.
        why: CountedFrom,
    },
    /// From here.
    At {
        /// The point.
        from: T,
        /// Why there.
        why: CountedFrom,
    },
}

impl<T> Anchor<T> {
    fn known(from: Option<T>, why: CountedFrom) -> Self {
        from.map_or(Self::Unknown, |from| Self::At { from, why })
    }
}

/// A day, kept as the day first counted from and the months since, so that due points months
/// apart do not drift towards the beginning of the month.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct CalendarOrigin {
    first: Day,
    months: u32,
}

impl CalendarOrigin {
    /// Counting begins on this day.
    pub const fn on(first: Day) -> Self {
        Self { first, months: 0 }
    }

    /// The day.
    pub fn day(self) -> Day {
        let months = i32::try_from(self.months).unwrap_or(i32::MAX);
        self.first.plus_months(months)
    }

    /// The origin one calendar interval on; use moves no day.
    pub(crate) fn after(self, interval: Interval) -> Self {
        match interval {
            Interval::Days(days) => Self::on(self.day().plus_days(i64::from(days))),
            Interval::Months(months) => Self {
                first: self.first,
                months: self.months.saturating_add(months),
            },
            Interval::Usage(..) => self,
        }
    }
}

/// What each interval of a task counts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Anchors {
    /// For the calendar limit.
    pub calendar: Anchor<CalendarOrigin>,
    /// For limits by meter, as counted use of the subject.
    pub meters: ByMeter<Anchor<Amount>>,
}

impl Anchors {
    /// The anchors after all that was done. A life limit counts from the making whatever was
    /// done since.
    pub fn of(task: &Task, subject: &SubjectFacts) -> Self {
        if task.kind == TaskKind::LifeLimit {
            return Self::at(task, &subject.made, beginning(subject));
        }
        let first = match &subject.overhauled {
            Some(overhaul) => Self::at(task, overhaul, CountedFrom::Overhauled),
            None => Self::at(task, &subject.made, beginning(subject)),
        };
        subject.doings.iter().fold(first, Self::after)
    }

    /// All intervals count from one moment.
    fn at(task: &Task, moment: &Moment, why: CountedFrom) -> Self {
        Self {
            calendar: clock(task, moment, why),
            meters: ByMeter::from_fn(|meter| Anchor::known(moment.counted[meter], why)),
        }
    }

    /// The anchors after the task was done once more.
    fn after(self, done: &Done) -> Self {
        let from_done = Self::at(done.task, &done.moment, CountedFrom::Done);
        match done.task.counts_from {
            CountsFrom::Done => from_done,
            CountsFrom::DuePoint => Self {
                calendar: self.calendar_due_point(done).unwrap_or(from_done.calendar),
                meters: ByMeter::from_fn(|meter| {
                    let due_point = self.meter_due_point(meter, done);
                    due_point.unwrap_or(from_done.meters[meter])
                }),
            },
        }
    }

    /// The calendar due point, if the task was done within its tolerance.
    fn calendar_due_point(&self, done: &Done) -> Option<Anchor<CalendarOrigin>> {
        let point = calendar_point(done.task, self);
        let inside = point.window()?.contains(&done.moment.on?);
        let limit = done.task.limit_by(Metric::Calendar)?;
        match self.calendar {
            Anchor::At { from, .. } if inside => Some(Anchor::At {
                from: from.after(limit.interval),
                why: CountedFrom::DuePoint,
            }),
            _ => None,
        }
    }

    /// The due point by a meter, if the task was done within its tolerance.
    fn meter_due_point(&self, meter: Meter, done: &Done) -> Option<Anchor<Amount>> {
        let point = meter_point(done.task, meter, self);
        let window = point.window()?;
        let inside = window.contains(&done.moment.counted[meter]?);
        inside.then_some(Anchor::At {
            from: window.due,
            why: CountedFrom::DuePoint,
        })
    }
}

/// What the life of a subject begins with.
fn beginning(subject: &SubjectFacts) -> CountedFrom {
    match subject.kind {
        SubjectKind::Component => CountedFrom::Made,
        SubjectKind::Car => CountedFrom::EnteredService,
    }
}

/// Where the clock of a calendar limit starts after a moment.
fn clock(task: &Task, moment: &Moment, why: CountedFrom) -> Anchor<CalendarOrigin> {
    let starts = |day: Option<Day>, why| Anchor::known(day.map(CalendarOrigin::on), why);
    if task.clock_start == ClockStart::Overhaul {
        return starts(moment.on, why);
    }
    let in_store = task.longest_in_store_days;
    let store_limit = || {
        let (on, days) = moment.on.zip(in_store)?;
        Some(on.plus_days(i64::from(days)))
    };
    match moment.fitted {
        FirstFitting::Unknown { at_the_latest } => no_later_than(at_the_latest, store_limit()),
        FirstFitting::NotYet if in_store.is_none() => Anchor::NotStarted,
        FirstFitting::NotYet => starts(store_limit(), CountedFrom::LongestInStore),
        FirstFitting::On(day) if moment.on == Some(day) => starts(Some(day), why),
        FirstFitting::On(day) if in_store.is_none() => starts(Some(day), CountedFrom::Fitted),
        FirstFitting::On(day) => match store_limit() {
            Some(limit) if limit < day => starts(Some(limit), CountedFrom::LongestInStore),
            Some(_) => starts(Some(day), CountedFrom::Fitted),
            None => no_later_than(Some(day), None),
        },
    }
}

/// A clock that starts at a fitting of which the day is not known, or in store before it: the last
/// day that is possible, where there is one.
fn no_later_than(fitted: Option<Day>, store_limit: Option<Day>) -> Anchor<CalendarOrigin> {
    let fitted = fitted.map(|day| (day, CountedFrom::Fitted));
    let in_store = store_limit.map(|day| (day, CountedFrom::LongestInStore));
    let last = [fitted, in_store].into_iter().flatten();
    last.min_by_key(|(day, _)| *day)
        .map_or(Anchor::Unknown, |(day, why)| Anchor::AtTheLatest {
            from: CalendarOrigin::on(day),
            why,
        })
}

#[cfg(test)]
mod tests;
