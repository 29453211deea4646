//! Whether a new reading can be true, judged by the readings before and after it.

use crate::configuration::car_type::CarType;
use crate::time::{Instant, MICROSECONDS_A_DAY};
use crate::units::{Amount, Meter};
use crate::usage::meter::{MeterPoint, Reading};
use crate::words::word_list;
use std::fmt;

word_list! {
    /// Whether somebody stands by an unusual reading.
    Confirmation, "confirmation" {
        /// Nobody has confirmed it.
        Unconfirmed = "unconfirmed",
        /// Confirmed, with a reason in the entry.
        Confirmed = "confirmed",
    }
}

/// The most that a meter of a car of this type may gain in a day: for the odometer the figure
/// of the type, for hour meters 24 hours.
pub fn most_a_day(meter: Meter, car_type: &CarType) -> Amount {
    match meter {
        Meter::Odometer => Amount::whole(i64::from(car_type.daily_km_max)),
        Meter::RunningHours | Meter::CompressorHours => Amount::whole(24),
    }
}

/// Meters that show whole units may jump by one between two readings however close.
const SHOWN_STEP: Amount = Amount::whole(1);

/// What surrounds a new reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Neighbourhood {
    /// Which meter.
    pub meter: Meter,
    /// What is added to what the meter in place then shows to give the car's use.
    pub offset: Amount,
    /// The last point at or before the new reading.
    pub previous: Option<MeterPoint>,
    /// The first point after it.
    pub next: Option<MeterPoint>,
    /// The most the meter may gain in a day; see [`most_a_day`].
    pub most_a_day: Amount,
}

/// Which rule a reading breaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingRule {
    /// One moment has one value.
    OneValueAMoment,
    /// Not less than the reading before.
    NotLessThanBefore,
    /// Not more than the reading after.
    NotMoreThanAfter,
    /// No more gained than the meter can gain in the time. This rule alone gives way to a
    /// confirmation.
    PossibleRate,
}

/// Why a reading is not taken. Amounts are as the meter in place at that time would show them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingRefused {
    /// The rule it breaks.
    pub rule: ReadingRule,
    /// Which meter.
    pub meter: Meter,
    /// The reading that was refused.
    pub given: Reading,
    /// The reading it conflicts with.
    pub conflicting: Reading,
    /// The least that would be taken at that time, if there is a least.
    pub at_least: Option<Amount>,
    /// The most that would be taken at that time, if there is a most.
    pub at_most: Option<Amount>,
}

impl Neighbourhood {
    /// Checks a reading. A confirmation lets an unusual rate pass, never a wrong order: that
    /// takes a meter replacement or a correction.
    pub fn check(
        &self,
        reading: Reading,
        confirmation: Confirmation,
    ) -> Result<(), ReadingRefused> {
        let previous = self.previous.map(|point| self.as_shown(point));
        let next = self.next.map(|point| self.as_shown(point));
        let refuse = |rule, conflicting| Err(self.refusal(rule, reading, conflicting));
        if let Some(same) = previous.filter(|previous| previous.at == reading.at) {
            return refuse(ReadingRule::OneValueAMoment, same);
        }
        if let Some(before) = previous.filter(|previous| reading.shown < previous.shown) {
            return refuse(ReadingRule::NotLessThanBefore, before);
        }
        if let Some(after) = next.filter(|next| next.shown < reading.shown) {
            return refuse(ReadingRule::NotMoreThanAfter, after);
        }
        if confirmation == Confirmation::Confirmed {
            return Ok(());
        }
        let too_fast = |from: Reading, until: Reading| {
            self.possible_gain(from.at, until.at) < until.shown - from.shown
        };
        if let Some(before) = previous.filter(|&previous| too_fast(previous, reading)) {
            return refuse(ReadingRule::PossibleRate, before);
        }
        if let Some(after) = next.filter(|&next| too_fast(reading, next)) {
            return refuse(ReadingRule::PossibleRate, after);
        }
        Ok(())
    }

    fn as_shown(&self, point: MeterPoint) -> Reading {
        Reading {
            at: point.at,
            shown: point.usage - self.offset,
        }
    }

    /// The most the meter can gain between two moments, rounded down, and one step of what it
    /// shows.
    fn possible_gain(&self, from: Instant, until: Instant) -> Amount {
        let span = i128::from(until.microseconds()) - i128::from(from.microseconds());
        let gain = i128::from(self.most_a_day.0) * span / i128::from(MICROSECONDS_A_DAY);
        Amount(i64::try_from(gain).unwrap_or(i64::MAX)) + SHOWN_STEP
    }

    fn refusal(&self, rule: ReadingRule, given: Reading, conflicting: Reading) -> ReadingRefused {
        let previous = self.previous.map(|point| self.as_shown(point));
        let next = self.next.map(|point| self.as_shown(point));
        let least = next.map(|next| next.shown - self.possible_gain(given.at, next.at));
        let most = previous.map(|p| p.shown + self.possible_gain(p.at, given.at));
        let order = (previous.map(|p| p.shown), next.map(|n| n.shown));
        let bounds = (
            order.0.max(least),
            [order.1, most].into_iter().flatten().min(),
        );
        // Where a confirmed reading already exceeds the rate, only the order is left.
        let contradictory = bounds
            .0
            .zip(bounds.1)
            .is_some_and(|(least, most)| most < least);
        let (at_least, at_most) = match rule {
            ReadingRule::OneValueAMoment => (None, None),
            _ if contradictory => order,
            _ => bounds,
        };
        ReadingRefused {
            rule,
            meter: self.meter,
            given,
            conflicting,
            at_least,
            at_most,
        }
    }
}

impl fmt::Display for ReadingRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (meter, unit) = (self.meter, self.meter.unit());
        let (given, conflicting) = (self.given, self.conflicting);
        write!(f, "{meter} {} {unit} at {} ", given.shown, given.at.told())?;
        match self.rule {
            ReadingRule::OneValueAMoment => f.write_str("has the time of")?,
            ReadingRule::NotLessThanBefore => f.write_str("is less than")?,
            ReadingRule::NotMoreThanAfter => f.write_str("is more than")?,
            ReadingRule::PossibleRate => f.write_str("cannot be reached in the time from or to")?,
        }
        write!(
            f,
            " {} {unit} at {}; ",
            conflicting.shown,
            conflicting.at.told()
        )?;
        match (self.at_least, self.at_most) {
            (Some(least), Some(most)) => write!(f, "allowed: {least} to {most} {unit}")?,
            (Some(least), None) => write!(f, "allowed: at least {least} {unit}")?,
            (None, Some(most)) => write!(f, "allowed: at most {most} {unit}")?,
            (None, None) => f.write_str("allowed: any amount at another time")?,
        }
        f.write_str(match self.rule {
            ReadingRule::OneValueAMoment => ". Give another time, or correct that reading.",
            ReadingRule::NotLessThanBefore | ReadingRule::NotMoreThanAfter => {
                ". If the meter was replaced, record the replacement; if that reading is \
                 wrong, correct it."
            }
            ReadingRule::PossibleRate => ". If it is true, confirm it with a reason.",
        })
    }
}

impl std::error::Error for ReadingRefused {}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Instant {
        text.parse().expect("a time")
    }

    fn reading(time: &str, km: i64) -> Reading {
        Reading {
            at: at(time),
            shown: Amount::whole(km),
        }
    }

    fn point(time: &str, km: i64) -> MeterPoint {
        let (at, usage) = (at(time), Amount::whole(km));
        MeterPoint { at, usage }
    }

    /// Read on 1 and 11 March with 1,000 and 3,000 km; at most 400 km a day.
    fn march() -> Neighbourhood {
        Neighbourhood {
            meter: Meter::Odometer,
            offset: Amount(0),
            previous: Some(point("2026-03-01T00:00Z", 1_000)),
            next: Some(point("2026-03-11T00:00Z", 3_000)),
            most_a_day: Amount::whole(400),
        }
    }

    fn broken(around: Neighbourhood, time: &str, km: i64) -> Option<ReadingRule> {
        let refused = around.check(reading(time, km), Confirmation::Unconfirmed);
        refused.err().map(|refused| refused.rule)
    }

    #[test]
    fn a_reading_lies_between_its_neighbours_and_within_the_possible_rate() {
        let sixth = "2026-03-06T00:00Z";
        assert_eq!(broken(march(), sixth, 2_000), None);
        let too_low = broken(march(), sixth, 999);
        assert_eq!(too_low, Some(ReadingRule::NotLessThanBefore));
        let too_high = broken(march(), sixth, 3_001);
        assert_eq!(too_high, Some(ReadingRule::NotMoreThanAfter));
        // One day at most 400 km, and one step of a meter that shows whole kilometres.
        let second = "2026-03-02T00:00Z";
        assert_eq!(broken(march(), second, 1_401), None);
        assert_eq!(
            broken(march(), second, 1_402),
            Some(ReadingRule::PossibleRate)
        );
        let tenth = "2026-03-10T00:00Z";
        assert_eq!(
            broken(march(), tenth, 2_598),
            Some(ReadingRule::PossibleRate)
        );
        let same = broken(march(), "2026-03-01T00:00Z", 1_000);
        assert_eq!(same, Some(ReadingRule::OneValueAMoment));
    }

    #[test]
    fn a_confirmation_lets_a_rate_pass_but_never_an_order() {
        let confirmed = |km| {
            let given = reading("2026-03-02T00:00Z", km);
            march().check(given, Confirmation::Confirmed)
        };
        assert_eq!(confirmed(2_900), Ok(()));
        assert!(confirmed(999).is_err());
        assert!(confirmed(3_001).is_err());
    }

    #[test]
    fn a_refusal_names_the_conflict_and_what_would_be_allowed() {
        let given = reading("2026-03-06T00:00Z", 999);
        let refused = march()
            .check(given, Confirmation::Unconfirmed)
            .expect_err("less than before");
        assert_eq!(refused.conflicting, reading("2026-03-01T00:00Z", 1_000));
        assert_eq!(refused.at_least, Some(Amount::whole(1_000)));
        assert_eq!(refused.at_most, Some(Amount::whole(3_000)));
        assert_eq!(
            refused.to_string(),
            "odometer 999 km at 2026-03-06T00:00:00Z is less than 1000 km at \
             2026-03-01T00:00:00Z; allowed: 1000 to 3000 km. If the meter was replaced, record \
             the replacement; if that reading is wrong, correct it."
        );
    }

    #[test]
    fn amounts_of_a_refusal_are_those_of_the_meter_in_place() {
        let after_replacement = Neighbourhood {
            offset: Amount::whole(1_000),
            next: None,
            ..march()
        };
        let given = reading("2026-03-02T00:00Z", 500);
        let refused = after_replacement
            .check(given, Confirmation::Unconfirmed)
            .expect_err("500 km in a day");
        assert_eq!(refused.conflicting.shown, Amount(0));
        assert_eq!(refused.at_most, Some(Amount::whole(401)));
    }

    #[test]
    fn the_first_reading_is_taken_as_it_is() {
        let nothing_known = Neighbourhood {
            previous: None,
            next: None,
            ..march()
        };
        assert_eq!(broken(nothing_known, "2026-03-06T00:00Z", 734_211), None);
    }

    #[test]
    fn an_hour_meter_runs_no_more_than_the_clock() {
        let hours = Neighbourhood {
            meter: Meter::RunningHours,
            most_a_day: Amount::whole(24),
            next: None,
            ..march()
        };
        assert_eq!(broken(hours, "2026-03-03T00:00Z", 1_049), None);
        assert_eq!(
            broken(hours, "2026-03-03T00:00Z", 1_050),
            Some(ReadingRule::PossibleRate)
        );
    }
}
