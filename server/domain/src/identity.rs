//! Names of things. Each kind has a type of its own, and the only way to hold one is to have
//! had it checked: from a form, a file, an address or the database alike. They are shared rather
//! than copied, since effects and causes name every position of a train many times.

use crate::unreadable::Unreadable;
use crate::unseen::{is_unseen, without_it};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

fn with_article(what: &str) -> String {
    let article = if what.starts_with(['a', 'e', 'i', 'o']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {what}")
}

/// Checks the common rules of names: not empty, no blank at either end, no control
/// characters, at most `max` characters.
fn checked(what: &'static str, text: &str, max: usize) -> Result<Arc<str>, Unreadable> {
    // What nearly all names are; the rest is looked at by character.
    if text.len() <= max && is_plain(text) {
        return Ok(text.into());
    }
    let refuse = |expected: String| Err(Unreadable::new(what, text, expected));
    if text.is_empty() {
        return refuse(format!("{}; nothing was given", with_article(what)));
    }
    if text.chars().count() > max {
        return refuse(format!("at most {max} characters"));
    }
    if text.trim() != text {
        return refuse("no blanks at the beginning or end".into());
    }
    if text.chars().any(char::is_control) {
        return refuse("no control characters".into());
    }
    if let Some(hidden) = text.chars().find(|c| is_unseen(*c)) {
        return refuse(without_it(hidden));
    }
    Ok(text.into())
}

/// Whether a name has nothing but printable characters of ASCII, with no blank at either end.
fn is_plain(name: &str) -> bool {
    let bytes = name.as_bytes();
    let ends = [bytes.first(), bytes.last()];
    ends.iter().all(|end| end.is_some_and(|end| *end != b' '))
        && bytes.iter().all(|byte| matches!(byte, b' '..=b'~'))
}

macro_rules! text_identity {
    ($(#[$doc:meta])* $name:ident, $what:literal, $max:literal) => {
        text_identity!($(#[$doc])* $name, $what, $max, |_: &str| None::<&'static str>);
    };
    ($(#[$doc:meta])* $name:ident, $what:literal, $max:literal, $rule:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(Arc<str>);

        impl $name {
            /// The greatest number of characters.
            pub const MAX_CHARS: usize = $max;

            /// The name as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl FromStr for $name {
            type Err = Unreadable;
            fn from_str(text: &str) -> Result<Self, Unreadable> {
                let text = checked($what, text, $max)?;
                let rule: fn(&str) -> Option<&'static str> = $rule;
                match rule(&text) {
                    Some(expected) => Err(Unreadable::new($what, &text, expected)),
                    None => Ok(Self(text)),
                }
            }
        }

        impl TryFrom<String> for $name {
            type Error = Unreadable;
            fn try_from(text: String) -> Result<Self, Unreadable> {
                text.parse()
            }
        }

        impl From<$name> for String {
            fn from(name: $name) -> String {
                name.0.as_ref().to_owned()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

/// Names that also stand in addresses of pages.
fn address_safe(text: &str) -> Option<&'static str> {
    text.chars()
        .any(|c| !(c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ')))
        .then_some("letters, digits, blanks, hyphens, dots and underscores only")
}

/// Texts that stand beside a number.
fn no_blank(text: &str) -> Option<&'static str> {
    let bad = |c: char| c.is_whitespace() || matches!(c, '@' | ';');
    text.contains(bad)
        .then_some("no blanks, @ or semicolons, as bar/min")
}

/// Names by which something is found, whatever blanks and hyphens they are written with.
fn legible(text: &str) -> Option<&'static str> {
    (!text.chars().any(char::is_alphanumeric)).then_some("at least one letter or digit")
}

/// Words that cannot be taken for a number or for several words.
fn single_word(text: &str) -> Option<&'static str> {
    let begins = text.chars().next().is_some_and(char::is_alphabetic);
    let rest = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    (!begins || !text.chars().all(rest))
        .then_some("one word: a letter, then letters, digits, hyphens and underscores")
}

/// ISO/IEC 81346-1 prefixes: `=` function, `+` location, `-` product.
fn reference_designation(text: &str) -> Option<&'static str> {
    let mut chars = text.chars();
    let first = chars.next().is_some_and(|c| matches!(c, '=' | '+' | '-'));
    let second = text.chars().nth(1).is_some_and(char::is_alphanumeric);
    let rest = chars.all(|c| c.is_ascii_alphanumeric() || matches!(c, '=' | '+' | '-' | '.'));
    (!(first && second && rest))
        .then_some("a reference designation such as =BS-Q1: a prefix = + or - before each level, then letters, digits and dots")
}

text_identity!(
    /// A family of cars with one design.
    FleetName, "fleet", 40, address_safe);
text_identity!(
    /// A depot, where cars are kept and visited.
    DepotName, "depot", 40, address_safe);
text_identity!(
    /// A route, as the operator calls it.
    RouteName, "route", 40, address_safe);

impl CarNumber {
    /// A car of a design that is judged by itself, whichever car that is.
    pub(crate) fn any() -> Self {
        Self("any".into())
    }
}

text_identity!(
    /// The design of a car; with a [`Revision`] it names a baseline.
    CarTypeName, "car type", 40, address_safe);
text_identity!(
    /// A revision of a car type, task, procedure or rule set.
    Revision, "revision", 12, address_safe);
text_identity!(
    /// What was changed on a component while it kept its part number, as its plate says.
    ModificationState, "modification state", 12, address_safe);
text_identity!(
    /// Written permission for a departure from the baseline.
    ConcessionNumber, "concession", 20, address_safe);
text_identity!(
    /// A change campaign.
    ModificationNumber, "modification", 20, address_safe);
text_identity!(
    /// A planned stay of a unit at a depot.
    VisitNumber, "visit number", 20, address_safe);
text_identity!(
    /// One vehicle, as painted on it.
    CarNumber, "car number", 20, address_safe);
text_identity!(
    /// Cars in fixed order that run together.
    UnitNumber, "unit number", 20, address_safe);
text_identity!(
    /// Units and cars coupled for a run.
    TrainId, "train", 20, address_safe);
text_identity!(
    /// A catalogue entry. Unlike the names above it may hold a slash.
    PartNumber, "part number", 40);
text_identity!(
    /// The number on one physical item's plate; unique only with its part number.
    SerialNumber, "serial number", 40);
text_identity!(
    /// A lot that a maker made, as the label of what is of it says; unique only with its part number.
    Batch, "batch", 40, legible);
text_identity!(
    /// A place on a car type or in an assembly where exactly one component belongs, named by a
    /// reference designation in the manner of ISO/IEC 81346. Within assemblies on a car the codes
    /// of all levels follow one another, from the outermost: `=B1-K1` and `-V2` are `=B1-K1-V2`.
    PositionCode, "position code", 120, reference_designation);
text_identity!(
    /// A value that belongs to a position's configuration: "opening pressure". It is unique at
    /// its position.
    SettingName, "setting", 40, address_safe);
text_identity!(
    /// A value of a setting that is a word: "upright".
    SettingWord, "word of a setting", 24, single_word);
text_identity!(
    /// The unit of a setting: "bar", "mm".
    SettingUnit, "unit", 12, no_blank);
text_identity!(
    /// Actuators of a car type that are built alike.
    ActuatorGroupName, "actuator group", 40, address_safe);
text_identity!(
    /// Work with an interval.
    TaskCode, "task", 30, address_safe);
text_identity!(
    /// How a test is done and which limits hold.
    ProcedureCode, "procedure", 30, address_safe);
text_identity!(
    /// The operator's rules for running with isolated brakes.
    RuleSetName, "rule set", 60, address_safe);
text_identity!(
    /// A store, workshop, contractor, or "in transit".
    LocationName, "location", 60, address_safe);
text_identity!(
    /// Somebody who acts: an account's name.
    PersonName, "person", 60);
text_identity!(
    /// The identity of a test record, given by who made it.
    TestRecordId, "test record", 40, address_safe);

text_identity!(
    /// What a test measures: "brake pipe leakage".
    MeasurandName, "measurand", 60);
text_identity!(
    /// A measuring instrument, as its calibration label names it.
    InstrumentNumber, "instrument", 40);

impl PositionCode {
    /// The code of a place inside what is at this one. None where both together are too long.
    pub fn followed_by(&self, inner: &PositionCode) -> Option<PositionCode> {
        format!("{self}{inner}").parse().ok()
    }

    /// Whether it is of a place inside what is at another: it goes on after the other's code, and not
    /// in the middle of a name.
    pub fn is_inside(&self, outer: &PositionCode) -> bool {
        let rest = self.0.strip_prefix(outer.as_str());
        rest.is_some_and(|rest| rest.starts_with(|first: char| !first.is_alphanumeric()))
    }

    /// What follows an outer code in this one; none where it is not of a place inside that.
    pub fn after(&self, outer: &PositionCode) -> Option<PositionCode> {
        let rest = self.0.strip_prefix(outer.as_str())?;
        rest.parse().ok()
    }
}

impl SerialNumber {
    /// The form used to find a serial: upper case, blanks and hyphens left out. Stored beside
    /// the number as given, never in its place.
    pub fn folded(&self) -> String {
        fold(&self.0)
    }
}

impl Batch {
    /// The form used to find a batch: upper case, blanks and hyphens left out.
    pub fn folded(&self) -> String {
        fold(&self.0)
    }
}

/// Folds a number that may be misread: as [`fold`], and O is taken for 0 and I for 1.
pub fn fold_misread(text: &str) -> String {
    fold(text).replace('O', "0").replace('I', "1")
}

/// Folds a typed or scanned number for matching: upper case, no blanks, no hyphens.
pub fn fold(text: &str) -> String {
    text.chars()
        .filter(|c| !matches!(c, ' ' | '-'))
        .flat_map(char::to_uppercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_code_needs_an_aspect_prefix() {
        assert!("=BS1-Q1".parse::<PositionCode>().is_ok());
        assert!("+B2=BS-V3.1".parse::<PositionCode>().is_ok());
        for bad in ["BS1", "=", "==Q", "=BS/1", ""] {
            assert!(bad.parse::<PositionCode>().is_err(), "{bad}");
        }
    }

    #[test]
    fn the_code_inside_an_assembly_follows_the_code_of_the_assembly() {
        let code = |text: &str| text.parse::<PositionCode>().expect("a position code");
        let full = code("=B1-K1").followed_by(&code("-V2"));
        assert_eq!(full, Some(code("=B1-K1-V2")));
        assert_eq!(code("=B1-K1-V2").after(&code("=B1-K1")), Some(code("-V2")));
        assert_eq!(code("=B1-K12").after(&code("=B1-K1")), None);
        assert_eq!(code("=B1-K1").after(&code("=B1-K1")), None);
    }

    #[test]
    fn names_refuse_blanks_control_characters_and_length() {
        for bad in ["", " 4101", "4101 ", "41\u{0}01", "41/01", &"1".repeat(21)] {
            assert!(bad.parse::<CarNumber>().is_err(), "{bad:?}");
        }
        assert_eq!(
            "4101".parse::<CarNumber>().map(|n| n.to_string()),
            Ok("4101".to_owned())
        );
    }

    #[test]
    fn names_refuse_what_cannot_be_seen() {
        for hidden in [
            '\u{200b}', '\u{202e}', '\u{a0}', '\u{feff}', '\u{2009}', '\u{ad}',
        ] {
            let name = format!("W{hidden}1");
            assert!(name.parse::<PartNumber>().is_err(), "{name:?}");
        }
        assert!("W 1".parse::<PartNumber>().is_ok());
        assert!("Ä-1".parse::<PartNumber>().is_ok());
    }

    #[test]
    fn a_batch_is_legible_and_found_however_it_is_written() {
        let batch = |text: &str| text.parse::<Batch>().map(|batch| batch.folded());
        assert_eq!(batch("L24-07").as_deref(), Ok("L2407"));
        assert_eq!(batch("l24 07"), batch("L24-07"));
        for bad in ["", "-", "- -", " L24", "L24\u{200b}"] {
            assert!(batch(bad).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn folding_drops_blanks_hyphens_and_case() {
        assert_eq!(fold("ab-12 34"), "AB1234");
    }
}
