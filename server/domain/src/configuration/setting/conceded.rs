//! The values of a setting that a concession allows though the baseline does not.

use super::value::{read_revisions, written_revisions};
use super::{Setting, SettingValue};
use crate::identity::{Revision, SettingUnit, SettingWord};
use crate::test_record::decimal::Decimal;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Values that are allowed outside the range: `8.7 to 9.2 bar`, words as `inverted or sideways`, or
/// revisions as `revision 2.3 or revision 2.2`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum ConcededValues {
    /// Numbers from a lower to an upper one, both included.
    Numbers {
        /// The lower one.
        lower: Decimal,
        /// The upper one.
        upper: Decimal,
        /// Their unit.
        unit: SettingUnit,
    },
    /// Words.
    Words(Vec<SettingWord>),
    /// Revisions.
    Revisions(Vec<Revision>),
}

impl ConcededValues {
    /// Whether a value is one of them.
    pub fn admit(&self, value: &SettingValue) -> bool {
        match (self, value) {
            (Self::Numbers { lower, upper, unit }, SettingValue::Number(number, of)) => {
                of == unit && (lower..=upper).contains(&number)
            }
            (Self::Words(words), SettingValue::Word(word)) => words.contains(word),
            (Self::Revisions(all), SettingValue::Revision(revision)) => all.contains(revision),
            _ => false,
        }
    }

    /// Whether a setting could be set so.
    pub fn are_of_kind_of(&self, setting: &Setting) -> bool {
        let one = match self {
            Self::Numbers { lower, unit, .. } => Some(SettingValue::Number(*lower, unit.clone())),
            Self::Words(words) => words.first().cloned().map(SettingValue::Word),
            Self::Revisions(all) => all.first().cloned().map(SettingValue::Revision),
        };
        one.is_some_and(|one| setting.is_of_kind(&one))
    }
}

impl fmt::Display for ConcededValues {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Numbers { lower, upper, unit } => write!(f, "{lower} to {upper} {unit}"),
            Self::Words(words) => {
                let words: Vec<&str> = words.iter().map(SettingWord::as_str).collect();
                f.write_str(&words.join(" or "))
            }
            Self::Revisions(all) => f.write_str(&written_revisions(all)),
        }
    }
}

impl FromStr for ConcededValues {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "the lowest and the highest number with their unit, words or revisions, as 8.7 to 9.2 bar, inverted or sideways, or revision 2.3 or revision 2.2";
        let refuse = || Unreadable::new("values", text, expected);
        // A word may be "revision" too.
        if text.trim().starts_with("revision ") && !text.trim().starts_with("revision or ") {
            return read_revisions(text).map(Self::Revisions).ok_or_else(refuse);
        }
        let Some((lower, rest)) = text.split_once(" to ") else {
            let words = text.split(" or ").map(|word| word.trim().parse());
            let words: Result<Vec<SettingWord>, _> = words.collect();
            return Ok(Self::Words(words.map_err(|_| refuse())?));
        };
        let (upper, unit) = rest.trim().split_once(' ').ok_or_else(refuse)?;
        let lower: Decimal = lower.trim().parse().map_err(|_| refuse())?;
        let upper = upper.parse().map_err(|_| refuse())?;
        let unit = unit.trim().parse().map_err(|_| refuse())?;
        if upper < lower {
            return Err(refuse());
        }
        Ok(Self::Numbers { lower, upper, unit })
    }
}

impl TryFrom<String> for ConcededValues {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<ConcededValues> for String {
    fn from(values: ConcededValues) -> String {
        values.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_admitted_within_what_is_conceded_and_nowhere_else() {
        let pressures: ConcededValues = "8.7 to 9.2 bar".parse().expect("values");
        assert_eq!(pressures.to_string(), "8.7 to 9.2 bar");
        for (value, admitted) in [
            ("8.7 bar", true),
            ("9.20 bar", true),
            ("9.3 bar", false),
            ("0 bar", false),
            ("9 kPa", false),
            ("upright", false),
        ] {
            let value = value.parse().expect("a value");
            assert_eq!(pressures.admit(&value), admitted, "{value}");
        }
        let words: ConcededValues = "inverted or sideways".parse().expect("values");
        assert!(words.admit(&"sideways".parse().expect("a value")));
        assert!(!words.admit(&"upright".parse().expect("a value")));
        let revisions: ConcededValues = "revision 2.3 or revision 2.2".parse().expect("values");
        assert_eq!(revisions.to_string(), "revision 2.3 or revision 2.2");
        assert!(revisions.admit(&"revision 2.2".parse().expect("a value")));
        assert!(!revisions.admit(&"revision 2.1".parse().expect("a value")));
        assert!(!revisions.admit(&"upright".parse().expect("a value")));
        let software: Setting = "software@revision 2.4".parse().expect("a setting");
        assert!(revisions.are_of_kind_of(&software) && !words.are_of_kind_of(&software));
        let words: ConcededValues = "revision or sideways".parse().expect("values");
        assert!(words.admit(&"revision".parse().expect("a value")));
        for wrong in [
            "",
            "9.2 to 8.7 bar",
            "8.7 to 9.2",
            "8.7 to bar",
            "revision 2.3 or 2.2",
        ] {
            assert!(wrong.parse::<ConcededValues>().is_err(), "{wrong}");
        }
    }
}
