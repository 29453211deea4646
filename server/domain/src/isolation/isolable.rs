//! The positions of a car type that can be cut out with an effect that is known.

use super::CutOutState;
use crate::circuit::Behaviour;
use crate::configuration::car_type::{CarType, Position, PositionKind};
use crate::identity::PositionCode;
use std::collections::BTreeMap;

/// What can happen to electronics: no air passes them, so they are neither closed nor vented.
const WITHOUT_AIR: [CutOutState; 3] = [
    CutOutState::ElectricallyOff,
    CutOutState::Bypassed,
    CutOutState::Failed,
];

/// A position whose cut-out has an effect that is known: the circuit describes it, or it is part
/// of the wheel-slide protection of axles, which no air passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Isolable<'t> {
    /// The position.
    pub position: &'t Position,
    /// What it does in the circuit; none where no air passes it.
    pub behaviour: Option<&'t Behaviour>,
}

impl<'t> Isolable<'t> {
    /// All of a car type, in the order of its drawing. Linear in positions, but for a logarithm.
    pub fn all_of(car_type: &'t CarType) -> Vec<Self> {
        let nodes = car_type.circuit.nodes.iter();
        let behaviours: BTreeMap<&PositionCode, &Behaviour> = nodes
            .map(|node| (&node.position, &node.behaviour))
            .collect();
        let positions = car_type.positions.iter();
        positions
            .filter_map(|position| Self::known(position, behaviours.get(&position.code).copied()))
            .collect()
    }

    /// The one at a position, if its cut-out has an effect that is known. Linear in positions.
    pub fn at(car_type: &'t CarType, code: &PositionCode) -> Option<Self> {
        let mut nodes = car_type.circuit.nodes.iter();
        let node = nodes.find(|node| node.position == *code);
        Self::known(car_type.position(code)?, node.map(|node| &node.behaviour))
    }

    fn known(position: &'t Position, behaviour: Option<&'t Behaviour>) -> Option<Self> {
        let known = behaviour.is_some() || position.kind.is_slide_electronics();
        known.then_some(Self {
            position,
            behaviour,
        })
    }

    /// Whether it is a cock.
    pub fn is_cock(&self) -> bool {
        matches!(self.behaviour, Some(Behaviour::Cock { .. }))
    }

    /// The states that it can be found in, in the order of [`CutOutState::ALL`].
    pub fn states(&self) -> &'static [CutOutState] {
        match self.behaviour {
            Some(_) => CutOutState::ALL,
            None => &WITHOUT_AIR,
        }
    }

    /// Their names, with commas between.
    pub fn states_named(&self) -> String {
        let names: Vec<&str> = self.states().iter().map(|state| state.name()).collect();
        names.join(", ")
    }

    /// The state that it is most often found in, to be offered first.
    pub fn usual(&self) -> CutOutState {
        match (self.behaviour, self.position.kind) {
            (Some(behaviour), kind) => CutOutState::usual_of(kind, behaviour),
            (None, PositionKind::SlideProtectionUnit) => CutOutState::ElectricallyOff,
            (None, _) => CutOutState::Failed,
        }
    }
}
