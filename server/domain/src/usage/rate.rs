//! How much a meter gains a day, estimated from its recent readings.
//!
//! The estimate is the median of the slopes between all pairs of readings (H. Theil, 1950;
//! P. K. Sen, Journal of the American Statistical Association 63, 1968): up to 29 % of the
//! readings may be wrong without moving it far, and gaps do not disturb it. The spread is the
//! lower and upper quartile of the same slopes.

use crate::time::MICROSECONDS_A_DAY;
use crate::units::Amount;
use crate::usage::meter::MeterPoint;
use serde::Serialize;

/// How far before the last reading the estimate looks, in days.
pub const RATE_DAYS: i64 = 180;

/// The most readings the estimate uses. More are thinned evenly, so that a car read every hour
/// is judged over the same months as one read every week.
pub const RATE_READINGS_MAX: usize = 12;

/// What a meter gains a day, in thousandths of its unit: likely, and at the quartiles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct DailyRate {
    slow: Amount,
    likely: Amount,
    fast: Amount,
}

impl DailyRate {
    /// A meter that stands still.
    pub const STILL: DailyRate = DailyRate {
        slow: Amount(0),
        likely: Amount(0),
        fast: Amount(0),
    };

    /// A rate with its spread; `None` unless 0 ≤ slow ≤ likely ≤ fast.
    pub fn new(slow: Amount, likely: Amount, fast: Amount) -> Option<Self> {
        let ordered = Amount(0) <= slow && slow <= likely && likely <= fast;
        ordered.then_some(Self { slow, likely, fast })
    }

    /// The lower quartile: three quarters of the pairs of readings show at least this.
    pub const fn slow(self) -> Amount {
        self.slow
    }

    /// The median.
    pub const fn likely(self) -> Amount {
        self.likely
    }

    /// The upper quartile: three quarters of the pairs of readings show at most this.
    pub const fn fast(self) -> Amount {
        self.fast
    }
}

/// The daily rate from a meter's points, which are in order of time and reach back
/// [`RATE_DAYS`] from the last; older ones are left out. `None` where no two points lie a day
/// apart: from a shorter span a rate says nothing about days. Rounded up to the thousandth a
/// day, so that no date is too late by rounding. Costs at most 66 slopes and their sorting.
pub fn daily_rate(points: &[MeterPoint]) -> Option<DailyRate> {
    let last = points.last()?;
    let earliest = last.at.microseconds() - RATE_DAYS * MICROSECONDS_A_DAY;
    let first = points.partition_point(|point| point.at.microseconds() < earliest);
    let recent = points.get(first..)?;
    let stride = recent.len().div_ceil(RATE_READINGS_MAX).max(1);
    let chosen: Vec<&MeterPoint> = recent.iter().rev().step_by(stride).collect();
    let mut slopes = slopes(&chosen);
    slopes.sort_unstable();
    DailyRate::new(
        quantile(&slopes, 1, 4)?,
        quantile(&slopes, 1, 2)?,
        quantile(&slopes, 3, 4)?,
    )
}

/// Gain a day between each pair of points, newest first, that lie at least a day apart.
fn slopes(newest_first: &[&MeterPoint]) -> Vec<Amount> {
    let day = i128::from(MICROSECONDS_A_DAY);
    let mut slopes = Vec::with_capacity(RATE_READINGS_MAX * (RATE_READINGS_MAX - 1) / 2);
    for (place, later) in newest_first.iter().enumerate() {
        for earlier in newest_first.iter().skip(place + 1) {
            let span = i128::from(later.at.microseconds()) - i128::from(earlier.at.microseconds());
            if span >= day {
                let gained = i128::from((later.usage - earlier.usage).0) * day;
                let slope = -(-gained).div_euclid(span);
                slopes.push(Amount(i64::try_from(slope).unwrap_or(i64::MAX)));
            }
        }
    }
    slopes
}

/// The quantile of order `part`/`of` in a sorted list: the inverse of the empirical
/// distribution function, with the mean (rounded up) where it is not unique, which makes the
/// middle one the usual median. `None` for an empty list.
fn quantile(sorted: &[Amount], part: usize, of: usize) -> Option<Amount> {
    let place = sorted.len() * part / of;
    let upper = *sorted.get(place)?;
    if !(sorted.len() * part).is_multiple_of(of) {
        return Some(upper);
    }
    let lower = *sorted.get(place.checked_sub(1)?)?;
    let gap = (upper - lower).0;
    Some(lower + Amount(gap - gap / 2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Instant;
    use proptest::prelude::*;

    fn points(days_and_km: &[(i64, i64)]) -> Vec<MeterPoint> {
        let point = |&(day, km): &(i64, i64)| MeterPoint {
            at: Instant::from_microseconds(day * MICROSECONDS_A_DAY).expect("in range"),
            usage: Amount::whole(km),
        };
        days_and_km.iter().map(point).collect()
    }

    fn likely_km(days_and_km: &[(i64, i64)]) -> Option<Amount> {
        daily_rate(&points(days_and_km)).map(DailyRate::likely)
    }

    #[test]
    fn two_readings_give_their_difference_over_the_days() {
        assert_eq!(likely_km(&[(0, 0), (10, 4_100)]), Some(Amount::whole(410)));
        assert_eq!(likely_km(&[(0, 0), (3, 1)]), Some(Amount(334)));
    }

    #[test]
    fn one_reading_or_less_than_a_day_gives_no_rate() {
        assert_eq!(likely_km(&[]), None);
        assert_eq!(likely_km(&[(0, 10)]), None);
        let mut close = points(&[(0, 0), (1, 400)]);
        close[1].at = Instant::from_microseconds(MICROSECONDS_A_DAY - 1).expect("in range");
        assert_eq!(daily_rate(&close), None);
    }

    #[test]
    fn a_meter_that_stands_has_the_rate_nought() {
        let standing = daily_rate(&points(&[(0, 700), (30, 700), (60, 700)]));
        assert_eq!(standing, Some(DailyRate::STILL));
    }

    #[test]
    fn one_wrong_reading_and_a_gap_move_the_rate_little() {
        // 400 km a day, two months without readings, and one reading 50,000 km too high.
        let rate = likely_km(&[
            (0, 0),
            (7, 2_800),
            (14, 5_600),
            (76, 30_400),
            (83, 83_200),
            (90, 36_000),
            (97, 38_800),
        ]);
        assert_eq!(rate, Some(Amount::whole(400)));
    }

    #[test]
    fn readings_of_more_than_half_a_year_ago_no_longer_count() {
        let slowed = likely_km(&[(0, 0), (100, 100_000), (200, 200_000), (380, 218_000)]);
        assert_eq!(slowed, Some(Amount::whole(100)));
    }

    #[test]
    fn an_hourly_read_car_is_judged_over_the_same_months() {
        // 300 km a day until 12 days before the end, then none.
        let hourly: Vec<MeterPoint> = (0..180 * 24)
            .map(|hour| MeterPoint {
                at: Instant::from_microseconds(hour * MICROSECONDS_A_DAY / 24).expect("in range"),
                usage: Amount(hour.min(168 * 24) * 12_500),
            })
            .collect();
        let rate = daily_rate(&hourly).map(DailyRate::likely);
        assert_eq!(rate, Some(Amount::whole(300)));
    }

    proptest! {
        #[test]
        fn the_spread_holds_the_likely_rate(
            steps in prop::collection::vec((1_i64..40, 0_i64..20_000), 2..30),
        ) {
            let (mut day, mut km) = (0, 0);
            let line: Vec<(i64, i64)> = steps
                .iter()
                .map(|(days, gain)| {
                    day += days;
                    km += gain;
                    (day, km)
                })
                .collect();
            let rate = daily_rate(&points(&line));
            prop_assert!(rate.is_none_or(|r| r.slow() <= r.likely() && r.likely() <= r.fast()));
            let last = line[line.len() - 1].0;
            let in_sight = line.iter().filter(|(day, _)| last - day <= RATE_DAYS).count();
            prop_assert_eq!(rate.is_some(), 2 <= in_sight);
        }
    }
}
