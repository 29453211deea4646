//! What could not be read at the border, and what was expected there.

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
        let mut shown: String = given.chars().take(GIVEN_MAX_CHARS).collect();
        if given.chars().nth(GIVEN_MAX_CHARS).is_some() {
            shown.push('…');
        }
        Self {
            what,
            given: shown,
            expected: expected.into(),
        }
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
