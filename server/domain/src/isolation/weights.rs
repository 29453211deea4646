//! Braked weights of the actuators of a train, with its load signals and without them.

use super::Supply;
use super::brake_percentage::name;
use crate::circuit::compiled::{CompiledNode, Role};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{BrakePosition, LoadState};
use crate::units::Kilograms;
use crate::worked::MissingFact;

/// The braked weight of one actuator.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ActuatorWeight {
    /// Its node.
    pub(crate) node: usize,
    /// The car's place in the train, from 0.
    pub(crate) car: usize,
    /// With the load signal.
    pub(crate) signalled: Kilograms,
}

/// For which setting and load brakes are assessed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Assessed {
    pub(crate) brake_position: BrakePosition,
    pub(crate) load: LoadState,
}

/// The braked weights of all air-applied actuators in a case, by node; what is lacking is added
/// to the list. Linear in actuators and assessed values.
pub(crate) fn weights(
    train: &TrainCircuit,
    case: Assessed,
    missing: &mut Vec<MissingFact>,
) -> Vec<ActuatorWeight> {
    let mut weights = Vec::with_capacity(train.actuators().len());
    let actuators = train.actuators().iter();
    for node in actuators.filter(|node| train.roles()[**node] == Role::AirApplied) {
        let (car, compiled) = train.of_node(*node);
        match assessed(&train.cars()[car], compiled, case) {
            Ok(signalled) => weights.push(ActuatorWeight {
                node: *node,
                car,
                signalled,
            }),
            Err(fact) => missing.push(fact),
        }
    }
    weights
}

impl ActuatorWeight {
    /// With the load that is taken without a signal, never more than with it: what a brake
    /// presses beyond the load that is there may only make wheels slide.
    pub(crate) fn unsignalled(
        &self,
        train: &TrainCircuit,
        case: Assessed,
        supply: Supply,
    ) -> Result<Kilograms, MissingFact> {
        let car = &train.cars()[self.car];
        let car_type = car.circuit.car_type();
        let assumed = car_type.load_signal_lost.ok_or_else(|| MissingFact {
            what: "load that the brake control takes when its load signal is lost".into(),
            of: name(car_type),
        })?;
        let (_, node) = train.of_node(self.node);
        let load = assumed.counted(case.load, supply);
        let weight = assessed(car, node, Assessed { load, ..case })?;
        Ok(weight.min(self.signalled))
    }
}

/// The nodes of the load sensors that govern an actuator: those of its car that name its bogie or
/// none.
pub(crate) fn governing(train: &TrainCircuit, actuator: usize) -> impl Iterator<Item = usize> {
    let (car, actuator) = train.of_node(actuator);
    let governs = |sensor: &usize| {
        let (_, of) = train.of_node(*sensor);
        of.bogie.is_none() || of.bogie == actuator.bogie
    };
    let sensors = train.load_sensors_of(car).iter().copied();
    sensors.filter(governs)
}

fn assessed(
    car: &PlacedCar,
    node: &CompiledNode,
    case: Assessed,
) -> Result<Kilograms, MissingFact> {
    let Assessed {
        brake_position,
        load,
    } = case;
    let mut values = node.braked_weights.iter();
    let value = values.find(|one| one.brake_position == brake_position && one.load == load);
    value
        .map(|one| one.braked_weight)
        .ok_or_else(|| MissingFact {
            what: "braked weight".into(),
            of: format!(
                "{}, actuator {}, brake position {}, {load} load",
                name(car.circuit.car_type()),
                node.place,
                brake_position.name()
            ),
        })
}
