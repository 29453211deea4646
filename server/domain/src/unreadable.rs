//! What could not be read at the border, and what was expected there.

use crate::unseen::steers;
use std::fmt;

/// A text that is not what it should be. It names the thing, the text as given (shortened)
/// and what was expected, so that a person can mend it without asking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// What was to be read, in the trade's word: "car number".
    pub what: &'static str,
    /// The text as given, at most [`GIVEN_MAX_CHARS`] characters of it.
    pub given: String,
    /// What would have been right.
    pub expected: String,
}

/// How much of a refused text is repeated to its sender.
pub const GIVEN_MAX_CHARS: usize = 60;

impl Unreadable {
    /// Names what was refused and what was expected.
    pub fn new(what: &'static str, given: &str, expected: impl Into<String>) -> Self {
        Self {
            what,
            given: repeated(given),
            expected: expected.into(),
        }
    }
}

/// What is repeated of a text to its sender: its first [`GIVEN_MAX_CHARS`] characters.
pub(crate) fn repeated(given: &str) -> String {
    let shown = given.chars().take(GIVEN_MAX_CHARS).map(printed);
    let mut shown: String = shown.collect();
    if given.chars().nth(GIVEN_MAX_CHARS).is_some() {
        shown.push('…');
    }
    shown
}

/// What stands for a character where people read it: none that a page or terminal acts on.
fn printed(character: char) -> char {
    if character.is_control() || steers(character) {
        char::REPLACEMENT_CHARACTER
    } else {
        character
    }
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            what,
            given,
            expected,
        } = self;
        write!(f, "{what}: “{given}” cannot be read; expected {expected}")
    }
}

impl std::error::Error for Unreadable {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_given_is_told_without_characters_that_a_terminal_acts_on() {
        let told = Unreadable::new("car", "4\u{0}1\u{1b}[2J\n", "a number").to_string();
        assert!(!told.chars().any(char::is_control), "{told:?}");
        assert!(told.contains('4') && told.contains("[2J"), "{told}");
    }
}
