//! A car type's circuit, checked and turned into numbered nodes and lines once, so that trains
//! of it are evaluated without looking up a name.

use super::draft::Draft;
use super::fault::CircuitFault;
use super::lines_out::LinesOut;
use super::scenarios::SlotGraph;
use super::sets::{Media, Modes};
use super::{End, Place};
use crate::configuration::car_type::{BrakePosition, CarType, LoadState, PositionKind};
use crate::configuration::filled::FilledPositions;
use crate::identity::PositionCode;
use crate::units::Kilograms;
use std::collections::BTreeMap;

/// What a node does, as the evaluation needs it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    Source(Modes),
    /// Pass, open cock and port.
    Pass,
    /// A pass that holds back what lies behind it.
    CheckValve,
    Reservoir,
    /// The inputs that must deliver, one bit each.
    AllOf(u32),
    AnyOf,
    AirApplied,
    SpringApplied(u32),
}

impl Role {
    /// Whether the node passes medium by medium.
    pub(crate) fn is_pipe(self) -> bool {
        matches!(self, Self::Pass | Self::CheckValve | Self::Reservoir)
    }

    /// Whether the node may deliver though nothing reaches it: a source, what was stored, what is
    /// held back.
    pub(crate) fn may_begin(self) -> bool {
        matches!(self, Self::Source(_) | Self::Reservoir | Self::CheckValve)
    }

    pub(crate) fn is_actuator(self) -> bool {
        matches!(self, Self::AirApplied | Self::SpringApplied(_))
    }
}

#[derive(Debug, Clone)]
pub(crate) struct CompiledNode {
    pub(crate) place: Place,
    pub(crate) role: Role,
    pub(crate) axle: Option<u8>,
    pub(crate) bogie: Option<u8>,
    /// What belongs there; none at a port.
    pub(crate) kind: Option<PositionKind>,
    /// Its braked weights as assessed; only of an air-applied actuator.
    pub(crate) braked_weights: Vec<AssessedAs>,
}

/// For which case a braked weight was assessed, and what it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct AssessedAs {
    pub(crate) brake_position: BrakePosition,
    pub(crate) load: LoadState,
    pub(crate) braked_weight: Kilograms,
}

impl CompiledNode {
    /// Whether a pipe or wire leaves the car there.
    pub(crate) fn is_port(&self) -> bool {
        matches!(self.place, Place::Port { .. })
    }

    /// Whether brakes are commanded there.
    pub(crate) fn is_command(&self) -> bool {
        let commands = [PositionKind::BrakeController, PositionKind::EmergencyValve];
        matches!(self.role, Role::Source(_))
            && self.kind.is_some_and(|kind| commands.contains(&kind))
    }
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct CompiledLine {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// The named input that it joins, as one bit; only an all-of tells its inputs apart.
    pub(crate) input: u32,
    pub(crate) media: Media,
    pub(crate) modes: Modes,
}

/// A car type with its circuit, checked and numbered.
#[derive(Debug, Clone)]
pub struct CompiledCircuit {
    pub(super) car_type: CarType,
    pub(super) nodes: Vec<CompiledNode>,
    /// In the order of the description.
    pub(super) lines: Vec<CompiledLine>,
    /// The same by the node they come from.
    pub(super) lines_out: LinesOut,
    /// The same split by medium.
    pub(super) slots: SlotGraph,
    /// The valves that a brake pipe commands, ascending, each with the inputs that its demand joins.
    pub(super) piped: Vec<(usize, u32)>,
    pub(super) node_of: BTreeMap<Place, usize>,
    /// The codes of all positions, ascending, each with its place in the car type.
    pub(super) codes: Vec<(PositionCode, usize)>,
    /// The codes of the positions of each kind.
    pub(super) by_kind: BTreeMap<PositionKind, Vec<PositionCode>>,
}

impl CompiledCircuit {
    /// Checks and numbers the circuit. Near linear in nodes, lines and positions.
    ///
    /// An all-of needs every input that a line names, in every mode, even where that line is
    /// limited to other modes; give lines of different modes one input name where one is enough.
    pub fn new(car_type: &CarType) -> Result<Self, Vec<CircuitFault>> {
        Draft::new(car_type).finish()
    }

    /// The car type it was made from.
    pub fn car_type(&self) -> &CarType {
        &self.car_type
    }

    /// The positions of each kind.
    pub(crate) fn by_kind(&self) -> impl Iterator<Item = (PositionKind, &[PositionCode])> {
        let kinds = self.by_kind.iter();
        kinds.map(|(kind, codes)| (*kind, codes.as_slice()))
    }

    /// The positions in the circuit, in the order of their codes.
    pub fn positions(&self) -> impl Iterator<Item = &PositionCode> {
        self.codes.iter().map(|(code, _)| code)
    }

    /// The positions that are not among those filled, in the order of the car type. Linear in
    /// both.
    pub fn vacant(&self, filled: &FilledPositions) -> Vec<PositionCode> {
        let mut filled = filled.codes().peekable();
        let mut vacant: Vec<usize> = Vec::new();
        for (code, place) in &self.codes {
            let code = code.as_str();
            while filled.next_if(|other| *other < code).is_some() {}
            if filled.peek() != Some(&code) {
                vacant.push(*place);
            }
        }
        vacant.sort_unstable();
        let positions = &self.car_type.positions;
        let code = |place: usize| positions[place].code.clone();
        vacant.into_iter().map(code).collect()
    }

    pub(crate) fn nodes(&self) -> &[CompiledNode] {
        &self.nodes
    }

    pub(crate) fn lines(&self) -> &[CompiledLine] {
        &self.lines
    }

    /// The lines by the node they come from.
    pub(super) fn lines_out(&self) -> &LinesOut {
        &self.lines_out
    }

    /// The circuit split by medium.
    pub(super) fn slots(&self) -> &SlotGraph {
        &self.slots
    }

    pub(crate) fn node(&self, position: &PositionCode) -> Option<usize> {
        self.node_at(&Place::Position(position.clone()))
    }

    /// The node of a position or port.
    pub(crate) fn node_at(&self, place: &Place) -> Option<usize> {
        self.node_of.get(place).copied()
    }

    /// The positions of the air-applied actuators, by code.
    pub fn air_applied(&self) -> impl Iterator<Item = &PositionCode> {
        self.nodes.iter().filter_map(|node| match &node.place {
            Place::Position(position) if node.role == Role::AirApplied => Some(position),
            _ => None,
        })
    }

    /// The ports at one end, in the order of the names of their pipes.
    pub(crate) fn ports(&self, at: End) -> impl Iterator<Item = (&str, usize)> {
        let first = Place::Port {
            end: at,
            pipe: String::new(),
        };
        let ports = self.node_of.range(first..);
        ports.map_while(move |(place, node)| match place {
            Place::Port { end, pipe } if *end == at => Some((pipe.as_str(), *node)),
            _ => None,
        })
    }
}
