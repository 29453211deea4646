//! Braked weights of the actuators of a train, with its load signals and without them.

use super::brake_percentage::{BrakingCase, name};
use super::load_signal::load_sensors;
use crate::circuit::compiled::{CompiledNode, Role};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::LoadState;
use crate::units::Kilograms;
use crate::worked::MissingFact;

/// The braked weight of one actuator.
#[derive(Debug, Clone)]
pub(crate) struct ActuatorWeight {
    /// Its node.
    pub(crate) node: usize,
    /// The car's place in the train, from 0.
    pub(crate) car: usize,
    /// With the load signal.
    pub(crate) signalled: Kilograms,
    /// With the load that is taken without a signal, never more than with it: what a brake
    /// presses beyond the load that is there may only make wheels slide.
    pub(crate) unsignalled: Result<Kilograms, MissingFact>,
    /// The nodes of the load sensors that govern it.
    pub(crate) sensors: Vec<usize>,
}

/// The braked weights of all air-applied actuators in a case, by node; what is lacking is added
/// to the list. Linear in nodes and assessed values.
pub(crate) fn weights(
    train: &TrainCircuit,
    case: BrakingCase,
    missing: &mut Vec<MissingFact>,
) -> Vec<ActuatorWeight> {
    let sensors: Vec<usize> = load_sensors(train).collect();
    let mut weights = Vec::new();
    for (node, role) in train.roles().iter().enumerate() {
        if *role != Role::AirApplied {
            continue;
        }
        let (car, compiled) = train.of_node(node);
        let brake = Brake {
            car: &train.cars()[car],
            node: compiled,
        };
        match brake.assessed(case, case.load) {
            Ok(signalled) => weights.push(ActuatorWeight {
                node,
                car,
                signalled,
                unsignalled: brake.unsignalled(case).map(|weight| weight.min(signalled)),
                sensors: governing(train, node, &sensors),
            }),
            Err(fact) => missing.push(fact),
        }
    }
    weights
}

fn governing(train: &TrainCircuit, actuator: usize, sensors: &[usize]) -> Vec<usize> {
    let (car, compiled) = train.of_node(actuator);
    let governs = |sensor: &&usize| {
        let (of_car, of) = train.of_node(**sensor);
        of_car == car && of.bogie.is_none_or(|bogie| compiled.bogie == Some(bogie))
    };
    sensors.iter().filter(governs).copied().collect()
}

/// An air-applied actuator of a train.
struct Brake<'t> {
    car: &'t PlacedCar,
    node: &'t CompiledNode,
}

impl Brake<'_> {
    fn unsignalled(&self, case: BrakingCase) -> Result<Kilograms, MissingFact> {
        let car_type = self.car.circuit.car_type();
        let assumed = car_type.load_signal_lost.ok_or_else(|| MissingFact {
            what: "load that the brake control takes when its load signal is lost".into(),
            of: name(car_type),
        })?;
        self.assessed(case, assumed.counted(case.load, case.supply))
    }

    fn assessed(&self, case: BrakingCase, load: LoadState) -> Result<Kilograms, MissingFact> {
        let mut values = self.node.braked_weights.iter();
        let value = values.find(|assessed| {
            assessed.brake_position == case.brake_position && assessed.load == load
        });
        value
            .map(|assessed| assessed.braked_weight)
            .ok_or_else(|| MissingFact {
                what: "braked weight".into(),
                of: format!(
                    "{}, actuator {}, brake position {}, {load} load",
                    name(self.car.circuit.car_type()),
                    self.node.place,
                    case.brake_position.name()
                ),
            })
    }
}
