//! What a setting can be set to.

use crate::identity::{Revision, SettingUnit, SettingWord};
use crate::test_record::decimal::Decimal;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// What a setting is set to. One text in files, forms, answers and entries: `8.5 bar`, `upright`,
/// `revision 2.4`. Two are the same if their texts are.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum SettingValue {
    /// A number in a unit. Pressures are gauge pressures unless the unit says absolute.
    Number(Decimal, SettingUnit),
    /// A word.
    Word(SettingWord),
    /// A revision of software or of parameters.
    Revision(Revision),
}

impl fmt::Display for SettingValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number, unit) => write!(f, "{number} {unit}"),
            Self::Word(word) => word.fmt(f),
            Self::Revision(revision) => write!(f, "revision {revision}"),
        }
    }
}

impl FromStr for SettingValue {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a number with its unit, a word, or revision and its text, as 8.5 bar, upright or revision 2.4";
        let refuse = |_| Unreadable::new("setting", text, expected);
        match text.split_once(' ') {
            None => Ok(Self::Word(text.parse().map_err(refuse)?)),
            Some(("revision", rest)) => Ok(Self::Revision(rest.parse().map_err(refuse)?)),
            Some((number, unit)) => {
                let unit = unit.parse().map_err(refuse)?;
                Ok(Self::Number(number.parse().map_err(refuse)?, unit))
            }
        }
    }
}

impl TryFrom<String> for SettingValue {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<SettingValue> for String {
    fn from(value: SettingValue) -> String {
        value.to_string()
    }
}

/// Between revisions.
const OR: &str = " or revision ";

/// Revisions as text: `revision 2.3 or revision 2.2`.
pub(super) fn written_revisions<'a>(all: impl IntoIterator<Item = &'a Revision>) -> String {
    let all: Vec<&str> = all.into_iter().map(Revision::as_str).collect();
    format!("revision {}", all.join(OR))
}

/// Revisions from such text, at least one. `revision 2.3 or 2.2` is more likely two of them than one.
pub(super) fn read_revisions(text: &str) -> Option<Vec<Revision>> {
    let all = text.trim().strip_prefix("revision ")?;
    let read = |one: &str| {
        let slip = one.split_whitespace().any(|word| word == "or");
        one.trim().parse::<Revision>().ok().filter(|_| !slip)
    };
    all.split(OR).map(read).collect()
}
