//! Modifications: campaigns that change what is there. One names what it is for, in which
//! modification state it leaves a component, and by when; each embodiment is an entry of its own.

use super::car::Car;
use super::component::Subject;
use super::effectivity::CarRanges;
use crate::identity::{
    CarNumber, CarTypeName, ModificationNumber, ModificationState, PartNumber, PositionCode,
};
use crate::ledger::entry::Seq;
use crate::time::{Day, Instant};
use serde::{Deserialize, Serialize};
use std::fmt;

/// The most positions that a modification is limited to.
pub const POSITIONS_MAX: usize = 100;

/// A campaign.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Modification {
    /// Its number.
    pub number: ModificationNumber,
    /// What is done, in words.
    pub title: String,
    /// What it is for.
    pub scope: ModificationScope,
    /// The last day by which it is to be embodied everywhere.
    pub by: Day,
    /// Where it comes from: the instruction that tells how it is done.
    pub source: String,
}

/// What a modification is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ModificationScope {
    /// Components of a part, which are then in a modification state.
    Components {
        /// The part.
        part: PartNumber,
        /// The state they are then in; those that are in it or a later one need nothing.
        state: ModificationState,
        /// Only those at these positions of cars, by their full codes; everywhere if none is
        /// named, in stores and workshops as well.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        positions: Vec<PositionCode>,
        /// Only those on these cars.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cars: Option<CarRanges>,
    },
    /// Cars of a type, each as a whole.
    Cars {
        /// The type.
        car_type: CarTypeName,
        /// Which of them.
        cars: CarRanges,
    },
}

impl ModificationScope {
    /// Whether a car as a whole is in it.
    pub fn has_car(&self, car: &Car) -> bool {
        self.has(&car.car_type, &car.number)
    }

    /// Whether a car of a type as a whole is in it.
    pub fn has(&self, of_type: &CarTypeName, number: &CarNumber) -> bool {
        match self {
            Self::Components { .. } => false,
            Self::Cars { car_type, cars } => car_type == of_type && cars.hold(number),
        }
    }
}

impl fmt::Display for ModificationScope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Components {
                part,
                state,
                positions,
                cars,
            } => {
                write!(
                    f,
                    "components of part {part}, to modification state {state}"
                )?;
                if !positions.is_empty() {
                    let positions: Vec<&str> = positions.iter().map(PositionCode::as_str).collect();
                    write!(f, ", at {}", positions.join(", "))?;
                }
                match cars {
                    Some(cars) => write!(f, ", on cars {cars}"),
                    None => Ok(()),
                }
            }
            Self::Cars { car_type, cars } => write!(f, "cars {cars} of type {car_type}"),
        }
    }
}

/// A modification as it was embodied in a component or a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EmbodiedRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// Which modification.
    pub modification: ModificationNumber,
    /// In what.
    pub subject: Subject,
    /// When.
    pub at: Instant,
}
