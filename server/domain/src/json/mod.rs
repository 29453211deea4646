//! JSON from outside, and in our own words what is wrong with it: where, what stands there and what
//! was expected.

mod misfit;
mod once;
mod reader;

pub use misfit::Misfit;

use once::Once;
use reader::Reader;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// Why a text in JSON is not what was asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Wrong {
    /// It is no JSON.
    #[error("{}: {what}", place(*line, *character))]
    NotJson {
        /// The line, from 1.
        line: usize,
        /// The character in it, from 1, where those before it are of one byte each.
        character: usize,
        /// What is wrong there.
        what: String,
    },
    /// It is JSON, and says something else.
    #[error(transparent)]
    Misfit(#[from] Misfit),
}

fn place(line: usize, character: usize) -> String {
    match line {
        0 | 1 => format!("near character {character}"),
        line => format!("line {line}, near character {character}"),
    }
}

/// Reads what a text in JSON says. A field that stands twice in one object is refused.
pub fn read<T: DeserializeOwned>(text: &[u8]) -> Result<T, Wrong> {
    Ok(fit(&value(text)?)?)
}

/// Reads a text in JSON, whatever it says.
pub fn value(text: &[u8]) -> Result<Value, Wrong> {
    let read: Result<Once, serde_json::Error> = serde_json::from_slice(text);
    read.map(|Once(value)| value).map_err(|error| {
        let what = if error.is_eof() {
            "it ends before it is complete; a quotation mark or a closing bracket is missing"
                .to_owned()
        } else if error.is_data() {
            once::told(&error)
        } else {
            "from here on it is no JSON; expected one value, with names and texts in quotation \
             marks, commas between fields, and nothing after it"
                .to_owned()
        };
        Wrong::NotJson {
            line: error.line(),
            character: error.column(),
            what,
        }
    })
}

/// Takes a value for what it must be.
pub fn fit<T: DeserializeOwned>(value: &Value) -> Result<T, Misfit> {
    T::deserialize(Reader(value))
}

#[cfg(test)]
mod tests;
