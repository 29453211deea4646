//! Due points: where each limit of a task lies, as a day or as a reading of the host car.

use crate::due::anchor::{Anchor, Anchors};
use crate::due::at_once::AtOnce;
use crate::due::facts::{MeterFacts, Scale, ScaleBegins, SubjectFacts};
use crate::due::task::{Interval, Limit, Metric, Task};
use crate::time::Day;
use crate::units::{Amount, ByMeter, Meter};
use crate::words::word_list;
use serde::Serialize;

/// A due point with its tolerances.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct Window<T> {
    /// From here on the work counts as done for this due point.
    pub opens: T,
    /// The due point.
    pub due: T,
    /// Beyond this the work is overdue.
    pub latest: T,
}

impl<T: Ord> Window<T> {
    /// Whether work done here is done within tolerance; both bounds are inside.
    pub fn contains(&self, done: &T) -> bool {
        self.opens <= *done && *done <= self.latest
    }
}

word_list! {
    /// Which fact is lacking to tell when a limit is reached.
    Lack, "lacking fact" {
        /// What the interval counts from: a day or the use when the work was done.
        Anchor = "anchor",
        /// The day that the interval counts from, of which only the last that is possible is known.
        AnchorAtTheLatest = "anchor_at_the_latest",
        /// What the component has run since then, for want of a reading when it was fitted or
        /// taken off.
        Use = "use",
        /// Any reading of the meter.
        Reading = "reading",
        /// What the meter gains a day, for want of a second reading.
        Rate = "rate",
    }
}

/// Where a limit lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Point<T> {
    /// The task has no such limit.
    NoLimit,
    /// The clock starts at fitting, and the component has not been fitted.
    NotStarted,
    /// It cannot be told.
    Unknown(Lack),
    /// Here at the latest, for want of [`Lack::AnchorAtTheLatest`].
    AtTheLatest(Window<T>),
    /// Here.
    At(Window<T>),
}

impl<T> Point<T> {
    /// The window, where it is known.
    pub fn window(&self) -> Option<&Window<T>> {
        match self {
            Self::At(window) => Some(window),
            Self::NoLimit | Self::NotStarted | Self::Unknown(_) | Self::AtTheLatest(_) => None,
        }
    }

    /// The window, where it or the last that is possible is known.
    pub fn last_window(&self) -> Option<&Window<T>> {
        match self {
            Self::At(window) | Self::AtTheLatest(window) => Some(window),
            Self::NoLimit | Self::NotStarted | Self::Unknown(_) => None,
        }
    }
}

/// Where the limits of a task lie for one car or component.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct DuePoints {
    /// The calendar limit.
    pub calendar: Point<Day>,
    /// The limits by meter, each as the use of the host car at which it is reached. For a
    /// component in store: its own counted use.
    pub meters: ByMeter<Point<Amount>>,
    /// Why it is due at once, if it is.
    pub at_once: Option<AtOnce>,
}

impl DuePoints {
    /// Whether a last reading has reached where the window of a limit begins: when that was, and when
    /// the limit was reached if it was, is told by the line through the readings.
    pub fn are_passed(&self, meters: &ByMeter<MeterFacts>) -> bool {
        Meter::ALL.iter().any(|&meter| {
            let window = self.meters[meter].window();
            let last = meters[meter].last;
            window
                .zip(last)
                .is_some_and(|(window, last)| window.opens <= last.usage)
        })
    }

    /// The due points from what the intervals count from, moved from the subject's counted use
    /// to the use of its host.
    pub fn of(task: &Task, anchors: &Anchors, subject: &SubjectFacts) -> Self {
        let on_host = |meter| {
            let Scale { ahead, begins } = subject.scale[meter];
            match meter_point(task, meter, anchors) {
                Point::At(window) => Point::At(Window {
                    opens: window.opens + ahead,
                    due: window.due + ahead,
                    latest: window.latest + ahead,
                }),
                // What it counts from lies before the gap.
                Point::Unknown(Lack::Anchor) if begins == ScaleBegins::AfterAGap => {
                    Point::Unknown(Lack::Use)
                }
                point => point,
            }
        };
        Self {
            calendar: calendar_point(task, anchors),
            meters: ByMeter::from_fn(on_host),
            at_once: subject.at_once,
        }
    }
}

/// Where the calendar limit lies.
pub(crate) fn calendar_point(task: &Task, anchors: &Anchors) -> Point<Day> {
    let Some(limit) = task.limit_by(Metric::Calendar) else {
        return Point::NoLimit;
    };
    anchored(anchors.calendar, |origin| {
        let due = origin.after(limit.interval).day();
        Window {
            opens: due.plus_days(-limit.early),
            due,
            latest: due.plus_days(task.late(limit)),
        }
    })
}

/// Where the limit by a meter lies, as counted use of the subject.
pub(crate) fn meter_point(task: &Task, meter: Meter, anchors: &Anchors) -> Point<Amount> {
    let Some((limit, interval)) = usage_limit(task, meter) else {
        return Point::NoLimit;
    };
    anchored(anchors.meters[meter], |from| {
        let due = from + interval;
        Window {
            opens: due - Amount(limit.early),
            due,
            latest: due + Amount(task.late(limit)),
        }
    })
}

fn usage_limit(task: &Task, meter: Meter) -> Option<(&Limit, Amount)> {
    let limit = task.limit_by(meter.into())?;
    match limit.interval {
        Interval::Usage(_, amount) => Some((limit, amount)),
        Interval::Days(_) | Interval::Months(_) => None,
    }
}

fn anchored<T, U>(anchor: Anchor<T>, window: impl FnOnce(T) -> Window<U>) -> Point<U> {
    match anchor {
        Anchor::NotStarted => Point::NotStarted,
        Anchor::Unknown => Point::Unknown(Lack::Anchor),
        Anchor::AtTheLatest { from, .. } => Point::AtTheLatest(window(from)),
        Anchor::At { from, .. } => Point::At(window(from)),
    }
}
