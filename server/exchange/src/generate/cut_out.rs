//! The kinds of cut-out that happen in practice, and at which positions of a unit they can.

use super::fleet::UnitPlan;
use domain::circuit::{Behaviour, Circuit, Medium, Node, Place};
use domain::configuration::car_type::{CarType, Position, PositionKind};
use domain::identity::PositionCode;
use domain::isolation::CutOutState;

/// A kind of cut-out.
pub(super) struct Scene {
    /// The state in which it leaves a position.
    pub(super) state: CutOutState,
    /// Why it was closed, or how it was found.
    pub(super) cause: &'static str,
    can_be: fn(&Candidate<'_>) -> bool,
}

/// A position of a car of a unit with what it does in the circuit.
struct Candidate<'a> {
    car_type: &'a CarType,
    position: &'a Position,
    behaviour: &'a Behaviour,
    coupled: Coupled,
}

/// How a car stands in its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Coupled {
    /// Between two others.
    AtBothEnds,
    /// At an end of the unit.
    AtOneEnd,
}

const VENTING: Behaviour = Behaviour::Cock { venting: true };
const NOT_VENTING: Behaviour = Behaviour::Cock { venting: false };

/// All kinds, in the order in which the units of a fleet meet them.
pub(super) const SCENES: [Scene; 8] = [
    Scene {
        state: CutOutState::ClosedVented,
        cause: "air leak heard under the bogie, cut out on the line",
        can_be: |at| at.is_isolating(&VENTING) && at.position.bogie.is_some(),
    },
    Scene {
        state: CutOutState::SupplyCut,
        cause: "leaking supply closed, the reservoir behind it still full",
        can_be: |at| at.is_isolating(&NOT_VENTING) && at.fills_a_reservoir(),
    },
    Scene {
        state: CutOutState::ReleasedByHand,
        cause: "parking brake did not release, pulled off by hand",
        can_be: |at| matches!(at.behaviour, Behaviour::SpringApplied { .. }),
    },
    Scene {
        state: CutOutState::ClosedTrapped,
        cause: "brake pipe found closed between two cars at the brake test",
        can_be: |at| {
            at.position.kind == PositionKind::EndCock
                && at.coupled == Coupled::AtBothEnds
                && at.carries(Medium::BrakePipeDemand)
        },
    },
    Scene {
        state: CutOutState::ElectricallyOff,
        cause: "fault that came back after a restart, switched off",
        can_be: |at| at.decides_by(&[PositionKind::ControlUnit]),
    },
    Scene {
        state: CutOutState::Failed,
        cause: "no pressure given at the brake test",
        can_be: |at| {
            at.decides_by(&[
                PositionKind::RelayValve,
                PositionKind::DistributorValve,
                PositionKind::MagnetValve,
            ])
        },
    },
    Scene {
        state: CutOutState::ClosedTrapped,
        cause: "closed after a component was taken off for repair, not drained",
        can_be: |at| at.is_isolating(&NOT_VENTING) && !at.fills_a_reservoir(),
    },
    Scene {
        state: CutOutState::Bypassed,
        cause: "water at the drain cocks, dryer bypassed until its exchange",
        can_be: |at| at.position.kind == PositionKind::AirDryer,
    },
];

impl Scene {
    /// Where in a unit it can happen: the place of a car in the unit, and a position.
    pub(super) fn places<'a>(&self, unit: &UnitPlan<'a>) -> Vec<(usize, &'a PositionCode)> {
        let mut places = Vec::new();
        let last = unit.cars.len().saturating_sub(1);
        for (place, car) in unit.cars.iter().enumerate() {
            let coupled = if 0 < place && place < last {
                Coupled::AtBothEnds
            } else {
                Coupled::AtOneEnd
            };
            let candidates = car.car_type.circuit.nodes.iter().filter_map(|node| {
                let position = car.car_type.position(&node.position)?;
                Some(Candidate {
                    car_type: car.car_type,
                    position,
                    behaviour: &node.behaviour,
                    coupled,
                })
            });
            let fitting = candidates.filter(|candidate| (self.can_be)(candidate));
            places.extend(fitting.map(|candidate| (place, &candidate.position.code)));
        }
        places
    }
}

impl Candidate<'_> {
    fn is_isolating(&self, cock: &Behaviour) -> bool {
        self.position.kind == PositionKind::IsolatingCock && self.behaviour == cock
    }

    /// Whether it is one of these valves or units, and gives something only if it gets all that
    /// it needs.
    fn decides_by(&self, kinds: &[PositionKind]) -> bool {
        kinds.contains(&self.position.kind) && *self.behaviour == Behaviour::AllOf
    }

    fn carries(&self, medium: Medium) -> bool {
        let here = Place::Position(self.position.code.clone());
        let mut lines = self.car_type.circuit.lines.iter();
        lines.any(|line| line.from == here && line.medium == medium)
    }

    /// Whether what it lets through comes to a reservoir and passes nothing else that shuts it
    /// off or changes it. What also lets a demand through takes the brake at once.
    fn fills_a_reservoir(&self) -> bool {
        if self.carries(Medium::BrakePipeDemand) {
            return false;
        }
        let circuit = &self.car_type.circuit;
        let mut reached = vec![&self.position.code];
        let mut seen = 0;
        while let Some(&here) = reached.get(seen) {
            seen += 1;
            for next in behind(circuit, here) {
                match next.behaviour {
                    Behaviour::Reservoir { .. } => return true,
                    Behaviour::Pass if !reached.contains(&&next.position) => {
                        reached.push(&next.position);
                    }
                    _ => {}
                }
            }
        }
        false
    }
}

/// The nodes that a position leads to.
fn behind<'a>(circuit: &'a Circuit, position: &PositionCode) -> impl Iterator<Item = &'a Node> {
    let here = Place::Position(position.clone());
    let lines = circuit.lines.iter().filter(move |line| line.from == here);
    lines.filter_map(|line| {
        let Place::Position(to) = &line.to else {
            return None;
        };
        circuit.nodes.iter().find(|node| node.position == *to)
    })
}
