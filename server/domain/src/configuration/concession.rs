//! Concessions: written permission for a departure from the baseline, with an end. It allows one
//! part, or one setting to be otherwise, at one position of some cars; two people agree on it, and it ends on a day, by itself.

use super::component::PositionRef;
use super::effectivity::CarRanges;
use super::setting::{ConcededValues, SettingValue};
use crate::identity::{ConcessionNumber, PartNumber, PositionCode, SettingName};
use crate::ledger::entry::Seq;
use crate::time::{Day, Instant};
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A concession as it is granted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Concession {
    /// Its number.
    pub number: ConcessionNumber,
    /// The cars it is for.
    pub cars: CarRanges,
    /// The position, by its full code.
    pub position: PositionCode,
    /// What it allows there.
    #[serde(flatten)]
    pub allows: Allowed,
    /// Of a setting outside what the baseline admits: the values that are allowed. Of one that was
    /// granted before it had to name them, nobody can tell what it allows: it allows none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub values: Option<ConcededValues>,
    /// Why the risk is accepted, and what is done to keep it small.
    pub reason: String,
    /// The last day on which it is in force.
    pub until: Day,
}

/// What a concession allows at its position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Allowed {
    /// A part though it is not approved, or in a modification state that is not.
    Part(PartNumber),
    /// A setting to have another value than the one wanted, within what the baseline admits.
    Setting(SettingName),
    /// A setting to be made, or to stay, outside what the baseline admits.
    SettingOutOfRange(SettingName),
}

impl Concession {
    /// Whether it is for a setting outside its range and does not say which values it allows there, as
    /// one that was granted before it had to.
    pub fn names_no_values(&self) -> bool {
        matches!(self.allows, Allowed::SettingOutOfRange(_)) && self.values.is_none()
    }

    /// Whether it allows a value of the setting that it is for, if that is told.
    pub fn admits(&self, value: Option<&SettingValue>) -> bool {
        match (&self.values, value) {
            (Some(values), Some(value)) => values.admit(value),
            _ => !self.names_no_values(),
        }
    }
}

impl Allowed {
    /// The part, if it is one.
    pub fn part(&self) -> Option<&PartNumber> {
        match self {
            Self::Part(part) => Some(part),
            Self::Setting(_) | Self::SettingOutOfRange(_) => None,
        }
    }

    /// The setting, if it is one.
    pub fn setting(&self) -> Option<&SettingName> {
        match self {
            Self::Part(_) => None,
            Self::Setting(setting) | Self::SettingOutOfRange(setting) => Some(setting),
        }
    }
}

impl fmt::Display for Allowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Part(part) => write!(f, "part {part}"),
            Self::Setting(setting) => write!(f, "another value of {setting}"),
            Self::SettingOutOfRange(setting) => {
                write!(f, "a value of {setting} outside its range")
            }
        }
    }
}

/// A concession as the register has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConcessionRecord {
    /// The entry by which it is in force: that of the second person.
    pub by: Seq,
    /// From when.
    pub granted_at: Instant,
    /// As it was granted.
    pub granted: Concession,
    /// Each time it was prolonged: the entry, and the last day from then on.
    pub prolonged: Vec<(Seq, Day)>,
    /// When it was withdrawn, by which entry.
    pub withdrawn: Option<(Seq, Instant)>,
}

word_list! {
    /// How a concession stands on a day.
    ConcessionStanding, "standing of a concession" {
        /// It is in force.
        InForce = "in_force",
        /// It is in force and ends within [`ENDING_DAYS`].
        Ending = "ending",
        /// Its last day is over.
        Expired = "expired",
        /// It was withdrawn before it ended.
        Withdrawn = "withdrawn",
    }
}

/// How many days before its end a concession is shown as ending. Common practice, no source.
pub const ENDING_DAYS: i64 = 60;

impl ConcessionRecord {
    /// The last day on which it is in force, unless it is withdrawn.
    pub fn until(&self) -> Day {
        self.prolonged
            .last()
            .map_or(self.granted.until, |(_, until)| *until)
    }

    /// How it stands on a day.
    pub fn standing(&self, on: Day) -> ConcessionStanding {
        let until = self.until();
        if self.withdrawn.is_some() {
            ConcessionStanding::Withdrawn
        } else if until < on {
            ConcessionStanding::Expired
        } else if on.days_until(until) <= ENDING_DAYS {
            ConcessionStanding::Ending
        } else {
            ConcessionStanding::InForce
        }
    }

    /// The same as at a moment: none before it was granted, and withdrawn only from when it was.
    #[must_use]
    pub fn as_at(&self, at: Instant) -> Option<Self> {
        (self.granted_at <= at).then(|| Self {
            withdrawn: self.withdrawn.filter(|(_, withdrawn)| *withdrawn <= at),
            ..self.clone()
        })
    }

    /// Whether it allows that at a position of a car.
    pub fn covers(&self, what: &Allowed, at: &PositionRef) -> bool {
        let Concession {
            cars,
            position,
            allows,
            ..
        } = &self.granted;
        allows == what && *position == at.position && cars.hold(&at.car)
    }

    /// Whether it is in force at a moment of a day.
    pub fn holds(&self, at: Instant, on: Day) -> bool {
        let withdrawn = self.withdrawn.is_some_and(|(_, withdrawn)| withdrawn <= at);
        self.granted_at <= at && on <= self.until() && !withdrawn
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_names_no_values_outside_a_range_allows_none() {
        let setting = || "opening pressure".parse().expect("a setting");
        let granted = |allows, values: Option<&str>| Concession {
            number: "C-1".parse().expect("a number"),
            cars: "4101 to 4110".parse().expect("cars"),
            position: "=B1-K1".parse().expect("a position"),
            allows,
            values: values.map(|values| values.parse().expect("values")),
            reason: "until stock arrives".to_owned(),
            until: "2029-06-30".parse().expect("a day"),
        };
        let value = "9 bar".parse().expect("a value");
        let outside = |values| granted(Allowed::SettingOutOfRange(setting()), values);
        assert!(outside(Some("8.7 to 9.2 bar")).admits(Some(&value)));
        for told in [Some(&value), None] {
            assert!(!outside(None).admits(told), "{told:?}");
            assert!(granted(Allowed::Setting(setting()), None).admits(told));
        }
    }

    #[test]
    fn it_ends_by_itself_after_its_last_day() {
        let day = |text: &str| text.parse::<Day>().expect("a day");
        let moment = |text: &str| text.parse::<Instant>().expect("a moment");
        let mut record = ConcessionRecord {
            by: Seq(9),
            granted_at: moment("2029-01-01T12:00Z"),
            granted: Concession {
                number: "C-1".parse().expect("a number"),
                cars: "4101 to 4110".parse().expect("cars"),
                position: "=B1-K1".parse().expect("a position"),
                allows: Allowed::Part("DV/200".parse().expect("a part")),
                values: None,
                reason: "until stock arrives".to_owned(),
                until: day("2029-06-30"),
            },
            prolonged: Vec::new(),
            withdrawn: None,
        };
        let standing = |record: &ConcessionRecord, on| record.standing(day(on)).name();
        assert_eq!(standing(&record, "2029-03-01"), "in_force");
        assert_eq!(standing(&record, "2029-05-01"), "ending");
        assert_eq!(standing(&record, "2029-06-30"), "ending");
        assert_eq!(standing(&record, "2029-07-01"), "expired");
        let holds = |record: &ConcessionRecord, at: &str| record.holds(moment(at), day(&at[..10]));
        assert!(!holds(&record, "2029-01-01T11:59Z"));
        assert!(holds(&record, "2029-06-30T23:59Z"));
        assert!(!holds(&record, "2029-07-01T00:00Z"));
        record.prolonged.push((Seq(20), day("2029-12-31")));
        assert!(holds(&record, "2029-07-01T00:00Z"));
        record.withdrawn = Some((Seq(30), moment("2029-08-01T00:00Z")));
        assert!(holds(&record, "2029-07-31T23:59Z"));
        assert!(!holds(&record, "2029-08-01T00:00Z"));
        assert_eq!(standing(&record, "2029-08-01"), "withdrawn");
        let as_at = |at: &str| record.as_at(moment(at));
        assert_eq!(as_at("2029-01-01T11:59Z"), None);
        let before = as_at("2029-07-31T23:59Z").expect("granted by then");
        assert_eq!(standing(&before, "2029-07-31"), "in_force");
        assert_eq!(as_at("2029-08-01T00:00Z").as_ref(), Some(&record));
    }
}
