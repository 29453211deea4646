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
