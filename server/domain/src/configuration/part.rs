//! Parts: catalogue entries of what may be fitted.

use crate::configuration::car_type::PositionKind;
use crate::identity::PartNumber;
use serde::{Deserialize, Serialize};

/// A catalogue entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Its number.
    pub number: PartNumber,
    /// What it is, in words.
    pub title: String,
    /// The kind of position it is made for.
    pub kind: PositionKind,
}
