//! What was changed on a car between two times.

use super::component::{ComponentRef, Condition};
use super::setting::SettingValue;
use crate::identity::{ModificationState, PositionCode, Revision, SettingName};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;

/// What stands at each filled position of a car at a time.
pub type Filled = BTreeMap<PositionCode, ComponentRef>;

/// What is told of settings on a car at a time.
pub type Settings = BTreeMap<(PositionCode, SettingName), SettingValue>;

/// What is told of a component on a car at a time besides where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldOf {
    /// Its condition; none where that is not told.
    pub condition: Option<Condition>,
    /// Its modification state; none where that is not known.
    pub modification: Option<ModificationState>,
}

/// What is told of a car at a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Snapshot {
    /// The baseline revision in force for it.
    pub revision: Revision,
    /// What stands where.
    pub filled: Filled,
    /// What is told of these components.
    pub told: BTreeMap<ComponentRef, ToldOf>,
    /// Its settings.
    pub settings: Settings,
}

/// One difference between two times.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case", tag = "difference")]
pub enum Difference {
    /// Another baseline revision is in force for the car.
    Revised {
        /// Which was.
        was: Revision,
        /// Which is.
        is: Revision,
    },
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
    /// A component that is on the car at both times is in another condition.
    Judged {
        /// Where it is.
        position: PositionCode,
        /// Which.
        component: ComponentRef,
        /// The condition it was in, where that is told.
        was: Option<Condition>,
        /// The condition it is in, where that is told.
        is: Option<Condition>,
    },
    /// A component that is on the car at both times is in another modification state.
    Modified {
        /// Where it is.
        position: PositionCode,
        /// Which.
        component: ComponentRef,
        /// The state it was in, where that is known.
        was: Option<ModificationState>,
        /// The state it is in, where that is known.
        is: Option<ModificationState>,
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
            Self::Revised { was, is } => {
                write!(f, "baseline revision {is} is in force and was {was}")
            }
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
                let (was, is) = (told(was.as_ref()), told(is.as_ref()));
                write!(f, "{setting} at {position} is {is} and was {was}")
            }
            Self::Judged {
                position,
                component,
                was,
                is,
            } => {
                let (was, is) = (told(was.as_ref()), told(is.as_ref()));
                write!(f, "{component} at {position} is {is} and was {was}")
            }
            Self::Modified {
                position,
                component,
                was,
                is,
            } => {
                let (was, is) = (told(was.as_ref()), told(is.as_ref()));
                write!(
                    f,
                    "modification state of {component} at {position} is {is} and was {was}"
                )
            }
        }
    }
}

/// A value in words, where it is told.
pub fn told(value: Option<&impl fmt::Display>) -> String {
    value.map_or_else(|| "not told".to_owned(), ToString::to_string)
}

impl Snapshot {
    /// What differs from this to another time: the baseline, then what stands where, then what is
    /// told of the components that are there at both times, then the settings. Near linear in both.
    pub fn differences(&self, after: &Self) -> Vec<Difference> {
        let revised = (self.revision != after.revision).then(|| Difference::Revised {
            was: self.revision.clone(),
            is: after.revision.clone(),
        });
        let mut all: Vec<Difference> = revised.into_iter().collect();
        all.extend(differences(&self.filled, &after.filled));
        for (position, component) in &after.filled {
            if let (Some(was), Some(is)) = (self.told.get(component), after.told.get(component)) {
                all.extend(told_differences((position, component), was, is));
            }
        }
        all.extend(setting_differences(&self.settings, &after.settings));
        all
    }
}

fn told_differences(
    (position, component): (&PositionCode, &ComponentRef),
    was: &ToldOf,
    is: &ToldOf,
) -> impl Iterator<Item = Difference> {
    let judged = (was.condition != is.condition).then(|| Difference::Judged {
        position: position.clone(),
        component: component.clone(),
        was: was.condition,
        is: is.condition,
    });
    let modified = (was.modification != is.modification).then(|| Difference::Modified {
        position: position.clone(),
        component: component.clone(),
        was: was.modification.clone(),
        is: is.modification.clone(),
    });
    judged.into_iter().chain(modified)
}

/// What differs between two times. A component that changed its position is moved; where that
/// tells of both that a place held and holds, nothing more is said of it. Near linear in both.
fn differences(before: &Filled, after: &Filled) -> Vec<Difference> {
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
        let stayed = |one: &ComponentRef| is_at.contains_key(one) && was_at.contains_key(one);
        let (gone, came) = (before.get(position), after.get(position));
        let told = gone == came || gone.into_iter().chain(came).all(stayed);
        if told {
            continue;
        }
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
fn setting_differences(before: &Settings, after: &Settings) -> Vec<Difference> {
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
mod tests;
