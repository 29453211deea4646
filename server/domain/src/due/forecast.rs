//! The dates at which due points are reached.
//!
//! A point L of a meter that was read with K on day d and gains r a day is reached on day
//! d + ⌊(L − K) / r⌋, the last day that still lies inside. A meter that gains nothing gives no
//! date, which is not the same as never due. The first limit that is reached sets the date. A
//! point that was passed is no forecast: it was reached between the readings around it.

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
    /// The last day that is within tolerance.
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
        (Metric::Calendar, _) => "calendar: the day it counts from is not known".to_owned(),
        (meter, Lack::Anchor) => format!("{meter}: the use it counts from is not known"),
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
        Point::At(Window { opens, due, latest }) => LimitDates {
            on: Some(due),
            early: Some(due),
            late: Some(due),
            opens: Some(opens),
            latest: Some(latest),
            lacking: None,
        },
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
    let at = |rate: DailyRate| [rate.slow(), rate.fast()];
    let [slow, fast] = meter.rate.map_or([Amount(0); 2], at);
    let spread = [fast, likely, slow].map(|a_day| reached_on(window.due, a_day));
    let late = spread.iter().all(Option::is_some);
    LimitDates {
        on,
        early: spread.into_iter().flatten().min(),
        late: spread.into_iter().flatten().max().filter(|_| late),
        opens: first(opens_on(window.opens, last, likely), on),
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

/// The first day on which a meter is at or above a value; else as [`reached_on`].
fn opens_on(value: Amount, last: LastReading, a_day: Amount) -> Option<Day> {
    match a_day.0 {
        // The day after the last one that is below it.
        1.. => reached_on(value - Amount(1), last, a_day).map(|day| day.plus_days(1)),
        _ => reached_on(value, last, a_day),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::due::compute;
    use crate::due::examples::{day, fitted_new, limits, moment, odometer, overhaul, scale};
    use crate::due::facts::{ScaleBegins, SubjectFacts};
    use crate::due::state::State;
    use crate::due::task::{Interval, Limit, Task};
    use proptest::prelude::*;

    fn forecast(meters: &ByMeter<MeterFacts>) -> Forecast {
        compute(&overhaul(), &fitted_new(), meters).forecast
    }

    #[test]
    fn each_lacking_fact_is_said_with_its_limit() {
        let known = Lacking::default();
        assert_eq!(known.in_words(), None);
        let meters = ByMeter {
            odometer: Some(Lack::Reading),
            running_hours: None,
            compressor_hours: Some(Lack::Rate),
        };
        let facts = Lacking { meters, ..known }.in_words().unwrap();
        let expected = "odometer: no reading to tell the date by; compressor hours read too rarely to tell its daily gain";
        assert_eq!(facts, expected);
    }

    #[test]
    fn the_first_limit_sets_the_date_and_is_named() {
        // 200,000 km from 50,000 on; 24 months from 2024-01-31.
        let hard_run = forecast(&odometer("2025-06-01", 230_000));
        assert_eq!(hard_run.on, Some(day("2025-07-21")));
        assert_eq!(hard_run.early, Some(day("2025-07-11")));
        assert_eq!(hard_run.late, Some(day("2025-08-06")));
        assert_eq!(hard_run.opens, Some(day("2025-06-01")));
        assert_eq!(hard_run.latest, Some(day("2025-08-15")));
        assert_eq!(hard_run.set_by, Some(Metric::Odometer));
        let little_run = forecast(&odometer("2025-06-01", 60_000));
        assert_eq!(little_run.on, Some(day("2026-01-31")));
        assert_eq!(little_run.set_by, Some(Metric::Calendar));
    }

    #[test]
    fn a_meter_that_stands_still_gives_no_date_and_leaves_the_calendar() {
        let mut meters = odometer("2025-06-01", 230_000);
        meters.odometer.rate = Some(DailyRate::STILL);
        let standing = forecast(&meters);
        assert_eq!(standing.on, Some(day("2026-01-31")));
        assert_eq!(standing.set_by, Some(Metric::Calendar));
        assert!(standing.lacking.is_nothing());
    }

    #[test]
    fn without_readings_or_a_rate_the_limit_is_listed_as_unknown() {
        let mut meters = odometer("2025-06-01", 230_000);
        meters.odometer.rate = None;
        let unrated: Vec<_> = forecast(&meters).lacking.iter().collect();
        assert_eq!(unrated, [(Metric::Odometer, Lack::Rate)]);
        meters.odometer.last = None;
        let unread: Vec<_> = forecast(&meters).lacking.iter().collect();
        assert_eq!(unread, [(Metric::Odometer, Lack::Reading)]);
        let on_unread_car = SubjectFacts {
            made: moment("2024-01-31", None),
            scale: scale(0, ScaleBegins::AfterAGap),
            ..fitted_new()
        };
        let unknown = compute(&overhaul(), &on_unread_car, &meters).forecast;
        let unknown: Vec<_> = unknown.lacking.iter().collect();
        assert_eq!(unknown, [(Metric::Odometer, Lack::Use)]);
    }

    #[test]
    fn what_a_reading_has_passed_is_past_whatever_the_rate() {
        let mut meters = odometer("2025-06-01", 260_001);
        for rate in [
            DailyRate::new(Amount(0), Amount::whole(100_000), Amount::whole(100_000)),
            Some(DailyRate::STILL),
            None,
        ] {
            meters.odometer.rate = rate;
            let passed = forecast(&meters);
            assert_eq!(passed.state_on(day("2025-06-01")), State::Overdue);
            assert_eq!(passed.set_by, Some(Metric::Odometer));
        }
    }

    #[test]
    fn a_component_at_rest_is_judged_by_what_it_has_run() {
        let in_store = SubjectFacts {
            scale: scale(0, ScaleBegins::WithItsLife),
            ..fitted_new()
        };
        let state = |km| {
            let mut meters = odometer("2025-06-01", 0);
            meters.odometer = MeterFacts::at_rest(Amount::whole(km), day("2024-06-01"));
            let row = compute(&overhaul(), &in_store, &meters);
            row.forecast.state_on(day("2025-06-01"))
        };
        assert_eq!(state(100_000), State::NotDue);
        assert_eq!(state(180_000), State::InWindow);
        assert_eq!(state(210_001), State::Overdue);
    }

    fn by_km(interval_km: i64) -> Task {
        Task {
            limits: limits(&[Limit {
                interval: Interval::Usage(Meter::Odometer, Amount::whole(interval_km)),
                early: 0,
                late: 0,
            }]),
            ..overhaul()
        }
    }

    proptest! {
        #[test]
        fn a_shorter_interval_is_never_due_later(
            interval in 2_i64..2_000_000,
            less in 1_i64..2_000_000,
            read_km in 0_i64..3_000_000,
        ) {
            let less = less.min(interval - 1);
            let meters = odometer("2025-06-01", read_km);
            let on = |km| compute(&by_km(km), &fitted_new(), &meters).forecast.on;
            prop_assert!(on(interval - less) <= on(interval));
        }

        #[test]
        fn a_shorter_calendar_interval_is_never_due_later(
            months in 2_u32..600,
            less in 1_u32..600,
        ) {
            let by_months = |months| Task {
                limits: limits(&[Limit {
                    interval: Interval::Months(months),
                    early: 0,
                    late: 0,
                }]),
                ..overhaul()
            };
            let meters = odometer("2025-06-01", 60_000);
            let on = |m| compute(&by_months(m), &fitted_new(), &meters).forecast.on;
            prop_assert!(on(months - less.min(months - 1)) < on(months));
        }

        #[test]
        fn dates_stand_in_order(interval in 1_i64..2_000_000, read_km in 0_i64..3_000_000) {
            let meters = odometer("2025-06-01", read_km);
            let dates = compute(&by_km(interval), &fitted_new(), &meters).forecast;
            prop_assert!(dates.early <= dates.on && dates.on <= dates.late);
            prop_assert!(dates.opens <= dates.on && dates.on <= dates.latest);
        }

        #[test]
        fn a_reading_that_was_forecast_moves_no_date(days in 0_i64..1_000) {
            let point = by_km(500_000);
            let first = odometer("2025-06-01", 60_000);
            let on = day("2025-06-01").plus_days(days).to_string();
            let later = odometer(&on, 60_000 + 400 * days);
            let of = |meters| compute(&point, &fitted_new(), meters).forecast.on;
            prop_assert_eq!(of(&first), of(&later));
        }
    }
}
