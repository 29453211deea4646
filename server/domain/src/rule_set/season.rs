//! Parts of the year that come every year: falling leaves, frost.

use crate::time::Day;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A part of every year, by its first and its last day, both within it; over the turn of the year
/// where the last day is before the first. Written `10-01 to 12-15`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Season {
    first: DayOfYear,
    last: DayOfYear,
}

/// A day of every year, by month and day; 29 February is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct DayOfYear {
    month: i8,
    day: i8,
}

/// In so many days comes every day of the year: 29 February may be all of a season.
const DAYS_MAX: i64 = 8 * 366;
const EXPECTED: &str = "the first and the last day of a part of the year, as 10-01 to 12-15";
/// The days of each month in a leap year.
const DAYS: [i8; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

impl Season {
    /// Whether a day lies within it.
    pub fn holds(self, day: Day) -> bool {
        let date = day.date();
        let day = DayOfYear {
            month: date.month(),
            day: date.day(),
        };
        if self.first <= self.last {
            self.first <= day && day <= self.last
        } else {
            self.first <= day || day <= self.last
        }
    }
}

impl Season {
    /// The first day after one on which it begins, or has ended; none where it lasts all year.
    pub fn turns_after(self, day: Day) -> Option<Day> {
        let within = self.holds(day);
        let mut days = (1..=DAYS_MAX).map(|count| day.plus_days(count));
        days.find(|later| self.holds(*later) != within)
    }
}

impl DayOfYear {
    fn read(text: &str) -> Option<Self> {
        let (month, day) = text.split_once('-')?;
        let two = |digits: &str| {
            let plain = digits.len() == 2 && digits.bytes().all(|b| b.is_ascii_digit());
            digits.parse::<i8>().ok().filter(|_| plain)
        };
        let (month, day) = (two(month)?, two(day)?);
        let place = usize::try_from(month).ok()?.checked_sub(1)?;
        (1..=*DAYS.get(place)?)
            .contains(&day)
            .then_some(Self { month, day })
    }
}

impl FromStr for Season {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let ends = text.split_once(" to ");
        let read = ends.and_then(|(first, last)| {
            Some(Self {
                first: DayOfYear::read(first)?,
                last: DayOfYear::read(last)?,
            })
        });
        read.ok_or_else(|| Unreadable::new("season", text, EXPECTED))
    }
}

impl fmt::Display for DayOfYear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}-{:02}", self.month, self.day)
    }
}

impl fmt::Display for Season {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.first, self.last)
    }
}

impl TryFrom<String> for Season {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<Season> for String {
    fn from(season: Season) -> String {
        season.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holds(season: &str, day: &str) -> bool {
        let season: Season = season.parse().expect("a season");
        season.holds(day.parse().expect("a day"))
    }

    #[test]
    fn its_first_and_last_day_are_within_it_in_every_year() {
        for (day, within) in [
            ("2025-09-30", false),
            ("2025-10-01", true),
            ("2031-12-15", true),
            ("2031-12-16", false),
        ] {
            assert_eq!(holds("10-01 to 12-15", day), within, "{day}");
        }
        assert!(holds("02-29 to 02-29", "2028-02-29"));
        assert!(!holds("02-29 to 02-29", "2027-03-01"));
    }

    #[test]
    fn it_turns_on_its_first_day_and_on_the_day_after_its_last() {
        let turns = |season: &str, day: &str| {
            let season: Season = season.parse().expect("a season");
            let turn = season.turns_after(day.parse().expect("a day"));
            turn.map_or("never".to_owned(), |day| day.to_string())
        };
        assert_eq!(turns("10-01 to 12-15", "2025-09-30"), "2025-10-01");
        assert_eq!(turns("10-01 to 12-15", "2025-10-01"), "2025-12-16");
        assert_eq!(turns("11-15 to 03-31", "2026-12-31"), "2027-04-01");
        assert_eq!(turns("02-29 to 02-29", "2025-03-01"), "2028-02-29");
        assert_eq!(turns("01-01 to 12-31", "2025-03-01"), "never");
    }

    #[test]
    fn it_may_lie_over_the_turn_of_the_year() {
        for (day, within) in [
            ("2025-11-14", false),
            ("2025-11-15", true),
            ("2026-01-01", true),
            ("2026-03-31", true),
            ("2026-04-01", false),
        ] {
            assert_eq!(holds("11-15 to 03-31", day), within, "{day}");
        }
    }

    #[test]
    fn what_is_no_part_of_a_year_is_refused() {
        for text in [
            "",
            "10-01",
            "10-01 to",
            "13-01 to 01-02",
            "02-30 to 03-01",
            "1-1 to 2-2",
            "00-10 to 01-01",
            "10-01 to 12-00",
            "+1-01 to 02-01",
        ] {
            assert!(text.parse::<Season>().is_err(), "{text}");
        }
        let season: Season = "02-29 to 03-01".parse().expect("a season");
        assert_eq!(season.to_string(), "02-29 to 03-01");
    }
}
