//! Parts: catalogue entries of what may be fitted.

use crate::configuration::car_type::PositionKind;
use crate::identity::{ModificationState, PartNumber, PositionCode};
use crate::unreadable::Unreadable;
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

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
    /// The modification states that its components can be in, in the order in which they came
    /// about; none where it has no such states.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub modification_states: Vec<ModificationState>,
    /// Earlier parts that it may take the place of wherever both are approved.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub replaces: Vec<Replaces>,
}

/// An earlier part that a part may take the place of. It says nothing of parts which that one
/// replaces in its turn, and approves nothing anywhere: a baseline does.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Replaces {
    /// The earlier part.
    pub part: PartNumber,
    /// Whether it may come back.
    pub way: Interchange,
}

word_list! {
    /// Which way two parts may be exchanged for one another.
    Interchange, "interchangeability" {
        /// The later part takes the place of the earlier, which then does not come back.
        OneWay = "one_way",
        /// Either takes the place of the other.
        TwoWay = "two_way",
    }
}

/// The modification states in which components of a part are approved at a position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StatesApproved {
    /// The part, which is approved there.
    pub part: PartNumber,
    /// The states; a component in another is not approved.
    pub states: Vec<ModificationState>,
}

impl fmt::Display for Replaces {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}@{}", self.part, self.way.name())
    }
}

impl FromStr for Replaces {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a part and one_way or two_way, as DV/210@one_way";
        let refuse = || Unreadable::new("earlier part", text, expected);
        let (part, way) = text.rsplit_once('@').ok_or_else(refuse)?;
        Ok(Self {
            part: part.parse()?,
            way: way.parse()?,
        })
    }
}

impl fmt::Display for StatesApproved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let states: Vec<&str> = self.states.iter().map(ModificationState::as_str).collect();
        write!(f, "{}@{}", self.part, states.join(" "))
    }
}

impl FromStr for StatesApproved {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a part and modification states, as DV/210@B C";
        let refuse = || Unreadable::new("approved states", text, expected);
        let (part, states) = text.rsplit_once('@').ok_or_else(refuse)?;
        let states: Result<Vec<_>, _> = states.split_whitespace().map(str::parse).collect();
        Ok(Self {
            part: part.parse()?,
            states: states?,
        })
    }
}

/// The states that are asked for of a part, if any are.
pub(crate) fn states_of<'a>(
    asked: &'a [StatesApproved],
    part: &PartNumber,
) -> Option<&'a [ModificationState]> {
    let of_part = asked.iter().find(|asked| asked.part == *part)?;
    Some(&of_part.states)
}

impl Part {
    /// Whether an earlier part may not come back where this one was.
    pub fn ends(&self, earlier: &PartNumber) -> bool {
        let mut replaces = self.replaces.iter();
        replaces.any(|one| one.part == *earlier && one.way == Interchange::OneWay)
    }

    /// The positions inside it that must be filled before it goes on a car and are not among these.
    pub fn lacks(&self, filled: &BTreeSet<PositionCode>) -> Vec<PositionCode> {
        let positions = self.positions.iter();
        let needed = positions.filter(|position| position.vacancy == Vacancy::Forbidden);
        let codes = needed.map(|position| &position.code);
        codes
            .filter(|code| !filled.contains(*code))
            .cloned()
            .collect()
    }

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
    /// The modification states asked for there; of a part that is not named, any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub states: Vec<StatesApproved>,
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
