//! Checking and numbering a circuit.

use super::compiled::{AssessedAs, CompiledCircuit, CompiledLine, CompiledNode, Role};
use super::fault::{CircuitFault, INPUTS_MAX, LineName};
use super::lines_out::LinesOut;
use super::scenarios::SlotGraph;
use super::sets::{Media, Modes};
use super::{Behaviour, Line, Medium, Node, Place};
use crate::configuration::car_type::{CarType, Position, PositionKind};
use crate::identity::PositionCode;
use crate::units::VEHICLE_MASS_MAX;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Between which values a quantity must lie, so that a slip of the pen is caught.
struct Range {
    what: &'static str,
    least: i64,
    most: i64,
}

const VOLUME_L: Range = Range {
    what: "volume in litres",
    least: 1,
    most: 10_000,
};

const HOLDING_FORCE_N: Range = Range {
    what: "holding force in newtons",
    least: 1,
    most: 1_000_000,
};

const BRAKED_WEIGHT_KG: Range = Range {
    what: "braked weight in kilograms",
    least: 0,
    most: VEHICLE_MASS_MAX.0,
};

/// A circuit being numbered.
pub(super) struct Draft<'t> {
    car_type: &'t CarType,
    positions: HashMap<&'t PositionCode, &'t Position>,
    nodes: Vec<CompiledNode>,
    lines: Vec<CompiledLine>,
    node_of: BTreeMap<Place, usize>,
    inputs: HashMap<(usize, &'t str), usize>,
    faults: Vec<CircuitFault>,
}

impl<'t> Draft<'t> {
    pub(super) fn new(car_type: &'t CarType) -> Self {
        let positions = car_type.positions.iter().map(|p| (&p.code, p)).collect();
        Self {
            car_type,
            positions,
            nodes: Vec::new(),
            lines: Vec::new(),
            node_of: BTreeMap::new(),
            inputs: HashMap::new(),
            faults: Vec::new(),
        }
    }

    /// Adds and checks everything; gives the circuit, or every fault of it.
    pub(super) fn finish(mut self) -> Result<CompiledCircuit, Vec<CircuitFault>> {
        self.add_nodes();
        self.add_lines();
        self.require_inputs();
        self.require_media();
        self.check_braked_weights();
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        Ok(CompiledCircuit {
            codes: codes(self.car_type),
            by_kind: by_kind(self.car_type),
            car_type: self.car_type.clone(),
            lines_out: LinesOut::of_car(&self.nodes, &self.lines),
            slots: SlotGraph::of_car(&self.nodes, &self.lines),
            piped: piped(&self.nodes, &self.lines),
            nodes: self.nodes,
            lines: self.lines,
            node_of: self.node_of,
        })
    }

    /// Numbers the nodes in the order of their codes, so that the order of the description
    /// cannot show in an answer.
    fn add_nodes(&mut self) {
        let mut nodes: Vec<&Node> = self.car_type.circuit.nodes.iter().collect();
        nodes.sort_by_key(|node| &node.position);
        for pair in nodes.windows(2) {
            if let [one, other] = pair
                && one.position == other.position
            {
                let fault = CircuitFault::RepeatedNode(one.position.clone());
                self.faults.push(fault);
            }
        }
        for node in nodes {
            match self.positions.get(&node.position) {
                Some(position) => self.add_node(node, position),
                None => self
                    .faults
                    .push(CircuitFault::UnknownNode(node.position.clone())),
            }
        }
    }

    fn add_node(&mut self, node: &Node, position: &Position) {
        let role = self.role(node, position.kind);
        let axle = position.axle;
        let of_axle = self.car_type.axles().find(|(_, a)| Some(a.number) == axle);
        let bogie = position.bogie.or(of_axle.map(|(bogie, _)| bogie));
        if role.is_actuator() {
            self.check_axle(position, role, of_axle.map(|(bogie, _)| bogie));
        }
        let place = Place::Position(node.position.clone());
        self.node_of.insert(place.clone(), self.nodes.len());
        self.nodes.push(CompiledNode {
            place,
            role,
            axle,
            bogie,
            kind: Some(position.kind),
            braked_weights: Vec::new(),
        });
    }

    fn role(&mut self, node: &Node, kind: PositionKind) -> Role {
        match &node.behaviour {
            Behaviour::Source { modes } => {
                if modes.is_empty() {
                    let fault = CircuitFault::SourceWithoutMode(node.position.clone());
                    self.faults.push(fault);
                }
                Role::Source(Modes::of_each(modes))
            }
            Behaviour::Pass if kind == PositionKind::CheckValve => Role::CheckValve,
            Behaviour::Pass | Behaviour::Cock { .. } => Role::Pass,
            Behaviour::Reservoir { volume_l } => {
                self.check_range(&node.position, &VOLUME_L, (*volume_l).into());
                Role::Reservoir
            }
            Behaviour::AllOf => Role::AllOf(0),
            Behaviour::AnyOf => Role::AnyOf,
            Behaviour::AirApplied => Role::AirApplied,
            Behaviour::SpringApplied { holding_force_n } => {
                self.check_range(&node.position, &HOLDING_FORCE_N, (*holding_force_n).into());
                Role::SpringApplied(*holding_force_n)
            }
        }
    }

    fn check_range(&mut self, position: &PositionCode, range: &Range, value: i64) {
        if !(range.least..=range.most).contains(&value) {
            self.faults.push(CircuitFault::Absurd {
                position: position.clone(),
                what: range.what,
                value,
                least: range.least,
                most: range.most,
            });
        }
    }

    fn check_axle(&mut self, position: &Position, role: Role, bogie_of_axle: Option<u8>) {
        let bogies = || self.car_type.bogies.iter().map(|bogie| bogie.number);
        let fault = match (position.axle, position.bogie, bogie_of_axle) {
            (None, _, _) if role == Role::AirApplied => CircuitFault::WithoutAxle,
            (None, Some(given), _) if !bogies().any(|n| n == given) => CircuitFault::UnknownAxle,
            (Some(_), _, None) => CircuitFault::UnknownAxle,
            (Some(_), Some(given), Some(found)) if given != found => CircuitFault::UnknownAxle,
            _ => return,
        };
        self.faults.push(fault(position.code.clone()));
    }

    fn add_lines(&mut self) {
        for (index, line) in self.car_type.circuit.lines.iter().enumerate() {
            let name = || LineName {
                number: index + 1,
                from: line.from.clone(),
                to: line.to.clone(),
            };
            let from = self.place(&line.from, name);
            let to = self.place(&line.to, name);
            if let (Some(from), Some(to)) = (from, to) {
                self.add_line(line, from, to);
                if self.nodes[from].role.is_actuator() {
                    self.faults.push(CircuitFault::OutOfActuator(name()));
                }
                if matches!(self.nodes[to].role, Role::Source(_)) {
                    self.faults.push(CircuitFault::IntoSource(name()));
                }
            }
        }
    }

    /// The node at a place. A port gets its node when a line first names it.
    fn place(&mut self, place: &Place, line: impl Fn() -> LineName) -> Option<usize> {
        if let Some(node) = self.node_of.get(place) {
            return Some(*node);
        }
        let Place::Position(position) = place else {
            let node = self.nodes.len();
            self.node_of.insert(place.clone(), node);
            self.nodes.push(CompiledNode {
                place: place.clone(),
                role: Role::Pass,
                axle: None,
                bogie: None,
                kind: None,
                braked_weights: Vec::new(),
            });
            return Some(node);
        };
        let (line, position) = (line(), position.clone());
        self.faults.push(if self.positions.contains_key(&position) {
            CircuitFault::PositionWithoutNode { line, position }
        } else {
            CircuitFault::UnknownPosition { line, position }
        });
        None
    }

    fn add_line(&mut self, line: &'t Line, from: usize, to: usize) {
        let modes = match line.modes.as_slice() {
            [] => Modes::ALL,
            modes => Modes::of_each(modes),
        };
        let input = self.input(to, &line.input);
        self.lines.push(CompiledLine {
            from,
            to,
            input,
            media: Media::of(line.medium),
            modes,
        });
    }

    /// The bit of a named input, new for a name that the node has not got yet.
    fn input(&mut self, node: usize, name: &'t str) -> u32 {
        let Role::AllOf(required) = &mut self.nodes[node].role else {
            return 1;
        };
        let next = required.count_ones() as usize;
        let bit = *self.inputs.entry((node, name)).or_insert(next);
        if bit >= INPUTS_MAX {
            if let Place::Position(position) = &self.nodes[node].place {
                self.faults
                    .push(CircuitFault::TooManyInputs(position.clone()));
            }
            return 0;
        }
        *required |= 1 << bit;
        1 << bit
    }

    fn require_inputs(&mut self) {
        let fed: BTreeSet<usize> = self.lines.iter().map(|line| line.to).collect();
        for (index, node) in self.nodes.iter().enumerate() {
            let needs =
                matches!(node.role, Role::AllOf(_) | Role::AnyOf) || node.role.is_actuator();
            if let Place::Position(position) = &node.place
                && needs
                && !fed.contains(&index)
            {
                let fault = CircuitFault::WithoutInput(position.clone());
                self.faults.push(fault);
            }
        }
    }

    /// A pipe passes on only what a line brings to it; what comes in at a port is not known.
    fn require_media(&mut self) {
        let mut brought = vec![Media::NONE; self.nodes.len()];
        for line in &self.lines {
            brought[line.to] = brought[line.to].and(line.media);
        }
        for (index, line) in self.car_type.circuit.lines.iter().enumerate() {
            let Some(from) = self.node_of.get(&line.from) else {
                continue;
            };
            let at_position = matches!(line.from, Place::Position(_));
            let lacking = Media::of(line.medium).without(brought[*from]);
            if at_position && self.nodes[*from].role.is_pipe() && !lacking.is_empty() {
                self.faults.push(CircuitFault::MediumNotBrought(LineName {
                    number: index + 1,
                    from: line.from.clone(),
                    to: line.to.clone(),
                }));
            }
        }
    }

    fn check_braked_weights(&mut self) {
        let (mut seen, mut strange) = (BTreeSet::new(), BTreeSet::new());
        for assessed in &self.car_type.braked_weights {
            let position = &assessed.position;
            let node = self.node_of.get(&Place::Position(position.clone()));
            let node = node.copied();
            let role = node.map(|node| self.nodes[node].role);
            if let Some(node) = node {
                self.nodes[node].braked_weights.push(AssessedAs {
                    brake_position: assessed.brake_position,
                    load: assessed.load,
                    braked_weight: assessed.braked_weight,
                });
            }
            if role != Some(Role::AirApplied) && strange.insert(position) {
                let fault = CircuitFault::BrakedWeightOfNoActuator(position.clone());
                self.faults.push(fault);
            }
            self.check_range(position, &BRAKED_WEIGHT_KG, assessed.braked_weight.0);
            if !seen.insert((position, assessed.brake_position, assessed.load)) {
                let fault = CircuitFault::RepeatedBrakedWeight(position.clone());
                self.faults.push(fault);
            }
        }
    }
}

/// The valves that a brake pipe commands, ascending, each with the inputs that its demand joins.
fn piped(nodes: &[CompiledNode], lines: &[CompiledLine]) -> Vec<(usize, u32)> {
    let demand = Media::of(Medium::BrakePipeDemand);
    let mut piped: BTreeMap<usize, u32> = BTreeMap::new();
    let commands = |line: &&CompiledLine| {
        line.media == demand && matches!(nodes[line.to].role, Role::AllOf(_))
    };
    for line in lines.iter().filter(commands) {
        *piped.entry(line.to).or_default() |= line.input;
    }
    piped.into_iter().collect()
}

/// The codes of all positions, ascending, each with its place.
fn codes(car_type: &CarType) -> Vec<(PositionCode, usize)> {
    let positions = car_type.positions.iter().enumerate();
    let mut codes: Vec<_> = positions
        .map(|(place, position)| (position.code.clone(), place))
        .collect();
    codes.sort_unstable();
    codes
}

/// The codes of the positions of each kind.
fn by_kind(car_type: &CarType) -> BTreeMap<PositionKind, Vec<PositionCode>> {
    let mut kinds: BTreeMap<PositionKind, Vec<PositionCode>> = BTreeMap::new();
    for position in &car_type.positions {
        let codes = kinds.entry(position.kind).or_default();
        codes.push(position.code.clone());
    }
    kinds
}
