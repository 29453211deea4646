//! A car's meter as a function of time: readings, replacements, and its use at any moment.

use crate::time::{Instant, MICROSECONDS_A_DAY};
use crate::units::Amount;
use crate::usage::rate::DailyRate;
use serde::Serialize;

/// What a meter showed at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct Reading {
    /// When it was read.
    pub at: Instant,
    /// What it showed.
    pub shown: Amount,
}

/// A meter put in another's place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct Replacement {
    /// When.
    pub at: Instant,
    /// What the old meter showed last.
    pub old_last: Amount,
    /// What the new meter showed first.
    pub new_first: Amount,
}

/// A car's use by a meter at a moment, counted on from the first meter through replacements.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct MeterPoint {
    /// When.
    pub at: Instant,
    /// The use: what the meter showed and the offset of its segment.
    pub usage: Amount,
}

/// Use at a moment, with how well it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum UsagePoint {
    /// Read, or interpolated between two readings.
    Known(Amount),
    /// After the last reading: carried on at the likely daily rate.
    Forecast(Amount),
    /// Before the first reading, or after the last with no daily rate known.
    Unknown,
}

impl UsagePoint {
    /// The amount, known or forecast.
    pub const fn amount(self) -> Option<Amount> {
        match self {
            Self::Known(amount) | Self::Forecast(amount) => Some(amount),
            Self::Unknown => None,
        }
    }
}

/// The use at a moment from the readings next to it: `previous` is the last at or before `at`,
/// `next` the first after it.
///
/// Interpolation is linear in time and rounds down to the thousandth, as does the forecast, so
/// that use never decreases from one moment to a later one. Constant cost.
pub fn usage_at(
    at: Instant,
    previous: Option<MeterPoint>,
    next: Option<MeterPoint>,
    rate: Option<DailyRate>,
) -> UsagePoint {
    let Some(previous) = previous.filter(|point| point.at <= at) else {
        return UsagePoint::Unknown;
    };
    let elapsed = microseconds(previous.at, at);
    if elapsed == 0 {
        return UsagePoint::Known(previous.usage);
    }
    if let Some(next) = next.filter(|next| at <= next.at) {
        let gained = (next.usage - previous.usage).0;
        let part = portion(gained, elapsed, microseconds(previous.at, next.at));
        return UsagePoint::Known(previous.usage + part);
    }
    rate.map_or(UsagePoint::Unknown, |rate| {
        let part = portion(rate.likely().0, elapsed, i128::from(MICROSECONDS_A_DAY));
        UsagePoint::Forecast(previous.usage + part)
    })
}

fn microseconds(from: Instant, until: Instant) -> i128 {
    i128::from(until.microseconds()) - i128::from(from.microseconds())
}

/// `amount × elapsed / whole`, rounded down; `whole` is above zero.
fn portion(amount: i64, elapsed: i128, whole: i128) -> Amount {
    let part = (i128::from(amount) * elapsed).div_euclid(whole);
    Amount(i64::try_from(part).unwrap_or(i64::MAX))
}

/// Why readings and replacements make no history.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeterHistoryRefused {
    /// A moment has two values.
    #[error("two values of one meter at {}: {first} and {second}; one moment has one value", .at.told())]
    SameMoment {
        /// The moment.
        at: Instant,
        /// One value.
        first: Amount,
        /// The other.
        second: Amount,
    },
    /// A meter ran backwards.
    #[error(
        "{} at {} is less than {} at {} before it; a meter that was replaced needs its \
         replacement recorded, a wrong reading a correction",
        .later.shown, .later.at, .earlier.shown, .earlier.at
    )]
    Backwards {
        /// The earlier reading.
        earlier: Reading,
        /// The later, lower one.
        later: Reading,
    },
}

/// All that is known of one meter of one car, in order of time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeterHistory {
    points: Vec<MeterPoint>,
    segments: Vec<Segment>,
}

/// The time one meter was in place. `shown + offset` is the car's use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Segment {
    from: Instant,
    offset: Amount,
}

impl MeterHistory {
    /// Orders and checks readings and replacements. The last value of a replaced meter counts
    /// as a reading. Costs the sorting of both.
    pub fn new(
        readings: &[Reading],
        replacements: &[Replacement],
    ) -> Result<Self, MeterHistoryRefused> {
        let mut marks: Vec<(Reading, Option<Amount>)> = readings
            .iter()
            .map(|&reading| (reading, None))
            .chain(replacements.iter().map(|r| {
                let (at, shown) = (r.at, r.old_last);
                (Reading { at, shown }, Some(r.new_first))
            }))
            .collect();
        marks.sort_by_key(|(reading, _)| reading.at);
        Self::fold(&marks)
    }

    fn fold(marks: &[(Reading, Option<Amount>)]) -> Result<Self, MeterHistoryRefused> {
        let mut points = Vec::with_capacity(marks.len());
        let mut segments = Vec::new();
        let mut offset = Amount(0);
        let mut before: Option<Reading> = None;
        for &(reading, new_first) in marks {
            before.map_or(Ok(()), |before| in_order(before, reading))?;
            let usage = reading.shown + offset;
            points.push(MeterPoint {
                at: reading.at,
                usage,
            });
            let shown = new_first.unwrap_or(reading.shown);
            if new_first.is_some() {
                offset = usage - shown;
                let from = reading.at;
                segments.push(Segment { from, offset });
            }
            before = Some(Reading {
                at: reading.at,
                shown,
            });
        }
        Ok(Self { points, segments })
    }

    /// The points of the line, in order of time.
    pub fn points(&self) -> &[MeterPoint] {
        &self.points
    }

    /// What is added at a moment to what the meter shows. At the moment of a replacement this
    /// is the offset of the new meter.
    pub fn offset_at(&self, at: Instant) -> Amount {
        let after = self.segments.partition_point(|segment| segment.from <= at);
        after
            .checked_sub(1)
            .and_then(|place| self.segments.get(place))
            .map_or(Amount(0), |segment| segment.offset)
    }

    /// The last point at or before a moment, and the first after it.
    pub fn around(&self, at: Instant) -> (Option<MeterPoint>, Option<MeterPoint>) {
        let after = self.points.partition_point(|point| point.at <= at);
        let previous = after
            .checked_sub(1)
            .and_then(|place| self.points.get(place));
        (previous.copied(), self.points.get(after).copied())
    }

    /// The last moment at which the use was at or below a value that it has passed, with the first
    /// point beyond it. Interpolated as [`usage_at`]; no moment where that point is the first of
    /// all. None where the value is not passed. Logarithmic in the number of points.
    pub fn passed(&self, value: Amount) -> Option<(Option<Instant>, MeterPoint)> {
        let beyond = self.points.partition_point(|point| point.usage <= value);
        let next = *self.points.get(beyond)?;
        let previous = beyond
            .checked_sub(1)
            .and_then(|place| self.points.get(place));
        let moment = previous.and_then(|previous| {
            let elapsed = i64::try_from(microseconds(previous.at, next.at)).ok()?;
            let (part, whole) = (value - previous.usage, next.usage - previous.usage);
            let after = portion(elapsed, i128::from(part.0), i128::from(whole.0));
            Instant::from_microseconds(previous.at.microseconds() + after.0)
        });
        Some((moment, next))
    }

    /// The use at a moment; logarithmic in the number of points. See [`usage_at`].
    pub fn at(&self, at: Instant, rate: Option<DailyRate>) -> UsagePoint {
        let (previous, next) = self.around(at);
        usage_at(at, previous, next, rate)
    }
}

fn in_order(earlier: Reading, later: Reading) -> Result<(), MeterHistoryRefused> {
    if earlier.at == later.at {
        return Err(MeterHistoryRefused::SameMoment {
            at: later.at,
            first: earlier.shown,
            second: later.shown,
        });
    }
    if later.shown < earlier.shown {
        return Err(MeterHistoryRefused::Backwards { earlier, later });
    }
    Ok(())
}

#[cfg(test)]
mod tests;
