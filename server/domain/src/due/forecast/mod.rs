//! The dates at which due points are reached.
//!
//! A point L of a meter that was read with K on day d and gains r a day is reached on day
//! d + ⌊(L − K) / r⌋, the last day that still lies inside. A meter that gains nothing gives no
//! date, which is not the same as never due. The first limit that is reached sets the date. A
//! point that was passed is no forecast: it was reached between the readings around it, and a window
//! that has begun began there.

use crate::due::at_once::AtOnce;
use crate::due::facts::{LastReading, MeterFacts};
use crate::due::point::{DuePoints, Lack, Point, Window};
use crate::due::task::Metric;
use crate::time::Day;
use crate::units::{Amount, ByMeter, Meter};
use crate::usage::rate::DailyRate;
use serde::{Deserialize, Serialize};

/// When a task is due, by what, how sure that is, and what is not known.
///
/// All dates are those of the first limit to reach them. Where a fact is lacking they are the
/// dates of the limits that are known: the task may be due earlier, not later.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Forecast {
    /// The day it is due: since when, where it is due at once; none where no limit gives a date.
    pub on: Option<Day>,
    /// The day it is due if meters run at the fast rate.
    pub early: Option<Day>,
    /// The day it is due if meters run at the slow rate.
    pub late: Option<Day>,
    /// The day from which the work counts as done for this due point.
    pub opens: Option<Day>,
    /// The last day that is within tolerance; after it the work is overdue, whatever is lacking.
    pub latest: Option<Day>,
    /// The limit that sets the date; none where the work is due at once.
    pub set_by: Option<Metric>,
    /// Why it is due at once, if it is.
    pub at_once: Option<AtOnce>,
    /// The limits that cannot be told, with what is lacking.
    pub lacking: Lacking,
}

/// Which limits cannot be told, with what is lacking for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Lacking {
    /// For the calendar limit.
    pub calendar: Option<Lack>,
    /// For the limits by meter.
    pub meters: ByMeter<Option<Lack>>,
}

impl Lacking {
    /// The limits that cannot be told.
    pub fn iter(&self) -> impl Iterator<Item = (Metric, Lack)> {
        let calendar = self.calendar.map(|lack| (Metric::Calendar, lack));
        let by_meter = |&meter: &Meter| Some((meter.into(), self.meters[meter]?));
        calendar
            .into_iter()
            .chain(Meter::ALL.iter().filter_map(by_meter))
    }

    /// What is not known of the limits, in words; none where everything is.
    pub fn in_words(&self) -> Option<String> {
        let facts: Vec<String> = self.iter().map(in_words).collect();
        (!facts.is_empty()).then(|| facts.join("; "))
    }

    /// Whether every limit can be told.
    pub fn is_nothing(&self) -> bool {
        self.iter().next().is_none()
    }
}

fn in_words((metric, lack): (Metric, Lack)) -> String {
    match (metric, lack) {
        (Metric::Calendar, Lack::AnchorAtTheLatest) => {
            "calendar: of the day it counts from only the last possible one is known".to_owned()
        }
        (Metric::Calendar, _) => "calendar: the day it counts from is not known".to_owned(),
        (meter, Lack::Anchor | Lack::AnchorAtTheLatest) => {
            format!("{meter}: the use it counts from is not known")
        }
        (meter, Lack::Use) => format!("{meter}: no reading at fitting or removal to count from"),
        (meter, Lack::Reading) => format!("{meter}: no reading to tell the date by"),
        (meter, Lack::Rate) => format!("{meter} read too rarely to tell its daily gain"),
    }
}

/// The last day on which a meter was at or below a value that it has passed, where that is known.
pub type PassedOn<'a> = &'a dyn Fn(Meter, Amount) -> Option<Day>;

/// The dates of one limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct LimitDates {
    pub(crate) on: Option<Day>,
    pub(crate) early: Option<Day>,
    pub(crate) late: Option<Day>,
    pub(crate) opens: Option<Day>,
    pub(crate) latest: Option<Day>,
    pub(crate) lacking: Option<Lack>,
}

impl Forecast {
    /// The dates of due points from the last readings and daily rates of the host car, and of those
    /// that were passed from the days on which they were.
    pub(crate) fn of(
        points: &DuePoints,
        meters: &ByMeter<MeterFacts>,
        passed: PassedOn<'_>,
    ) -> Self {
        let calendar = calendar_dates(&points.calendar);
        let by_meter = ByMeter::from_fn(|meter| {
            let passed = |value| passed(meter, value);
            meter_dates(&points.meters[meter], &meters[meter], &passed)
        });
        let mut forecast = Self {
            on: calendar.on,
            early: calendar.early,
            late: calendar.late,
            opens: calendar.opens,
            latest: calendar.latest,
            set_by: calendar.on.map(|_| Metric::Calendar),
            at_once: points.at_once,
            lacking: Lacking {
                calendar: calendar.lacking,
                meters: ByMeter::from_fn(|meter| by_meter[meter].lacking),
            },
        };
        for &meter in Meter::ALL {
            forecast.take(meter.into(), &by_meter[meter]);
        }
        forecast.take_at_once();
        forecast
    }

    /// What is due at once is due since then, unless a limit was reached before. The day after
    /// which it is overdue remains that of its limits.
    fn take_at_once(&mut self) {
        let Some(since) = self.at_once.map(|at_once| Some(at_once.on)) else {
            return;
        };
        if first(since, self.on) == since {
            self.set_by = None;
        }
        self.on = first(since, self.on);
        self.early = first(since, self.early);
        self.late = first(since, self.late);
        self.opens = first(since, self.opens);
    }

    /// Takes each date of one more limit that comes first.
    fn take(&mut self, metric: Metric, dates: &LimitDates) {
        if dates.on.is_some() && first(dates.on, self.on) != self.on {
            self.set_by = Some(metric);
        }
        self.on = first(self.on, dates.on);
        self.early = first(self.early, dates.early);
        self.late = first(self.late, dates.late);
        self.opens = first(self.opens, dates.opens);
        self.latest = first(self.latest, dates.latest);
    }
}

fn first(one: Option<Day>, other: Option<Day>) -> Option<Day> {
    [one, other].into_iter().flatten().min()
}

fn calendar_dates(point: &Point<Day>) -> LimitDates {
    match *point {
        Point::NoLimit | Point::NotStarted => LimitDates::default(),
        Point::Unknown(lack) => lacking(lack),
        Point::AtTheLatest(window) => LimitDates {
            lacking: Some(Lack::AnchorAtTheLatest),
            ..in_window(window)
        },
        Point::At(window) => in_window(window),
    }
}

fn in_window(Window { opens, due, latest }: Window<Day>) -> LimitDates {
    LimitDates {
        on: Some(due),
        early: Some(due),
        late: Some(due),
        opens: Some(opens),
        latest: Some(latest),
        lacking: None,
    }
}

fn lacking(lack: Lack) -> LimitDates {
    LimitDates {
        lacking: Some(lack),
        ..LimitDates::default()
    }
}

/// The dates of a limit by meter. Without a rate only what the last reading has reached is
/// known.
pub(crate) fn meter_dates(
    point: &Point<Amount>,
    meter: &MeterFacts,
    passed: &dyn Fn(Amount) -> Option<Day>,
) -> LimitDates {
    let window = match *point {
        Point::NoLimit | Point::NotStarted => return LimitDates::default(),
        Point::Unknown(lack) => return lacking(lack),
        // No limit by meter has a last possible point.
        Point::AtTheLatest(_) => return lacking(Lack::AnchorAtTheLatest),
        Point::At(window) => window,
    };
    let Some(last) = meter.last else {
        return lacking(Lack::Reading);
    };
    let likely = meter.rate.map_or(Amount(0), DailyRate::likely);
    let reached_on = |value: Amount, a_day| {
        let passed = (value < last.usage).then(|| passed(value)).flatten();
        passed.or_else(|| reached_on(value, last, a_day))
    };
    let on = reached_on(window.due, likely);
    let latest = reached_on(window.latest, likely);
    let opens =
        began_on(window.opens, last, passed).or_else(|| opens_on(window.opens, last, likely));
    let at = |rate: DailyRate| [rate.slow(), rate.fast()];
    let [slow, fast] = meter.rate.map_or([Amount(0); 2], at);
    let spread = [fast, likely, slow].map(|a_day| reached_on(window.due, a_day));
    let late = spread.iter().all(Option::is_some);
    LimitDates {
        on,
        early: spread.into_iter().flatten().min(),
        late: spread.into_iter().flatten().max().filter(|_| late),
        opens: first(opens, on),
        latest,
        lacking: (meter.rate.is_none() && latest.is_none()).then_some(Lack::Rate),
    }
}

/// The last day on which a meter is at or below a value.
///
/// Values already passed, of which nobody knows when, lie before the day of the reading, by the
/// same rate; at the least they lie one day before, so that what a reading has passed is past
/// whatever the rate. `None` for a value still ahead of a
/// meter that stands still.
fn reached_on(value: Amount, last: LastReading, a_day: Amount) -> Option<Day> {
    let remaining = (value - last.usage).0;
    match a_day.0 {
        1.. => Some(last.on.plus_days(remaining.div_euclid(a_day.0))),
        _ if remaining > 0 => None,
        _ => Some(last.on.plus_days(remaining.signum())),
    }
}

/// The first day on which a meter was at or above a value that the last reading has reached, where
/// that is known: the day after the last one that is below it.
fn began_on(
    value: Amount,
    last: LastReading,
    passed: &dyn Fn(Amount) -> Option<Day>,
) -> Option<Day> {
    let below = value - Amount(1);
    let passed = (below < last.usage).then(|| passed(below)).flatten();
    passed.map(|day| day.plus_days(1))
}

/// The first day on which a meter is at or above a value; else as [`reached_on`].
fn opens_on(value: Amount, last: LastReading, a_day: Amount) -> Option<Day> {
    match a_day.0 {
        // The day after the last one that is below it.
        1.. => reached_on(value - Amount(1), last, a_day).map(|day| day.plus_days(1)),
        _ => reached_on(value, last, a_day),
    }
}

#[cfg(test)]
mod tests;
