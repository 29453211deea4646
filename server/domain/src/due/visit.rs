//! A visit: a planned stay of a unit at a depot, with the hours there are for work on it.

use crate::identity::{DepotName, ModificationNumber, UnitNumber, VisitNumber};
use crate::ledger::entry::Seq;
use crate::time::Day;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

/// Days of one visit.
pub const DAYS_MAX: i64 = 366;
/// Modifications that one visit is planned for.
pub const MODIFICATIONS_MAX: usize = 100;

/// Hours of work of all who work: at least one, at most [`WorkHours::MAX`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "u32", into = "u32")]
pub struct WorkHours(u32);

impl WorkHours {
    /// Of one visit.
    pub const MAX: u32 = 20_000;
}

impl TryFrom<u32> for WorkHours {
    type Error = Unreadable;
    fn try_from(hours: u32) -> Result<Self, Unreadable> {
        if hours == 0 || Self::MAX < hours {
            let expected = format!("whole hours from 1 to {}", Self::MAX);
            let given = hours.to_string();
            return Err(Unreadable::new("hours of work", &given, expected));
        }
        Ok(Self(hours))
    }
}

impl From<WorkHours> for u32 {
    fn from(hours: WorkHours) -> u32 {
        hours.0
    }
}

impl FromStr for WorkHours {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        // What is no number at all is refused as nought is.
        let hours = text.parse::<u32>().unwrap_or(0);
        Self::try_from(hours).map_err(|why| Unreadable::new("hours of work", text, why.expected))
    }
}

impl fmt::Display for WorkHours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} h", self.0)
    }
}

/// A stay as it is planned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visit {
    /// Its number.
    pub number: VisitNumber,
    /// Which unit.
    pub unit: UnitNumber,
    /// Where.
    pub depot: DepotName,
    /// The day on which it comes.
    pub from: Day,
    /// The day on which it goes; not before it comes, nor [`DAYS_MAX`] later.
    pub until: Day,
    /// Hours of work there are for it.
    pub hours: WorkHours,
    /// The modifications that are to be embodied during it, at most [`MODIFICATIONS_MAX`].
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub modifications: BTreeSet<ModificationNumber>,
    /// The entry by which it was planned before, if it is planned otherwise. Whoever did not see
    /// that entry does not overwrite it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_place_of: Option<Seq>,
}

impl Visit {
    /// The day on which a stay ends, if it may, or what would be allowed.
    pub fn stays(from: Day, until: Day) -> Result<Day, String> {
        if (0..DAYS_MAX).contains(&from.days_until(until)) {
            return Ok(until);
        }
        Err(format!(
            "a day from {from} on, less than {DAYS_MAX} days later"
        ))
    }

    /// Whether a unit would have to be in two places: on more than the day between the two.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.unit == other.unit && self.from.max(other.from) < self.until.min(other.until)
    }
}

/// A visit as the register knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VisitRecord {
    /// As it was planned last.
    pub visit: Visit,
    /// The entry that planned it so.
    pub by: Seq,
    /// The entry that cancelled it.
    pub cancelled_by: Option<Seq>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn visit(from: &str, until: &str) -> Visit {
        Visit {
            number: "V1".parse().expect("a number"),
            unit: "TM101".parse().expect("a unit"),
            depot: "North".parse().expect("a depot"),
            from: from.parse().expect("a day"),
            until: until.parse().expect("a day"),
            hours: WorkHours(8),
            modifications: BTreeSet::new(),
            in_place_of: None,
        }
    }

    #[test]
    fn hours_are_whole_and_not_nought() {
        assert!("40".parse::<WorkHours>().is_ok());
        for bad in ["0", "-1", "1.5", "20001", "", "many", "99999999999"] {
            let refused = bad.parse::<WorkHours>().expect_err(bad);
            assert_eq!(refused.given, bad);
        }
    }

    #[test]
    fn stays_overlap_on_more_than_the_day_between_them() {
        let first = visit("2026-05-01", "2026-05-04");
        for (from, until, expected) in [
            ("2026-05-04", "2026-05-06", false),
            ("2026-04-20", "2026-05-01", false),
            ("2026-05-03", "2026-05-06", true),
            ("2026-05-02", "2026-05-03", true),
            ("2026-04-01", "2026-06-01", true),
        ] {
            let other = visit(from, until);
            assert_eq!(first.overlaps(&other), expected, "{from} to {until}");
            assert_eq!(other.overlaps(&first), expected, "{from} to {until}");
        }
        let elsewhere = Visit {
            unit: "TM102".parse().expect("a unit"),
            ..first.clone()
        };
        assert!(!first.overlaps(&elsewhere));
    }
}
