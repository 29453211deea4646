//! A value that is not what it must be.

use crate::unreadable::Unreadable;
use serde::de::{Error, Expected, Unexpected};
use std::fmt::{self, Display};

/// What is wrong with a value, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misfit {
    /// The way to it by the names of fields and the places in lists, as `rules#1.title` from the first;
    /// empty for the whole.
    pub at: String,
    /// What stands there and what was expected.
    pub what: String,
}

impl Misfit {
    fn new(what: String) -> Self {
        let at = String::new();
        Self { at, what }
    }

    /// The same in a field.
    #[must_use]
    pub fn within(self, field: &str) -> Self {
        let between = match self.at.as_bytes().first() {
            None | Some(b'#') => "",
            Some(_) => ".",
        };
        let at = format!("{field}{between}{}", self.at);
        Self { at, ..self }
    }
}

impl Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.at.is_empty() {
            write!(f, "{}: ", self.at)?;
        }
        f.write_str(&self.what)
    }
}

impl std::error::Error for Misfit {}

impl Error for Misfit {
    fn custom<T: Display>(what: T) -> Self {
        Self::new(what.to_string())
    }

    fn invalid_type(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        let (found, expected) = (stands(&found), wanted(&expected.to_string()));
        Self::new(format!("{found} stands there; expected {expected}"))
    }

    fn invalid_value(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::invalid_type(found, expected)
    }

    fn invalid_length(length: usize, expected: &dyn Expected) -> Self {
        let expected = wanted(&expected.to_string());
        Self::new(format!("{length} stand there; expected {expected}"))
    }

    fn unknown_variant(found: &str, expected: &'static [&'static str]) -> Self {
        let found = shortened(found);
        Self::new(format!(
            "{found} stands there; expected {}",
            one_of(expected)
        ))
    }

    fn unknown_field(found: &str, expected: &'static [&'static str]) -> Self {
        let found = shortened(found);
        Self::new(format!(
            "there is no field {found}; expected {}",
            one_of(expected)
        ))
    }

    fn missing_field(field: &'static str) -> Self {
        Self::new(format!("the field {field} is missing"))
    }

    fn duplicate_field(field: &'static str) -> Self {
        Self::new(format!("the field {field} stands twice; expected it once"))
    }
}

fn shortened(text: &str) -> String {
    format!("“{}”", Unreadable::new("", text, "").given)
}

fn one_of(names: &[&str]) -> String {
    match names {
        [] => "nothing".to_owned(),
        [name] => (*name).to_owned(),
        names => format!("one of {}", names.join(", ")),
    }
}

fn stands(found: &Unexpected<'_>) -> String {
    match found {
        Unexpected::Bool(value) => value.to_string(),
        Unexpected::Unsigned(value) => value.to_string(),
        Unexpected::Signed(value) => value.to_string(),
        Unexpected::Float(value) => value.to_string(),
        Unexpected::Str(text) => shortened(text),
        Unexpected::Unit | Unexpected::Option => "null".to_owned(),
        Unexpected::Seq => "a list".to_owned(),
        Unexpected::Map => "an object".to_owned(),
        _ => "something else".to_owned(),
    }
}

/// What a type of this program is called by whoever writes JSON.
fn wanted(expected: &str) -> String {
    let first = expected.split(' ').next().unwrap_or_default();
    let words = match (expected, first) {
        ("a string" | "string" | "a borrowed string", _) => "a text",
        ("a boolean", _) => "true or false",
        ("a sequence", _) => "a list",
        ("unit", _) => "null",
        ("u8", _) => "a whole number from 0 to 255",
        ("u16", _) => "a whole number from 0 to 65535",
        ("u32", _) => "a whole number from 0 to 4294967295",
        ("u64" | "usize", _) => "a whole number from 0",
        ("i8" | "i16" | "i32" | "i64", _) => "a whole number",
        ("f32" | "f64", _) => "a number",
        (_, "struct" | "map") | ("a map", _) => "an object",
        (_, "enum") => "the name of a kind, or an object with that as its one field",
        (_, "tuple") => "a list of another length",
        _ => expected,
    };
    words.to_owned()
}
