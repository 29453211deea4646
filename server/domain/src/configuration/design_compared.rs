//! What differs between two revisions of a car type in what may be fitted where. Circuits are
//! compared as text.

use super::car_type::{CarType, Position};
use super::part::StatesApproved;
use super::setting::Setting;
use crate::identity::{ModificationState, PartNumber, PositionCode, SettingName};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;

/// One difference between two revisions.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DesignChange {
    /// A position is new.
    PositionNew,
    /// A position is gone.
    PositionGone,
    /// Something else belongs there, or it is called or lies otherwise.
    PositionOther,
    /// A part is approved that was not.
    PartNew(PartNumber),
    /// A part is not approved that was.
    PartGone(PartNumber),
    /// Other modification states of a part are asked for: before and now, `any` where none are,
    /// `none` before where the part was not approved.
    States {
        /// The part.
        part: PartNumber,
        /// What was asked for.
        before: String,
        /// What is.
        now: String,
    },
    /// Another value of a setting is wanted, or another range allowed: before and now, `nothing`
    /// where it is not asked for.
    Setting {
        /// The setting.
        setting: SettingName,
        /// What was wanted and allowed.
        before: String,
        /// What is.
        now: String,
    },
}

impl fmt::Display for DesignChange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::PositionNew => f.write_str("the position is new"),
            Self::PositionGone => f.write_str("the position is gone"),
            Self::PositionOther => f.write_str("the position is described otherwise"),
            Self::PartNew(part) => write!(f, "{part} is approved and was not"),
            Self::PartGone(part) => write!(f, "{part} is not approved and was"),
            Self::States { part, before, now } => write!(
                f,
                "modification state of {part}: {now} is approved and was {before}"
            ),
            Self::Setting {
                setting,
                before,
                now,
            } => write!(f, "setting {setting}: {now} is wanted and was {before}"),
        }
    }
}

/// What differs at each position, in the order of their codes. Near linear in both revisions.
pub fn changes(before: &CarType, now: &CarType) -> Vec<(PositionCode, DesignChange)> {
    let codes = before.positions.iter().chain(&now.positions);
    let codes: BTreeSet<&PositionCode> = codes.map(|position| &position.code).collect();
    let mut all = Vec::new();
    for code in codes {
        let changes = match (before.position(code), now.position(code)) {
            (None, Some(position)) => {
                let parts = position.approved.iter().cloned();
                let mut changes = vec![DesignChange::PositionNew];
                changes.extend(parts.map(DesignChange::PartNew));
                let bare = Position {
                    settings: Vec::new(),
                    ..position.clone()
                };
                changes.extend(settings(&bare, position));
                changes
            }
            (Some(_), None) => vec![DesignChange::PositionGone],
            (Some(before), Some(now)) => at_position(before, now),
            (None, None) => Vec::new(),
        };
        all.extend(changes.into_iter().map(|change| (code.clone(), change)));
    }
    all
}

fn at_position(before: &Position, now: &Position) -> Vec<DesignChange> {
    let mut changes = Vec::new();
    let bare = |position: &Position| Position {
        approved: Vec::new(),
        states: Vec::new(),
        settings: Vec::new(),
        ..position.clone()
    };
    if bare(before) != bare(now) {
        changes.push(DesignChange::PositionOther);
    }
    let only = |these: &Position, those: &Position| {
        let only = these.approved.iter();
        let only = only.filter(|part| !those.approved.contains(part));
        only.cloned().collect::<Vec<_>>()
    };
    changes.extend(only(now, before).into_iter().map(DesignChange::PartNew));
    changes.extend(only(before, now).into_iter().map(DesignChange::PartGone));
    for part in &now.approved {
        let (was, now) = (states(&before.states, part), states(&now.states, part));
        if was != now {
            let was_approved = before.approved.contains(part);
            changes.push(DesignChange::States {
                part: part.clone(),
                before: if was_approved { was } else { "none".to_owned() },
                now,
            });
        }
    }
    changes.extend(settings(before, now));
    changes
}

fn settings(before: &Position, now: &Position) -> Vec<DesignChange> {
    let names = before.settings.iter().chain(&now.settings);
    let names: BTreeSet<&SettingName> = names.map(Setting::name).collect();
    let asked = |position: &Position, name| match position.setting(name) {
        None => "nothing".to_owned(),
        Some(one) => format!("{} of {}", one.wanted(), one.allowed()),
    };
    let changed = names.into_iter().filter_map(|name| {
        let (before, now) = (asked(before, name), asked(now, name));
        (before != now).then(|| DesignChange::Setting {
            setting: name.clone(),
            before,
            now,
        })
    });
    changed.collect()
}

/// The states asked for of a part, in words.
pub fn states(asked: &[StatesApproved], part: &PartNumber) -> String {
    match super::part::states_of(asked, part) {
        None => "any".to_owned(),
        Some(states) => {
            let states: Vec<&str> = states.iter().map(ModificationState::as_str).collect();
            states.join(" or ")
        }
    }
}
