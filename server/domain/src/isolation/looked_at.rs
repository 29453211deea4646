//! Where somebody looks, as a question and an answer name it.

use super::closing::Spot;
use super::observed::{Place, braked_bogies};
use crate::circuit::train::TrainCircuit;
use crate::identity::CarNumber;
use serde::Serialize;

/// A place as an answer names it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LookedAt {
    /// A position of a car.
    Position(Spot),
    /// The brakes of a bogie.
    Bogie {
        /// The car's place in the train, from 0.
        car: usize,
        /// The car's number.
        car_number: CarNumber,
        /// The bogie, from 1 at end 1.
        bogie: u8,
    },
}

impl LookedAt {
    /// The place in a train; none where the train has no such position or bogie.
    pub(crate) fn place(&self, train: &TrainCircuit) -> Option<Place> {
        match self {
            Self::Position(spot) => train.node(spot.car, &spot.position).map(Place::Node),
            Self::Bogie { car, bogie, .. } => braked_bogies(train)
                .contains(&(*car, *bogie))
                .then_some(Place::Bogie(*car, *bogie)),
        }
    }

    /// The place as an answer names it; none of a port.
    pub(crate) fn of(train: &TrainCircuit, place: &Place) -> Option<Self> {
        match place {
            Place::Node(node) => Spot::of(train, *node).map(Self::Position),
            Place::Bogie(car, bogie) => Some(Self::Bogie {
                car: *car,
                car_number: train.cars().get(*car)?.number.clone(),
                bogie: *bogie,
            }),
        }
    }
}
