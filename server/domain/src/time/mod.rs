//! Days and instants. A [`Day`] is a proleptic Gregorian calendar date in the depot's time
//! zone; an [`Instant`] is a moment in UTC. The core never asks what time it is.

use crate::unreadable::Unreadable;
use jiff::civil::Date;
use jiff::fmt::temporal::Pieces;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A calendar date, counted in days since 1970-01-01. Years 1900 to 2199.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(i32);

const EPOCH: Date = jiff::civil::date(1970, 1, 1);
const EARLIEST: Day = Day(-25_567);
const LATEST: Day = Day(84_005);

impl Day {
    /// The first day of 1900.
    pub const EARLIEST: Day = EARLIEST;

    /// The day so many days after 1970-01-01, if it lies in the years 1900 to 2199.
    pub fn from_number(days: i32) -> Option<Self> {
        (EARLIEST.0..=LATEST.0)
            .contains(&days)
            .then_some(Self(days))
    }

    /// Days since 1970-01-01.
    pub const fn number(self) -> i32 {
        self.0
    }

    /// The day `days` later; the first or last day of the range where it would be left.
    #[must_use]
    pub fn plus_days(self, days: i64) -> Self {
        let number = i64::from(self.0)
            .saturating_add(days)
            .clamp(i64::from(EARLIEST.0), i64::from(LATEST.0));
        Self(i32::try_from(number).unwrap_or(LATEST.0))
    }

    /// The same day of the month `months` later, or that month's last day where it has no such
    /// day (the rule of XML Schema part 2, appendix E). Repeated additions drift, so intervals
    /// multiply the months and count from the first day.
    #[must_use]
    pub fn plus_months(self, months: i32) -> Self {
        self.date()
            .checked_add(months.months())
            .ok()
            .and_then(Self::from_date)
            .unwrap_or(if months < 0 { EARLIEST } else { LATEST })
    }

    /// Days from `self` to `later`; negative when `later` is earlier.
    pub fn days_until(self, later: Day) -> i64 {
        i64::from(later.0) - i64::from(self.0)
    }

    /// The date for the calendar library.
    pub fn date(self) -> Date {
        EPOCH.saturating_add(i64::from(self.0).days())
    }

    fn from_date(date: Date) -> Option<Self> {
        let days = date.since(EPOCH).ok()?.get_days();
        Self::from_number(days)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.date())
    }
}

impl FromStr for Day {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a date that exists, as 2026-03-31, from 1900 to 2199";
        let refuse = || Unreadable::new("date", text, expected);
        if text.len() != 10 {
            return Err(refuse());
        }
        let date: Date = text.parse().map_err(|_| refuse())?;
        Self::from_date(date).ok_or_else(refuse)
    }
}

impl TryFrom<String> for Day {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<Day> for String {
    fn from(day: Day) -> String {
        day.to_string()
    }
}

/// A moment in UTC, in microseconds since 1970-01-01T00:00Z. Years 1900 to 2199.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Instant(i64);

/// Microseconds in a day of 24 hours.
pub(crate) const MICROSECONDS_A_DAY: i64 = 86_400_000_000;

impl Instant {
    /// The first moment of 1900, before which nothing is recorded.
    pub const EARLIEST: Instant = Self(EARLIEST.0 as i64 * MICROSECONDS_A_DAY);

    /// The last moment of 2199, after which nothing is recorded.
    pub const LATEST: Instant = Self((LATEST.0 as i64 + 1) * MICROSECONDS_A_DAY - 1);

    /// The moment so many microseconds after 1970-01-01T00:00Z, if in the years 1900 to 2199.
    pub fn from_microseconds(microseconds: i64) -> Option<Self> {
        let days = microseconds.div_euclid(MICROSECONDS_A_DAY);
        let day = i32::try_from(days).ok().and_then(Day::from_number);
        day.map(|_| Self(microseconds))
    }

    /// Microseconds since 1970-01-01T00:00Z.
    pub const fn microseconds(self) -> i64 {
        self.0
    }

    /// The moment so many times 24 hours before, or the earliest there is.
    #[must_use]
    pub fn earlier_by_days(self, days: i64) -> Self {
        let before = self
            .0
            .saturating_sub(days.saturating_mul(MICROSECONDS_A_DAY));
        Self(before.max(Self::EARLIEST.0))
    }

    /// Days from `self` to `later` with their fraction; negative when `later` is earlier.
    pub fn days_until(self, later: Instant) -> f64 {
        (later.0 - self.0) as f64 / MICROSECONDS_A_DAY as f64
    }

    fn timestamp(self) -> Timestamp {
        Timestamp::from_microsecond(self.0).unwrap_or(Timestamp::UNIX_EPOCH)
    }
}

impl Instant {
    /// The moment as people are told of it: its second. What is kept and compared is the moment.
    #[must_use]
    pub fn told(self) -> Self {
        let second = self.microseconds().div_euclid(1_000_000) * 1_000_000;
        Self::from_microseconds(second).unwrap_or(self)
    }
}

impl fmt::Display for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.timestamp())
    }
}

impl FromStr for Instant {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected =
            "a time of a day that exists, with its offset from UTC, as 2026-03-31T10:15+01:00";
        let refuse = || Unreadable::new("time", text, expected);
        let moment: Timestamp = text.parse().map_err(|_| refuse())?;
        if !text.ends_with(['Z', 'z']) && !has_real_offset(text) {
            return Err(Unreadable::new("time", text, OFFSETS));
        }
        Self::from_microseconds(moment.as_microsecond()).ok_or_else(refuse)
    }
}

/// A slip in the offset moves a moment by hours, unseen.
const OFFSETS: &str = "an offset from UTC that some clock on earth shows, -12:00 to +14:00";

/// Whether the offset of a time that can be read is one of those in use.
fn has_real_offset(text: &str) -> bool {
    let pieces = Pieces::parse(text).ok();
    let offset = pieces.and_then(|pieces| pieces.to_numeric_offset());
    offset.is_some_and(|offset| (-12 * 3600..=14 * 3600).contains(&offset.seconds()))
}

impl TryFrom<String> for Instant {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<Instant> for String {
    fn from(instant: Instant) -> String {
        instant.to_string()
    }
}

/// The time zone in which the depot's days begin and end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Zone(TimeZone);

impl Default for Zone {
    fn default() -> Self {
        Self::UTC
    }
}

impl Zone {
    /// Coordinated universal time.
    pub const UTC: Zone = Zone(TimeZone::UTC);

    /// The calendar date at a moment.
    pub fn day_of(&self, instant: Instant) -> Day {
        let date = self.0.to_datetime(instant.timestamp()).date();
        Day::from_date(date).unwrap_or(LATEST)
    }

    /// The first moment of a day.
    pub fn start_of(&self, day: Day) -> Instant {
        self.0
            .to_timestamp(day.date().to_datetime(jiff::civil::Time::midnight()))
            .map_or(Instant(0), |t| Instant(t.as_microsecond()))
    }

    /// A moment as the depot's clock shows it, without an offset: `2026-03-31 10:15`. A time that
    /// the clock shows twice, as it is set back, or never, as it is set forward, is refused, with
    /// the two moments that may be meant.
    pub fn local(&self, text: &str) -> Result<Instant, Unreadable> {
        let expected =
            "a time at the depot of a day that exists, as 2026-03-31 10:15, or one with its offset";
        let refuse = || Unreadable::new("time", text, expected);
        let local: jiff::civil::DateTime = text.parse().map_err(|_| refuse())?;
        let meant = self.0.to_ambiguous_timestamp(local);
        let told_once = !meant.is_ambiguous();
        let moments = [meant.earlier(), meant.later()];
        let moments = moments.map(|moment| {
            let moment = moment.map_err(|_| refuse())?;
            Instant::from_microseconds(moment.as_microsecond()).ok_or_else(refuse)
        });
        let [earlier, later] = moments;
        let (earlier, later) = (earlier?, later?);
        if told_once {
            return Ok(earlier);
        }
        let [one, other] = [earlier, later].map(|moment| self.typed(moment));
        let how = if one.starts_with(&text.replacen(' ', "T", 1)) {
            "twice, as it is set back"
        } else {
            "never, as it is set forward"
        };
        let expected = format!(
            "{one} or {other}: the clock of the depot shows this time {how}, so it is told with its offset"
        );
        Err(Unreadable::new("time", text, expected))
    }

    /// A moment as people type it, to the minute, the second or finer: with its offset, as it is shown
    /// to them, or as the depot's clock shows it.
    pub fn moment(&self, text: &str) -> Result<Instant, Unreadable> {
        let as_shown = text.replacen(' ', "T", 1).replace(' ', "");
        let moment: Result<Instant, Unreadable> = text.parse().or_else(|_| as_shown.parse());
        moment.or_else(|_| self.local(text))
    }

    /// A moment as it may be typed, with its offset.
    fn typed(&self, instant: Instant) -> String {
        let shown = self.told(instant);
        shown.replacen(' ', "T", 1).replace(' ', "")
    }

    /// A moment as people of the depot write it, to the minute, with its offset.
    pub fn show(&self, instant: Instant) -> String {
        self.written(instant, "")
    }

    /// The same with its second, where it has one: of what stands against it by seconds.
    pub fn told(&self, instant: Instant) -> String {
        let second = instant.microseconds().div_euclid(1_000_000).rem_euclid(60);
        match second {
            0 => self.show(instant),
            second => self.written(instant, &format!(":{second:02}")),
        }
    }

    /// The same to the letter, with the fraction of its second where it has one: what tells two of
    /// one second apart.
    pub fn exact(&self, instant: Instant) -> String {
        let past_minute = instant.microseconds().rem_euclid(60_000_000);
        match (past_minute / 1_000_000, past_minute % 1_000_000) {
            (_, 0) => self.told(instant),
            (second, fraction) => self.written(instant, &format!(":{second:02}.{fraction:06}")),
        }
    }

    fn written(&self, instant: Instant, second: &str) -> String {
        let offset = self.0.to_offset(instant.timestamp());
        let local = offset.to_datetime(instant.timestamp());
        let seconds = offset.seconds();
        let sign = if seconds < 0 { '-' } else { '+' };
        let minutes = seconds.abs() / 60;
        let (date, hour, minute) = (local.date(), local.hour(), local.minute());
        format!(
            "{date} {hour:02}:{minute:02}{second} {sign}{:02}:{:02}",
            minutes / 60,
            minutes % 60
        )
    }

    /// A text in which moments stand as they are kept, with each as the depot's clock shows it.
    pub fn retold(&self, text: &str) -> String {
        let of_a_moment = |c: char| c.is_ascii_digit() || "-:.TZ".contains(c);
        let mut told = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(end) = rest.find('Z') {
            let (until, after) = rest.split_at(end + 1);
            let before = until.trim_end_matches(of_a_moment);
            let moment = &until[before.len()..];
            told.push_str(before);
            match moment.parse() {
                Ok(moment) => told.push_str(&self.told(moment)),
                Err(_) => told.push_str(moment),
            }
            rest = after;
        }
        told.push_str(rest);
        told
    }
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.iana_name().unwrap_or("UTC"))
    }
}

impl FromStr for Zone {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        TimeZone::get(text).map(Zone).map_err(|_| {
            Unreadable::new(
                "time zone",
                text,
                "a name of the time zone database, or UTC",
            )
        })
    }
}

#[cfg(test)]
mod tests;
