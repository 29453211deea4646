//! Work that is due at once, whatever its intervals say: something failed, or what it proves was
//! touched.

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
        /// Something was fitted, taken off, moved or swapped of what the task proves, and the task
        /// not done since.
        Exchanged = "exchanged",
        /// A setting was made of what the task proves, and the task not done since.
        Set = "set",
        /// A cut-out of what the task proves ended, and the task not done since.
        CutOutEnded = "cut_out_ended",
        /// The unit of the car was formed, and the task not done since.
        Coupled = "coupled",
    }
}

impl AtOnceCause {
    /// Whether something on the car was touched, so that tests before are void.
    pub const fn is_touched(self) -> bool {
        matches!(
            self,
            Self::Exchanged | Self::Set | Self::CutOutEnded | Self::Coupled
        )
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
