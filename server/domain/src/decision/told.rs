//! Who was told of a decision, and when.

use crate::time::Instant;
use serde::{Deserialize, Serialize};

/// The most people that one decision says were told.
pub const TOLD_MAX: usize = 20;

/// Somebody who was told of a decision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// Who: a name or a function.
    pub who: String,
    /// When.
    pub at: Instant,
}

const MINUTE: i64 = 60_000_000;

impl Told {
    /// Whether it is said to have been before a decision that was taken at a time, to the minute.
    pub fn is_before(&self, decided: Instant) -> bool {
        let minute = |at: Instant| at.microseconds().div_euclid(MINUTE);
        minute(self.at) < minute(decided)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_told_of_a_decision_in_a_minute_before_it() {
        let at = |text: &str| text.parse::<Instant>().expect("a time");
        let told = |text: &str| Told {
            who: "signaller".to_owned(),
            at: at(text),
        };
        let decided = at("2026-11-27T13:13:30Z");
        assert!(told("2026-11-27T12:00Z").is_before(decided));
        assert!(told("2026-11-27T13:12:59Z").is_before(decided));
        assert!(!told("2026-11-27T13:13Z").is_before(decided));
        assert!(!told("2026-11-27T13:20Z").is_before(decided));
    }
}
