//! Work that is due at once, whatever its intervals say: something failed.

use crate::ledger::entry::Seq;
use crate::time::Day;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

word_list! {
    /// Why work is due at once.
    AtOnceCause, "cause of work due at once" {
        /// The test that belongs to the task was failed, and neither passed nor the task done
        /// since.
        FailedTest = "failed_test",
        /// The component was taken off because it failed, and neither found serviceable nor the
        /// work done since.
        RemovedFailed = "removed_failed",
        /// The component was taken off because it was suspected, and neither found serviceable
        /// nor the work done since.
        RemovedSuspected = "removed_suspected",
    }
}

/// Why, since when and by which entry work is due at once.
///
/// It stays due until what made it so is answered, and never becomes overdue by itself: to be
/// overdue is to have passed the tolerance of a limit, and what failed is inoperative, which is
/// another fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct AtOnce {
    /// The day it was found.
    pub on: Day,
    /// What was found.
    pub cause: AtOnceCause,
    /// The entry that says so.
    pub by: Seq,
}
