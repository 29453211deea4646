//! Plates: the serial numbers that a component bore, one after the other. It keeps the identity
//! under which it came in, and is found by each of them.

use crate::configuration::component::ComponentRef;
use crate::identity::SerialNumber;
use crate::ledger::entry::Seq;
use crate::time::Instant;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

word_list! {
    /// Why a component bears another serial number than the register said.
    PlateCause, "cause" {
        /// Its plate was replaced.
        Replaced = "replaced",
        /// The plate was there all the time and was read wrongly.
        Misread = "misread",
    }
}

/// A component bears another serial number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlateChange {
    /// Which component, by the serial number under which it came in.
    pub component: ComponentRef,
    /// What its plate says.
    pub plate: SerialNumber,
    /// Why that is another.
    pub cause: PlateCause,
}

/// A plate that a component bears or bore.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlateRecord {
    /// The entry that says so.
    pub by: Seq,
    /// Since when.
    pub since: Instant,
    /// What it says.
    pub plate: SerialNumber,
    /// Why it was another before.
    pub cause: PlateCause,
}
