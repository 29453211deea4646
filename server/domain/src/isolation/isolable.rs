//! The positions of a car type that can be cut out with an effect that is known.

use super::CutOutState;
use crate::circuit::Behaviour;
use crate::configuration::car_type::{CarType, Position, PositionKind};
use crate::identity::PositionCode;
use std::collections::{BTreeMap, BTreeSet};

/// What can happen to what works by current. Electronics are neither closed nor vented.
const BY_CURRENT: &[CutOutState] = &[
    CutOutState::ElectricallyOff,
    CutOutState::Bypassed,
    CutOutState::Failed,
];

/// A cock is closed in one way or another. One that were bypassed would isolate nothing.
const COCK: &[CutOutState] = &[
    CutOutState::ClosedVented,
    CutOutState::ClosedTrapped,
    CutOutState::SupplyCut,
    CutOutState::Failed,
];

/// A cock that is cut out may be open again before the brake behind it was tested.
const COCK_CUT_OUT: &[CutOutState] = &[
    CutOutState::ClosedVented,
    CutOutState::ClosedTrapped,
    CutOutState::SupplyCut,
    CutOutState::Failed,
    CutOutState::ReopenedNotProven,
];

/// What presses is released by hand: a spring, or an air-applied brake that is pulled off.
const ACTUATOR: &[CutOutState] = &[CutOutState::ReleasedByHand, CutOutState::Failed];

/// Some springs that were released by hand apply again by themselves when air returns, others stay dead
/// until they are reset (common practice, no source).
const SPRING: &[CutOutState] = &[
    CutOutState::ReleasedByHand,
    CutOutState::Failed,
    CutOutState::ReleasedUntilAirReturns,
    CutOutState::ReleasedUntilReset,
];

/// A reservoir is drained; a distributor valve is cut out and emptied at its own handle (common
/// practice, no source).
const EMPTIED: &[CutOutState] = &[CutOutState::ClosedVented, CutOutState::Failed];

/// A dryer or filter has a way round it.
const GONE_ROUND: &[CutOutState] = &[CutOutState::Bypassed, CutOutState::Failed];

/// What makes air is switched off.
const SWITCHED: &[CutOutState] = &[CutOutState::ElectricallyOff, CutOutState::Failed];

/// Of pipes, hoses, gauges and valves worked by air nobody sets a state.
const FAILS_ONLY: &[CutOutState] = &[CutOutState::Failed];

/// The states of a position that passes air and neither shuts, stores nor presses.
const fn of_kind(kind: PositionKind) -> &'static [CutOutState] {
    match kind {
        PositionKind::Compressor => SWITCHED,
        PositionKind::AirDryer | PositionKind::Filter => GONE_ROUND,
        PositionKind::DistributorValve => EMPTIED,
        PositionKind::ControlUnit
        | PositionKind::ControlPanel
        | PositionKind::MagnetValve
        | PositionKind::ParkingValve
        | PositionKind::DumpValve
        | PositionKind::SlideProtectionUnit
        | PositionKind::SpeedSensor
        | PositionKind::LoadSensor
        | PositionKind::PressureSensor
        | PositionKind::PressureSwitch
        | PositionKind::BrakeController
        | PositionKind::EmergencyValve => BY_CURRENT,
        PositionKind::IsolatingCock
        | PositionKind::EndCock
        | PositionKind::DrainCock
        | PositionKind::Hose
        | PositionKind::CheckValve
        | PositionKind::DoubleCheckValve
        | PositionKind::Reservoir
        | PositionKind::RelayValve
        | PositionKind::ReducingValve
        | PositionKind::OverflowValve
        | PositionKind::SafetyValve
        | PositionKind::Caliper
        | PositionKind::TreadBrakeUnit
        | PositionKind::ParkingCylinder
        | PositionKind::LevellingValve
        | PositionKind::Gauge
        | PositionKind::TestPoint => FAILS_ONLY,
    }
}

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
    /// All of a car type of which a state may be told, in the order of its drawing; not drain
    /// cocks, see [`Self::told_instead`]. Linear in positions, but for a logarithm.
    pub fn all_of(car_type: &'t CarType) -> Vec<Self> {
        let nodes = car_type.circuit.nodes.iter();
        let behaviours: BTreeMap<&PositionCode, &Behaviour> = nodes
            .map(|node| (&node.position, &node.behaviour))
            .collect();
        let positions = car_type.positions.iter();
        positions
            .filter(|position| position.kind != PositionKind::DrainCock)
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

    /// What is to be told in place of a state of a drain cock, which is closed as a rule: one that
    /// was left open empties what it drains, and that is what the train lacks. None of others.
    pub fn told_instead(&self, car_type: &CarType) -> Option<String> {
        if self.position.kind != PositionKind::DrainCock {
            return None;
        }
        let lines = car_type.circuit.lines.iter();
        let into = lines.filter(|line| line.to.position() == Some(&self.position.code));
        let drained = into.filter_map(|line| line.from.position());
        let reservoirs: BTreeSet<String> = drained
            .filter(|code| {
                let from = Isolable::at(car_type, code);
                from.is_some_and(|from| matches!(from.behaviour, Some(Behaviour::Reservoir { .. })))
            })
            .map(|code| format!("{code}:{}", CutOutState::ClosedVented.name()))
            .collect();
        let reservoirs: Vec<String> = reservoirs.into_iter().collect();
        let emptied = match reservoirs.as_slice() {
            [] => "what it emptied".to_owned(),
            reservoirs => format!(
                "the reservoir that it emptied, as {}",
                reservoirs.join(" or ")
            ),
        };
        Some(format!(
            "nothing of a drain cock, which is closed as a rule; of one that was left open tell \
             {emptied}"
        ))
    }

    /// Whether it is a cock.
    pub fn is_cock(&self) -> bool {
        matches!(self.behaviour, Some(Behaviour::Cock { .. }))
    }

    /// The states that it can be found in, in the order of [`CutOutState::ALL`]: those that its
    /// behaviour in the circuit or else its kind has.
    pub fn states(&self) -> &'static [CutOutState] {
        match self.behaviour {
            None => BY_CURRENT,
            Some(Behaviour::Cock { .. }) => COCK,
            Some(Behaviour::Reservoir { .. }) => EMPTIED,
            Some(Behaviour::AirApplied) => ACTUATOR,
            Some(Behaviour::SpringApplied { .. }) => SPRING,
            Some(Behaviour::Source { .. }) => match of_kind(self.position.kind) {
                FAILS_ONLY => SWITCHED,
                states => states,
            },
            Some(Behaviour::Pass | Behaviour::AllOf | Behaviour::AnyOf) => {
                of_kind(self.position.kind)
            }
        }
    }

    /// The names of those, with commas between.
    pub fn states_named(&self) -> String {
        let names: Vec<&str> = self.states().iter().map(|state| state.name()).collect();
        names.join(", ")
    }

    /// The states that may be told of it while it is cut out.
    pub fn states_once_cut_out(&self) -> &'static [CutOutState] {
        if self.is_cock() {
            COCK_CUT_OUT
        } else {
            self.states()
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn position(kind: PositionKind) -> Position {
        let position = serde_json::json!({
            "code": "=A1", "title": "one", "kind": kind.name(), "along_mm": 1, "approved": [],
        });
        serde_json::from_value(position).expect("a position")
    }

    fn states(kind: PositionKind, behaviour: &Behaviour) -> &'static [CutOutState] {
        let isolable = Isolable {
            position: &position(kind),
            behaviour: Some(behaviour),
        };
        assert!(isolable.states().contains(&isolable.usual()), "{kind}");
        isolable.states()
    }

    #[test]
    fn a_position_has_only_the_states_that_its_behaviour_and_kind_can_be_in() {
        use CutOutState::{
            Bypassed, ClosedTrapped, ClosedVented, ElectricallyOff, Failed, ReleasedByHand,
            SupplyCut,
        };
        use PositionKind as Kind;
        let closed: &[_] = &[ClosedVented, ClosedTrapped, SupplyCut, Failed];
        for venting in [true, false] {
            for kind in [Kind::IsolatingCock, Kind::EndCock] {
                assert_eq!(states(kind, &Behaviour::Cock { venting }), closed);
            }
        }
        let spring = Behaviour::SpringApplied { holding_force_n: 1 };
        let reservoir = Behaviour::Reservoir { volume_l: 1 };
        let modes = Vec::new();
        for (kind, behaviour, expected) in [
            (Kind::ParkingCylinder, &spring, SPRING),
            (
                Kind::Caliper,
                &Behaviour::AirApplied,
                &[ReleasedByHand, Failed],
            ),
            (Kind::Reservoir, &reservoir, &[ClosedVented, Failed]),
            (Kind::RelayValve, &Behaviour::AllOf, &[Failed]),
            (Kind::Hose, &Behaviour::Pass, &[Failed]),
            (Kind::TestPoint, &Behaviour::Pass, &[Failed]),
            (Kind::DoubleCheckValve, &Behaviour::AnyOf, &[Failed]),
            (Kind::AirDryer, &Behaviour::Pass, &[Bypassed, Failed]),
            (Kind::MagnetValve, &Behaviour::AllOf, BY_CURRENT),
            (Kind::DumpValve, &Behaviour::Pass, BY_CURRENT),
            (
                Kind::Compressor,
                &Behaviour::Source { modes },
                &[ElectricallyOff, Failed],
            ),
        ] {
            assert_eq!(states(kind, behaviour), expected, "{kind}");
        }
    }

    #[test]
    fn only_a_cock_that_is_cut_out_can_be_open_again() {
        let reopened = CutOutState::ReopenedNotProven;
        let cock = position(PositionKind::IsolatingCock);
        let cock = Isolable {
            position: &cock,
            behaviour: Some(&Behaviour::Cock { venting: true }),
        };
        assert!(!cock.states().contains(&reopened));
        assert!(cock.states_once_cut_out().contains(&reopened));
        let caliper = position(PositionKind::Caliper);
        let caliper = Isolable {
            position: &caliper,
            behaviour: Some(&Behaviour::AirApplied),
        };
        assert!(!caliper.states_once_cut_out().contains(&reopened));
    }

    #[test]
    fn the_usual_state_and_failure_are_among_the_states_of_every_kind() {
        for kind in PositionKind::ALL {
            for behaviour in [
                Behaviour::Pass,
                Behaviour::AllOf,
                Behaviour::AnyOf,
                Behaviour::AirApplied,
                Behaviour::Source { modes: Vec::new() },
            ] {
                let states = states(*kind, &behaviour);
                assert!(states.contains(&CutOutState::Failed), "{kind}");
                assert!(states.is_sorted(), "{kind}");
            }
        }
    }
}
