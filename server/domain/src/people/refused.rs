//! Attempts that were refused, kept for auditors: nothing became true by them, so they are not
//! entries of the ledger.

use crate::time::Instant;
use crate::words::word_list;

word_list! {
    /// What was attempted.
    AttemptKind, "kind of attempt" {
        /// To record a fact.
        Record = "record",
        /// To sign in.
        SignIn = "sign_in",
        /// To open or use a page that is for other roles.
        Page = "page",
        /// To send a form that did not come from a page of ours.
        Form = "form",
        /// To act with a token that is not good.
        Token = "token",
    }
}

/// An attempt that was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefusedAttempt {
    /// When.
    pub at: Instant,
    /// Who was signed in, or whose account it was tried with.
    pub person: Option<String>,
    /// The network address it came from.
    pub client: Option<String>,
    /// What was attempted.
    pub kind: AttemptKind,
    /// The kind of fact, or method and path.
    pub attempted: String,
    /// The fact that was to be recorded, as JSON text.
    pub details: Option<String>,
    /// Why it was refused.
    pub why: String,
}

/// How much of each text is kept, in characters.
pub const TEXT_MAX_CHARS: usize = 2_000;

/// The beginning of a text, as much as is kept; cut off text ends in `…`.
pub fn cut(text: &str) -> String {
    match text.char_indices().nth(TEXT_MAX_CHARS) {
        None => text.to_owned(),
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_texts_are_cut_between_characters() {
        let whole = "ü".repeat(TEXT_MAX_CHARS);
        assert_eq!(cut(&whole), whole);
        assert_eq!(cut(&format!("{whole}x")), format!("{whole}…"));
    }
}
