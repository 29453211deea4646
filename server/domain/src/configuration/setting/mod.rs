//! Settings: values that belong to a position's configuration, as the pressure at which a valve
//! opens, the bore of a choke, which way round a plate sits, the revision of a software. A right
//! part that is set wrong is a wrong part.
//!
//! A setting is what was set on the component that is at the position. Whatever comes from the
//! store carries a setting of its own: when the component is exchanged, what was set before says
//! nothing any more, and the setting is not told until it is recorded anew. It is never assumed.

mod asked;
mod conceded;
mod value;

pub use asked::{Setting, WORDS_MAX};
pub use conceded::ConcededValues;
pub use value::SettingValue;

use crate::configuration::car_type::Position;
use crate::configuration::component::PositionRef;
use crate::identity::{PersonName, PositionCode, SettingName};
use crate::ledger::dossier::Period;
use crate::ledger::entry::Seq;
use crate::time::Instant;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

/// The most settings of one position.
pub const SETTINGS_MAX: usize = 20;

/// A setting was made or found at a position of a car.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SettingMade {
    /// Where.
    #[serde(flatten)]
    pub at: PositionRef,
    /// Which.
    pub setting: SettingName,
    /// What it is set to.
    pub value: SettingValue,
    /// Whether somebody set it so or found it so.
    #[serde(default, skip_serializing_if = "SettingHow::is_made")]
    pub how: SettingHow,
}

word_list! {
    /// How it is known what something is set to.
    SettingHow, "how a setting is known" {
        /// Somebody set it so.
        Made = "made",
        /// Somebody found it so, whether it is allowed or not.
        Found = "found",
    }
}

impl Default for SettingHow {
    /// What entries meant that do not say it.
    fn default() -> Self {
        Self::Made
    }
}

impl SettingHow {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
    fn is_made(&self) -> bool {
        *self == Self::Made
    }
}

/// A setting as it was made, by which entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettingRecord {
    /// The entry.
    pub by: Seq,
    /// Who recorded it.
    pub recorded_by: PersonName,
    /// When it was made.
    pub since: Instant,
    /// Which, where and to what.
    pub made: SettingMade,
}

/// How a place stands with a setting that its baseline asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SettingStanding<'a> {
    /// It is set to the value wanted.
    AsWanted(&'a SettingRecord),
    /// It is set to another value that is allowed.
    Deviates(&'a SettingRecord),
    /// It was found at a value that is not allowed, or is since another revision is in force.
    OutOfRange(&'a SettingRecord),
    /// Nothing was recorded of it since what is there came there.
    NotTold,
}

/// What is told of a setting at a place at a moment: the last that was recorded of it by then,
/// and of two made at one moment the one recorded later; but nothing from before the place
/// last changed, when what is there came or what was there came off. Linear in the records.
pub fn told<'a>(
    records: impl IntoIterator<Item = &'a SettingRecord>,
    setting: &SettingName,
    (changed, at): (Option<Instant>, Instant),
) -> Option<&'a SettingRecord> {
    let of_setting = records
        .into_iter()
        .filter(|one| one.made.setting == *setting);
    let still = of_setting
        .filter(|one| one.since <= at && changed.is_none_or(|changed| changed <= one.since));
    still.max_by_key(|one| (one.since, one.by))
}

/// When a place last changed by a moment, and whether something stood there then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PlaceThen {
    /// When what is there came, or what was there came off; none where nothing ever did.
    pub changed: Option<Instant>,
    /// Whether something is there.
    pub filled: bool,
}

impl PlaceThen {
    /// By the periods over which components were at a place, in any order, as at a moment.
    pub fn of(periods: impl IntoIterator<Item = Period>, at: Instant) -> Self {
        let mut then = Self::default();
        for period in periods.into_iter().filter(|period| period.from <= at) {
            let ended = period.until.filter(|until| *until <= at);
            then.changed = then.changed.max(Some(ended.unwrap_or(period.from)));
            then.filled |= ended.is_none();
        }
        then
    }
}

/// A setting that is asked for at a place of a car, and what is told of it at a moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettingAt {
    /// Where, by its full code.
    pub position: PositionCode,
    /// What is asked for.
    pub setting: Setting,
    /// What is told of it.
    pub told: Option<SettingRecord>,
    /// When the place last changed, and whether something stands there.
    pub place: PlaceThen,
    /// Whether a component belongs there; then, without one, there is nothing to be set.
    pub needs_component: bool,
}

impl SettingAt {
    /// The settings that a place is asked for, as at a moment, by what was made there until then
    /// and earlier.
    pub fn all(
        position: &Position,
        made: &[SettingRecord],
        (place, at): (PlaceThen, Instant),
    ) -> Vec<Self> {
        let needs_component = !position.approved.is_empty();
        let of = |setting: &Setting| Self {
            position: position.code.clone(),
            setting: setting.clone(),
            told: told(made, setting.name(), (place.changed, at))
                .filter(|_| place.filled || !needs_component)
                .cloned(),
            place,
            needs_component,
        };
        position.settings.iter().map(of).collect()
    }

    /// How the place stands with it.
    pub fn standing(&self) -> SettingStanding<'_> {
        self.setting.standing(self.told.as_ref())
    }

    /// Whether nothing is there that could be set, and something should be.
    pub fn is_vacant(&self) -> bool {
        self.needs_component && !self.place.filled
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn record(by: i64, since: i64, value: &str) -> SettingRecord {
        let at = PositionRef {
            car: "4101".parse().expect("a car"),
            position: "=BS-K1".parse().expect("a position"),
        };
        SettingRecord {
            by: Seq(by),
            recorded_by: "T. Technician".parse().expect("a name"),
            since: Instant::from_microseconds(since).expect("a moment"),
            made: SettingMade {
                at,
                setting: "orientation".parse().expect("a setting"),
                value: value.parse().expect("a value"),
                how: SettingHow::Made,
            },
        }
    }

    #[test]
    fn nothing_from_before_an_exchange_is_told_after_it() {
        let records = [record(1, 100, "upright"), record(2, 200, "inverted")];
        let moment = |at: i64| Instant::from_microseconds(at).expect("a moment");
        let name = "orientation".parse().expect("a setting");
        let told = |changed: Option<i64>, at| {
            let told = told(&records, &name, (changed.map(moment), moment(at)));
            told.map(|one| one.by.0)
        };
        assert_eq!(told(None, 99), None);
        assert_eq!(told(None, 150), Some(1));
        assert_eq!(told(None, 200), Some(2));
        // What is made in the moment of fitting is made on what was fitted.
        assert_eq!(told(Some(200), 300), Some(2));
        assert_eq!(told(Some(201), 300), None);
    }

    #[test]
    fn a_place_changes_when_something_comes_and_when_it_goes() {
        let moment = |at: i64| Instant::from_microseconds(at).expect("a moment");
        let period = |from, until: Option<i64>| Period {
            from: moment(from),
            until: until.map(moment),
        };
        let periods = [period(10, Some(20)), period(30, None)];
        for (at, changed, filled) in [
            (9, None, false),
            (10, Some(10), true),
            (19, Some(10), true),
            (20, Some(20), false),
            (30, Some(30), true),
            (99, Some(30), true),
        ] {
            let then = PlaceThen {
                changed: changed.map(moment),
                filled,
            };
            assert_eq!(PlaceThen::of(periods, moment(at)), then, "at {at}");
        }
    }

    proptest! {
        /// The order in which records come does not matter, and what is told is of the period.
        #[test]
        fn what_is_told_is_the_last_of_its_period(moments in prop::collection::vec(0_i64..50, 0..12), changed in prop::option::of(0_i64..50), at in 0_i64..50) {
            let records: Vec<SettingRecord> = moments.iter().zip(1..).map(|(since, by)| record(by, *since, "upright")).collect();
            let name = "orientation".parse().expect("a setting");
            let moment = |at: i64| Instant::from_microseconds(at).expect("a moment");
            let over = (changed.map(moment), moment(at));
            let one = told(&records, &name, over).map(|one| one.by);
            prop_assert_eq!(told(records.iter().rev(), &name, over).map(|one| one.by), one);
            let within = records.iter().filter(|one| one.since <= moment(at) && over.0.is_none_or(|from| from <= one.since));
            let last = within.map(|one| (one.since, one.by)).max();
            prop_assert_eq!(last.map(|(_, by)| by), one);
        }
    }
}
