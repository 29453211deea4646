//! Since when something stands against a command, as people are told.

use crate::time::{Instant, Zone};
use std::fmt;

/// A moment, and the clock by which people are told of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Since {
    /// The moment.
    pub at: Instant,
    pub(super) zone: Zone,
}

impl From<Instant> for Since {
    fn from(at: Instant) -> Self {
        let zone = Zone::UTC;
        Self { at, zone }
    }
}

impl fmt::Display for Since {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.zone.told(self.at))
    }
}
