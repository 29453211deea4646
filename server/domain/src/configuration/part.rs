//! Parts: catalogue entries of what may be fitted.

use crate::configuration::car_type::PositionKind;
use crate::identity::{PartNumber, PositionCode};
use crate::words::word_list;
use serde::{Deserialize, Serialize};

/// How many assemblies may be inside one another, the outermost counted.
pub const LEVELS_MAX: usize = 8;
/// The most positions of one part.
pub const POSITIONS_MAX: usize = 200;
/// The most characters that all levels of an assembly together add to the code of the position
/// where it is fitted.
pub const REACH_MAX_CHARS: usize = 80;

/// A catalogue entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Its number.
    pub number: PartNumber,
    /// What it is, in words.
    pub title: String,
    /// The kind of position it is made for.
    pub kind: PositionKind,
    /// Its own positions, in the order of the drawing, if it is an assembly.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub positions: Vec<InnerPosition>,
}

impl Part {
    /// Its position of that code. Linear in its positions.
    pub fn position(&self, code: &PositionCode) -> Option<&InnerPosition> {
        self.positions
            .iter()
            .find(|position| position.code == *code)
    }
}

/// A place inside an assembly where exactly one component belongs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InnerPosition {
    /// Its code within the assembly. On a car it follows the code of the position where the
    /// assembly is fitted.
    pub code: PositionCode,
    /// What it is, in words.
    pub title: String,
    /// What belongs there.
    pub kind: PositionKind,
    /// Parts approved there; all of them in the catalogue before this one, so that no assembly
    /// can come to be inside itself.
    pub approved: Vec<PartNumber>,
    /// Whether the assembly may go on a car without it.
    #[serde(default = "Vacancy::usual", skip_serializing_if = "Vacancy::is_usual")]
    pub vacancy: Vacancy,
}

word_list! {
    /// What a vacant position of an assembly means.
    Vacancy, "vacancy" {
        /// It is shown as a finding.
        Finding = "finding",
        /// The assembly is not fitted to a car without it.
        Forbidden = "forbidden",
    }
}

impl Vacancy {
    fn usual() -> Self {
        Self::Finding
    }

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "serde hands over a reference"
    )]
    fn is_usual(&self) -> bool {
        *self == Self::usual()
    }
}
