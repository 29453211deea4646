//! Loss of the load signal: a brake fault without a brake part. Every brake still applies, with
//! the force for the load that the brake control then takes.

use super::Supply;
use crate::circuit::delivers::Delivering;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::{AssumedLoad, LoadState};
use crate::identity::{CarNumber, PositionCode};
use serde::Serialize;

/// A load signal that does not reach the brake control.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LostSignal {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The load sensor.
    pub position: PositionCode,
    /// The bogie whose brakes it governs; those of the whole car where it names none.
    pub bogie: Option<u8>,
    /// What the brake control takes for the load; none where the car type does not say.
    pub assumed: Option<AssumedLoad>,
    #[serde(skip)]
    pub(crate) node: usize,
}

/// A load signal that is lost in emergency braking, now or once stored air is used up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LostLoadSignal {
    /// The signal.
    #[serde(flatten)]
    pub signal: LostSignal,
    /// Whether it is lost now.
    pub at_once: bool,
}

/// The load signals lost once stored air is used up, with those that are lost now.
pub(crate) fn lost_load_signals(now: &[LostSignal], later: &[LostSignal]) -> Vec<LostLoadSignal> {
    let lost = later.iter().map(|signal| LostLoadSignal {
        signal: signal.clone(),
        at_once: now.contains(signal),
    });
    lost.collect()
}

impl AssumedLoad {
    /// The load for which brakes are counted once the signal is lost. The last value is that of
    /// the load asked for at first; later it may be that of an empty car.
    pub const fn counted(self, asked: LoadState, supply: Supply) -> LoadState {
        match (self, supply) {
            (Self::Minimum, _) | (Self::LastValue, Supply::Exhausted) => LoadState::Minimum,
            (Self::Normal, _) => LoadState::Normal,
            (Self::Maximum, _) => LoadState::Maximum,
            (Self::LastValue, Supply::Now) => asked,
        }
    }
}

/// The load signals that are lost, in the order of the train. Linear in load sensors.
pub(crate) fn lost_signals(train: &TrainCircuit, delivery: &impl Delivering) -> Vec<LostSignal> {
    let sensors = train.load_sensors().iter();
    let lost = sensors.filter(|node| !delivery.delivers(**node));
    lost.filter_map(|node| lost_signal(train, *node)).collect()
}

fn lost_signal(train: &TrainCircuit, node: usize) -> Option<LostSignal> {
    let (car, position) = train.position_of(node)?;
    let (_, compiled) = train.of_node(node);
    Some(LostSignal {
        car,
        car_number: train.cars()[car].number.clone(),
        position: position.clone(),
        bogie: compiled.bogie,
        assumed: train.cars()[car].circuit.car_type().load_signal_lost,
        node,
    })
}
