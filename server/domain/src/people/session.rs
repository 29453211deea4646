//! How long a browser stays signed in: two hours without use, twelve hours in all. A technician
//! measures for an hour before a form is sent, and a shift ends within twelve.

use crate::people::tries::seconds_after;
use crate::time::Instant;

/// Seconds without use after which a session has ended.
pub const IDLE_S: i64 = 2 * 3_600;

/// Seconds after which a session has ended in any case.
pub const LONGEST_S: i64 = 12 * 3_600;

/// Use is noted at most so often, in seconds, so that a page is no write.
pub const NOTED_S: i64 = 60;

/// What a session open at a time has at least: since when it was used, and opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OpenSince {
    /// Used after this.
    pub used: Instant,
    /// Opened after this.
    pub opened: Instant,
}

impl OpenSince {
    /// For sessions open now.
    pub fn at(now: Instant) -> Self {
        Self {
            used: seconds_after(now, -IDLE_S),
            opened: seconds_after(now, -LONGEST_S),
        }
    }
}

/// Whether use now is to be noted.
pub fn is_to_be_noted(used_at: Instant, now: Instant) -> bool {
    seconds_after(used_at, NOTED_S) <= now
}
