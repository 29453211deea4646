//! The period that a generated history covers.

use super::History;
use domain::time::Day;
use std::fmt;

/// From the day on which the register begins to the day as at which it is seen.
#[derive(Debug, Clone)]
pub(super) struct Span {
    pub(super) begins: Day,
    pub(super) as_at: Day,
    reading_days: Vec<Day>,
}

/// The shortest history: what follows one another in it needs its time.
const MONTHS_MIN: u32 = 12;
const MONTHS_MAX: u32 = 240;

impl Span {
    pub(super) fn new(history: History, as_at: Day) -> Self {
        let (months, weekly_days) = match history {
            History::Years(years) => (years.saturating_mul(12), 365),
            History::Months(months) => (months, 0),
        };
        let months = i32::try_from(months.clamp(MONTHS_MIN, MONTHS_MAX)).unwrap_or(0);
        let begins = as_at.plus_months(-months);
        let weekly_from = as_at.plus_days(-weekly_days);
        let monthly = (0..months).map(|month| begins.plus_months(month));
        let weekly = (0..).map(|week| weekly_from.plus_days(7 * week));
        let reading_days = monthly
            .take_while(|day| *day < weekly_from)
            .chain(weekly.take_while(|day| *day < as_at))
            .collect();
        Self {
            begins,
            as_at,
            reading_days,
        }
    }

    /// How many days it covers.
    pub(super) fn days(&self) -> i64 {
        self.begins.days_until(self.as_at)
    }

    /// So many days before its end.
    pub(super) fn ago(&self, days: i64) -> Day {
        self.as_at.plus_days(-days)
    }

    /// The days on which the cars of a unit are read: the first day of the history, then days
    /// that differ from unit to unit.
    pub(super) fn reading_days(&self, unit: u32) -> impl Iterator<Item = Day> {
        let shift = i64::from(unit % 7);
        let later = self.reading_days.iter().skip(1);
        let later = later.map(move |day| day.plus_days(shift));
        std::iter::once(self.begins).chain(later.filter(|day| *day < self.as_at))
    }
}

/// A date, or a time of a day in UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Moment {
    pub(super) day: Day,
    /// Minutes after midnight; 0 is the date alone.
    pub(super) minute: i64,
}

impl Moment {
    /// The first moment of a day.
    pub(super) fn start_of(day: Day) -> Self {
        Self { day, minute: 0 }
    }

    /// When a component is taken off.
    pub(super) fn removal_on(day: Day) -> Self {
        let minute = 8 * 60 + 30;
        Self { day, minute }
    }

    /// When a component takes the place of one that was taken off.
    pub(super) fn fitting_on(day: Day) -> Self {
        let minute = 10 * 60;
        Self { day, minute }
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { day, minute } = self;
        match minute {
            0 => day.fmt(f),
            _ => write!(f, "{day}T{:02}:{:02}Z", minute / 60, minute % 60),
        }
    }
}
