//! Parts: catalogue entries of what may be fitted.

use crate::configuration::car_type::PositionKind;
use crate::identity::PartNumber;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

word_list! {
    /// How items of a part are told apart.
    Tracking, "tracking" {
        /// Each item by its serial number.
        Serial = "serial",
        /// Items of one making together, by batch and quantity.
        Batch = "batch",
    }
}

/// A catalogue entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Its number.
    pub number: PartNumber,
    /// What it is, in words.
    pub title: String,
    /// The kind of position it is made for.
    pub kind: PositionKind,
    /// How its items are told apart.
    pub tracking: Tracking,
}
