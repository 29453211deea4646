//! What was changed on a car between two times.

use super::component::ComponentRef;
use super::setting::SettingValue;
use crate::identity::{PositionCode, SettingName};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;

/// What stands at each filled position of a car at a time.
pub type Filled = BTreeMap<PositionCode, ComponentRef>;

/// What is told of settings on a car at a time.
pub type Settings = BTreeMap<(PositionCode, SettingName), SettingValue>;

/// One difference between two times.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case", tag = "difference")]
pub enum Difference {
    /// A component is at another position of the car.
    Moved {
        /// Where it was.
        from: PositionCode,
        /// Where it is.
        to: PositionCode,
        /// Which.
        component: ComponentRef,
    },
    /// Another component is at a position than was.
    Exchanged {
        /// Where.
        position: PositionCode,
        /// Which was there.
        gone: ComponentRef,
        /// Which is there.
        came: ComponentRef,
    },
    /// A position that was empty is filled.
    Filled {
        /// Where.
        position: PositionCode,
        /// Which is there.
        came: ComponentRef,
    },
    /// A position that was filled is empty.
    Emptied {
        /// Where.
        position: PositionCode,
        /// Which was there.
        gone: ComponentRef,
    },
    /// A setting is another than it was, or of one of the times it is not told.
    Set {
        /// Where.
        position: PositionCode,
        /// Which.
        setting: SettingName,
        /// What it was, where that is told.
        was: Option<SettingValue>,
        /// What it is, where that is told.
        is: Option<SettingValue>,
    },
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Moved {
                from,
                to,
                component,
            } => write!(f, "{component} is at {to} and was at {from}"),
            Self::Exchanged {
                position,
                gone,
                came,
            } => write!(f, "at {position} is {came} and was {gone}"),
            Self::Filled { position, came } => {
                write!(f, "at {position} is {came} and was nothing")
            }
            Self::Emptied { position, gone } => {
                write!(f, "at {position} is nothing and was {gone}")
            }
            Self::Set {
                position,
                setting,
                was,
                is,
            } => {
                let told = |value: &Option<SettingValue>| match value {
                    None => "not told".to_owned(),
                    Some(value) => value.to_string(),
                };
                let (was, is) = (told(was), told(is));
                write!(f, "{setting} at {position} is {is} and was {was}")
            }
        }
    }
}

/// What differs between two times, each component told of once: a component that changed its
/// position is moved, whatever was there before. Near linear in both.
pub fn differences(before: &Filled, after: &Filled) -> Vec<Difference> {
    let was_at: BTreeMap<&ComponentRef, &PositionCode> = before
        .iter()
        .map(|(at, component)| (component, at))
        .collect();
    let is_at: BTreeMap<&ComponentRef, &PositionCode> = after
        .iter()
        .map(|(at, component)| (component, at))
        .collect();
    let mut differences: Vec<Difference> = was_at
        .iter()
        .filter_map(|(component, from)| {
            let to = is_at.get(component).filter(|to| *to != from)?;
            Some(Difference::Moved {
                from: (*from).clone(),
                to: (*to).clone(),
                component: (*component).clone(),
            })
        })
        .collect();
    let positions: std::collections::BTreeSet<&PositionCode> =
        before.keys().chain(after.keys()).collect();
    for position in positions {
        let gone = before.get(position).filter(|one| !is_at.contains_key(one));
        let came = after.get(position).filter(|one| !was_at.contains_key(one));
        let position = position.clone();
        differences.extend(match (gone.cloned(), came.cloned()) {
            (Some(gone), Some(came)) => Some(Difference::Exchanged {
                position,
                gone,
                came,
            }),
            (None, Some(came)) => Some(Difference::Filled { position, came }),
            (Some(gone), None) => Some(Difference::Emptied { position, gone }),
            (None, None) => None,
        });
    }
    differences.sort();
    differences
}

/// The settings that differ between two times, in the order of their positions. Near linear in
/// both.
pub fn setting_differences(before: &Settings, after: &Settings) -> Vec<Difference> {
    let places: std::collections::BTreeSet<_> = before.keys().chain(after.keys()).collect();
    let differs = places.into_iter().filter_map(|place| {
        let (was, is) = (before.get(place).cloned(), after.get(place).cloned());
        let (position, setting) = place.clone();
        (was != is).then_some(Difference::Set {
            position,
            setting,
            was,
            is,
        })
    });
    differs.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(places: &[(&str, &str)]) -> Filled {
        let one = |(position, serial): &(&str, &str)| {
            let component = ComponentRef {
                part: "P-1".parse().expect("a part"),
                serial: serial.parse().expect("a serial"),
            };
            (position.parse().expect("a position"), component)
        };
        places.iter().map(one).collect()
    }

    fn words(before: &[(&str, &str)], after: &[(&str, &str)]) -> Vec<String> {
        let found = differences(&filled(before), &filled(after));
        found.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn each_component_is_told_of_once() {
        let before = [("=A1", "1"), ("=A2", "2"), ("=A3", "3"), ("=A4", "4")];
        assert_eq!(words(&before, &before), Vec::<String>::new());
        assert_eq!(words(&before[..1], &[]).len(), 1);
        // Serials 1 and 2 are swapped, 3 is exchanged, 4 is gone and 6 has come.
        let after = [("=A1", "2"), ("=A2", "1"), ("=A3", "5"), ("=A6", "6")];
        let told = words(&before, &after);
        assert_eq!(told.len(), 5, "{told:?}");
        for said in [
            "serial 1 is at =A2 and was at =A1",
            "serial 2 is at =A1 and was at =A2",
            "serial 5 and was P-1 serial 3",
            "at =A4 is nothing",
            "serial 6 and was nothing",
        ] {
            assert!(
                told.iter().any(|one| one.contains(said)),
                "{said}: {told:?}"
            );
        }
    }

    #[test]
    fn what_moved_into_a_place_leaves_what_was_there_emptied() {
        // Serial 2 went off the car and 1 took its place.
        let told = words(&[("=A1", "1"), ("=A2", "2")], &[("=A2", "1")]);
        assert_eq!(told.len(), 2, "{told:?}");
    }

    #[test]
    fn a_setting_differs_where_its_value_does_or_it_is_told_of_one_time_only() {
        let settings = |all: &[(&str, &str)]| -> Settings {
            let one = |(position, value): &(&str, &str)| {
                let setting = "orientation".parse().expect("a setting");
                let position = position.parse().expect("a position");
                ((position, setting), value.parse().expect("a value"))
            };
            all.iter().map(one).collect()
        };
        let before = settings(&[("=A1", "upright"), ("=A2", "upright"), ("=A3", "upright")]);
        let after = settings(&[("=A1", "upright"), ("=A2", "inverted"), ("=A4", "upright")]);
        let told = setting_differences(&before, &after);
        let told: Vec<String> = told.iter().map(ToString::to_string).collect();
        assert_eq!(
            told,
            [
                "orientation at =A2 is inverted and was upright",
                "orientation at =A3 is not told and was upright",
                "orientation at =A4 is upright and was not told",
            ]
        );
    }

    #[test]
    fn going_back_tells_the_reverse() {
        let (one, other) = (
            filled(&[("=A1", "1"), ("=A2", "2")]),
            filled(&[("=A1", "3"), ("=A4", "2"), ("=A5", "7")]),
        );
        assert_eq!(
            differences(&one, &other).len(),
            differences(&other, &one).len()
        );
    }
}
