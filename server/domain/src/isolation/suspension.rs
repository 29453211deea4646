//! Air suspension that is lost: no brake goes with it, and the car sinks onto its emergency springs.

use crate::circuit::train::TrainCircuit;
use crate::identity::{CarNumber, PositionCode};
use serde::Serialize;

/// A levelling valve to which no air comes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LostLevelling {
    /// The car's number.
    pub car_number: CarNumber,
    /// The levelling valve.
    pub position: PositionCode,
    /// The bogie whose bellows it fills.
    pub bogie: Option<u8>,
    /// Whether it is so now, and not only once stored air is used up.
    pub at_once: bool,
}

/// The levelling valves to which no air comes once stored air is used up, in the order of the train.
/// Of those `now` says which have none before.
pub(crate) fn lost_levelling(
    train: &TrainCircuit,
    [now, later]: [&[usize]; 2],
) -> Vec<LostLevelling> {
    let lost = later.iter().filter_map(|node| {
        let (car, position) = train.position_of(*node)?;
        let (_, compiled) = train.of_node(*node);
        Some(LostLevelling {
            car_number: train.cars()[car].number.clone(),
            position: position.clone(),
            bogie: compiled.bogie,
            at_once: now.contains(node),
        })
    });
    lost.collect()
}
