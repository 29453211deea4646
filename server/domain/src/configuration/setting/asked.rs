//! What a baseline asks for: the value wanted, and what else is allowed.

use super::value::{read_revisions, written_revisions};
use super::{SettingRecord, SettingStanding, SettingValue};
use crate::identity::{Revision, SettingName, SettingUnit, SettingWord};
use crate::test_record::decimal::Decimal;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

/// The most words or revisions that a setting may be one of.
pub const WORDS_MAX: usize = 12;

/// A setting that a revision of a car type asks for at a position. As text
/// `opening pressure@8.5 bar@8.3 to 8.7`, `orientation@upright@inverted` or
/// `software@revision 2.4@revision 2.3 or revision 2.2`: its name, the value wanted, and what else
/// is allowed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Body", into = "Body")]
pub struct Setting {
    name: SettingName,
    demand: Demand,
}

/// What is wanted, and what else is allowed.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Demand {
    /// A number from a lower to an upper one, both included, and itself between them.
    Number {
        wanted: Decimal,
        unit: SettingUnit,
        lower: Decimal,
        upper: Decimal,
    },
    /// One of some words.
    Word {
        wanted: SettingWord,
        others: Vec<SettingWord>,
    },
    /// One of some revisions. What is not named is not known to work with what is around it.
    Revision {
        wanted: Revision,
        others: Vec<Revision>,
    },
}

/// The shape in the ledger.
#[derive(Serialize, Deserialize)]
struct Body {
    name: SettingName,
    wanted: SettingValue,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lower: Option<Decimal>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    upper: Option<Decimal>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    others: Vec<SettingWord>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    revisions: Vec<Revision>,
}

impl TryFrom<Body> for Setting {
    type Error = Unreadable;
    fn try_from(body: Body) -> Result<Self, Unreadable> {
        let Body {
            name,
            wanted,
            lower,
            upper,
            others,
            revisions,
        } = body;
        let given = format!("{name} of {wanted}");
        let refuse = |expected: &str| Err(Unreadable::new("setting", &given, expected));
        let demand = match (wanted, lower, upper) {
            (SettingValue::Number(wanted, unit), Some(lower), Some(upper)) => {
                let named = !others.is_empty() || !revisions.is_empty();
                if named || wanted < lower || upper < wanted {
                    return refuse("a lower and an upper value, and the one wanted between them");
                }
                Demand::Number {
                    wanted,
                    unit,
                    lower,
                    upper,
                }
            }
            (SettingValue::Word(wanted), None, None) if revisions.is_empty() => {
                if !are_each_once(&wanted, &others) {
                    return refuse("at most 12 words, each once");
                }
                Demand::Word { wanted, others }
            }
            (SettingValue::Revision(wanted), None, None) if others.is_empty() => {
                if !are_each_once(&wanted, &revisions) {
                    return refuse("at most 12 revisions, each once");
                }
                Demand::Revision {
                    wanted,
                    others: revisions,
                }
            }
            (SettingValue::Number(..), ..) => return refuse("a lower and an upper value"),
            _ => return refuse("a range for a number, words for a word, revisions for a revision"),
        };
        Ok(Self { name, demand })
    }
}

impl From<Setting> for Body {
    fn from(setting: Setting) -> Self {
        let wanted = setting.wanted();
        let (lower, upper) = setting.range().unzip();
        let (others, revisions) = match setting.demand {
            Demand::Word { others, .. } => (others, Vec::new()),
            Demand::Revision { others, .. } => (Vec::new(), others),
            Demand::Number { .. } => (Vec::new(), Vec::new()),
        };
        Self {
            name: setting.name,
            wanted,
            lower,
            upper,
            others,
            revisions,
        }
    }
}

/// Whether what is allowed beside the value wanted is not too much, and nothing is named twice.
fn are_each_once<T: Ord>(wanted: &T, others: &[T]) -> bool {
    let all: BTreeSet<&T> = others.iter().chain([wanted]).collect();
    all.len() <= WORDS_MAX && others.len() < all.len()
}

impl Setting {
    /// Its name.
    pub fn name(&self) -> &SettingName {
        &self.name
    }

    /// The value wanted.
    pub fn wanted(&self) -> SettingValue {
        match &self.demand {
            Demand::Number { wanted, unit, .. } => SettingValue::Number(*wanted, unit.clone()),
            Demand::Word { wanted, .. } => SettingValue::Word(wanted.clone()),
            Demand::Revision { wanted, .. } => SettingValue::Revision(wanted.clone()),
        }
    }

    /// The lowest and the highest number allowed, both included, where it is a number.
    pub fn range(&self) -> Option<(Decimal, Decimal)> {
        match self.demand {
            Demand::Number { lower, upper, .. } => Some((lower, upper)),
            Demand::Word { .. } | Demand::Revision { .. } => None,
        }
    }

    /// Whether a value is of its kind and unit and within what is allowed.
    pub fn admits(&self, value: &SettingValue) -> bool {
        match (&self.demand, value) {
            (
                Demand::Number {
                    unit, lower, upper, ..
                },
                SettingValue::Number(number, of),
            ) => of == unit && (lower..=upper).contains(&number),
            (Demand::Word { wanted, others }, SettingValue::Word(word)) => {
                word == wanted || others.contains(word)
            }
            (Demand::Revision { wanted, others }, SettingValue::Revision(revision)) => {
                revision == wanted || others.contains(revision)
            }
            _ => false,
        }
    }

    /// Whether a value is of its kind and in its unit, allowed or not: it could be found so.
    pub fn is_of_kind(&self, value: &SettingValue) -> bool {
        match (&self.demand, value) {
            (Demand::Number { unit, .. }, SettingValue::Number(_, of)) => of == unit,
            (Demand::Word { .. }, SettingValue::Word(_))
            | (Demand::Revision { .. }, SettingValue::Revision(_)) => true,
            _ => false,
        }
    }

    /// Its kind in words: `a number of bar`.
    pub fn kind(&self) -> String {
        match &self.demand {
            Demand::Number { unit, .. } => format!("a number of {unit}"),
            Demand::Word { .. } => "a word".to_owned(),
            Demand::Revision { .. } => "a revision".to_owned(),
        }
    }

    /// What is allowed, in words: `8.3 to 8.7 bar`.
    pub fn allowed(&self) -> String {
        match &self.demand {
            Demand::Number {
                unit, lower, upper, ..
            } => format!("{lower} to {upper} {unit}"),
            Demand::Word { wanted, others } => {
                let words = std::iter::once(wanted).chain(others);
                let words: Vec<&str> = words.map(SettingWord::as_str).collect();
                words.join(" or ")
            }
            Demand::Revision { wanted, others } => {
                written_revisions(std::iter::once(wanted).chain(others))
            }
        }
    }

    /// How a place stands with it, by what is told of it there.
    pub fn standing<'a>(&self, told: Option<&'a SettingRecord>) -> SettingStanding<'a> {
        match told {
            None => SettingStanding::NotTold,
            Some(told) if told.made.value == self.wanted() => SettingStanding::AsWanted(told),
            Some(told) if self.admits(&told.made.value) => SettingStanding::Deviates(told),
            Some(told) => SettingStanding::OutOfRange(told),
        }
    }
}

impl fmt::Display for Setting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}@{}", self.name, self.wanted())?;
        match &self.demand {
            Demand::Number { lower, upper, .. } => write!(f, "@{lower} to {upper}"),
            Demand::Word { others, .. } if !others.is_empty() => {
                let others: Vec<&str> = others.iter().map(SettingWord::as_str).collect();
                write!(f, "@{}", others.join(" "))
            }
            Demand::Revision { others, .. } if !others.is_empty() => {
                write!(f, "@{}", written_revisions(others))
            }
            Demand::Word { .. } | Demand::Revision { .. } => Ok(()),
        }
    }
}

impl FromStr for Setting {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a name, the value wanted and what else is allowed, as opening pressure@8.5 bar@8.3 to 8.7, orientation@upright@inverted or software@revision 2.4@revision 2.3";
        let refuse = || Unreadable::new("setting", text, expected);
        let (name, rest) = text.split_once('@').ok_or_else(refuse)?;
        let (wanted, allowed) = rest.split_once('@').unwrap_or((rest, ""));
        let (name, wanted) = (name.parse()?, wanted.parse()?);
        let mut body = Body {
            name,
            wanted,
            lower: None,
            upper: None,
            others: Vec::new(),
            revisions: Vec::new(),
        };
        match body.wanted {
            SettingValue::Number(..) => {
                let (lower, upper) = allowed.split_once(" to ").ok_or_else(refuse)?;
                body.lower = Some(lower.parse().map_err(|_| refuse())?);
                body.upper = Some(upper.parse().map_err(|_| refuse())?);
            }
            SettingValue::Word(_) => {
                let words = allowed.split_whitespace().map(str::parse);
                body.others = words.collect::<Result<_, _>>()?;
            }
            SettingValue::Revision(_) if allowed.trim().is_empty() => {}
            SettingValue::Revision(_) => {
                body.revisions = read_revisions(allowed).ok_or_else(refuse)?;
            }
        }
        body.try_into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setting(text: &str) -> Setting {
        text.parse().expect("a setting")
    }

    fn value(text: &str) -> SettingValue {
        text.parse().expect("a value")
    }

    #[test]
    fn a_setting_reads_as_it_is_written_and_so_does_its_body() {
        for text in [
            "opening pressure@8.5 bar@8.3 to 8.7",
            "orientation@upright@inverted",
            "choke@fitted",
            "software@revision 2.4",
            "software@revision 2.4@revision 2.3",
            "software@revision 2.4@revision 2.3 or revision 2 B",
        ] {
            let one = setting(text);
            assert_eq!(one.to_string(), text);
            let body = serde_json::to_string(&one).expect("JSON");
            assert_eq!(serde_json::from_str::<Setting>(&body).expect("JSON"), one);
        }
    }

    #[test]
    fn a_setting_that_contradicts_itself_is_refused() {
        for wrong in [
            "opening pressure",
            "opening pressure@8.5 bar",
            "opening pressure@8.5 bar@8.6 to 8.7",
            "opening pressure@8.5 bar@8.7 to 8.3",
            "opening pressure@8.5@8.3 to 8.7",
            "orientation@upright@upright inverted",
            "software@revision 2.4@old",
            "software@revision 2.4@2.3",
            "software@revision 2.4@revision 2.4",
            "software@revision 2.4@revision 2.3 or revision 2.3",
            "software@revision 2.4@revision 2.3 or ",
            "@upright",
        ] {
            assert!(wrong.parse::<Setting>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn only_a_value_of_the_kind_and_unit_within_what_is_allowed_is_admitted() {
        let pressure = setting("opening pressure@8.5 bar@8.3 to 8.7");
        for (text, admitted) in [
            ("8.3 bar", true),
            ("8.7 bar", true),
            ("8.299999 bar", false),
            ("8.700001 bar", false),
            ("850 kPa", false),
            ("upright", false),
            ("revision 8", false),
        ] {
            assert_eq!(pressure.admits(&value(text)), admitted, "{text}");
        }
        let orientation = setting("orientation@upright@inverted");
        assert!(orientation.admits(&value("inverted")));
        assert!(!orientation.admits(&value("sideways")));
        let software = setting("software@revision 2.4@revision 2.3 or revision 2.2");
        for (text, admitted) in [
            ("revision 2.4", true),
            ("revision 2.3", true),
            ("revision 2.2", true),
            ("revision 2.1", false),
            ("upright", false),
        ] {
            assert_eq!(software.admits(&value(text)), admitted, "{text}");
        }
        let allowed = "revision 2.4 or revision 2.3 or revision 2.2";
        assert_eq!(software.allowed(), allowed);
    }

    #[test]
    fn of_a_revision_that_names_no_others_only_the_one_wanted_is_admitted() {
        let body = r#"{"name":"software","wanted":"revision 2.4"}"#;
        let software: Setting = serde_json::from_str(body).expect("a setting");
        assert_eq!(serde_json::to_string(&software).expect("JSON"), body);
        assert!(software.admits(&value("revision 2.4")));
        assert!(!software.admits(&value("revision 9.9")));
        assert!(software.is_of_kind(&value("revision 9.9")));
        for wrong in [
            r#"{"name":"software","wanted":"revision 2.4","others":["old"]}"#,
            r#"{"name":"orientation","wanted":"upright","revisions":["2.3"]}"#,
            r#"{"name":"gap","wanted":"5 mm","lower":"4","upper":"6","revisions":["2.3"]}"#,
        ] {
            assert!(serde_json::from_str::<Setting>(wrong).is_err(), "{wrong}");
        }
    }
}
