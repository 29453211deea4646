//! Dates and times of an input.

use domain::time::{Day, Instant, Zone};
use domain::unreadable::Unreadable;

/// How an input is read.
#[derive(Debug, Clone)]
pub struct Options {
    /// The time zone of the depot: a date alone is the first moment of its day there.
    pub zone: Zone,
    /// How many days later each date and time counts. Only an invented history is shifted, so
    /// that it ends today; what operators bring in is read with 0.
    pub shift_days: i64,
}

const MICROSECONDS_A_DAY: i64 = 86_400_000_000;

impl Options {
    /// Reads a date.
    pub(crate) fn day(&self, text: &str) -> Result<Day, String> {
        let day: Day = text.parse().map_err(|error: Unreadable| error.expected)?;
        Ok(day.plus_days(self.shift_days))
    }

    /// Reads a time with its offset, or a date as the first moment of its day.
    pub(crate) fn moment(&self, text: &str) -> Result<Instant, String> {
        if let Ok(day) = self.day(text) {
            return Ok(self.zone.start_of(day));
        }
        let instant: Option<Instant> = text.parse().ok();
        let shift = self.shift_days.saturating_mul(MICROSECONDS_A_DAY);
        instant
            .and_then(|instant| instant.microseconds().checked_add(shift))
            .and_then(Instant::from_microseconds)
            .ok_or_else(|| {
                "a date that exists, as 2026-03-31, or a time with its offset from UTC, \
                 as 2026-03-31T10:15+01:00, from 1900 to 2199"
                    .to_owned()
            })
    }
}

/// From when on what bears no date counts: parts, car types and tasks. It lies before any
/// history that is brought in with them.
pub(crate) fn design_begins() -> Instant {
    const YEARS_TO_EPOCH_IN_DAYS: i64 = 25_202;
    Instant::from_microseconds(-YEARS_TO_EPOCH_IN_DAYS * MICROSECONDS_A_DAY)
        .expect("1901-01-01 lies in the years 1900 to 2199")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shifted(shift_days: i64) -> Options {
        Options {
            zone: Zone::UTC,
            shift_days,
        }
    }

    #[test]
    fn a_date_alone_is_the_first_moment_of_its_day_in_the_depots_zone() {
        let zone = "CET".parse().expect("a zone");
        let options = Options {
            zone,
            shift_days: 0,
        };
        let moment = options.moment("2026-07-01").expect("a date");
        assert_eq!(moment.to_string(), "2026-06-30T22:00:00Z");
    }

    #[test]
    fn a_shift_moves_dates_and_times_alike() {
        assert_eq!(
            shifted(3).day("2026-02-27"),
            Ok("2026-03-02".parse().expect("a day"))
        );
        let moment = shifted(-1)
            .moment("2026-03-01T10:15+01:00")
            .expect("a time");
        assert_eq!(moment.to_string(), "2026-02-28T09:15:00Z");
    }

    #[test]
    fn dates_that_do_not_exist_and_times_without_an_offset_are_refused() {
        for bad in [
            "2026-02-30",
            "2026-3-1",
            "31.03.2026",
            "2026-03-31T10:15",
            "46112",
        ] {
            assert!(shifted(0).moment(bad).is_err(), "{bad}");
            assert!(shifted(0).day(bad).is_err(), "{bad}");
        }
        assert!(shifted(i64::MAX).moment("2026-03-01T10:15Z").is_err());
    }

    #[test]
    fn designs_count_from_the_beginning_of_1901() {
        assert_eq!(design_begins().to_string(), "1901-01-01T00:00:00Z");
    }
}
