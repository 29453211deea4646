//! The circuit of a whole train: the circuits of its cars, joined where their ends meet.

use super::compiled::{CompiledCircuit, CompiledLine, CompiledNode, Role};
use super::sets::{Media, Modes};
use super::{End, Mode, Place};
use crate::configuration::car::Orientation;
use crate::configuration::car_type::PositionKind;
use crate::identity::{CarNumber, PositionCode};
use std::collections::HashMap;
use std::sync::Arc;

/// A car in its place in a train.
#[derive(Debug, Clone)]
pub struct PlacedCar {
    /// Its number.
    pub number: CarNumber,
    /// Which way it stands.
    pub orientation: Orientation,
    /// The circuit of its type.
    pub circuit: Arc<CompiledCircuit>,
}

impl PlacedCar {
    /// The end towards the first car of the train.
    fn first_end(&self) -> End {
        match self.orientation {
            Orientation::Forward => End::End1,
            Orientation::Reversed => End::End2,
        }
    }
}

/// The circuit of a train, with nothing cut out. Nodes are numbered through the train, those
/// of each car in the order of their codes.
#[derive(Debug, Clone)]
pub struct TrainCircuit {
    plan: Arc<Plan>,
    roles: Vec<Role>,
}

/// What stays the same whoever commands the train.
#[derive(Debug)]
struct Plan {
    cars: Vec<PlacedCar>,
    /// The first node of each car.
    first_node: Vec<usize>,
    /// The car of each node.
    car_of: Vec<usize>,
    /// The brake controllers and emergency valves.
    commands: Vec<usize>,
    /// The nodes that may deliver though nothing reaches them.
    origins: Vec<usize>,
    /// Whether what commands the train can lead to a spring-applied actuator.
    commands_reach_springs: bool,
    /// Sorted by where they come from.
    lines: Vec<CompiledLine>,
    /// The first line out of each node, and at the end the number of all lines.
    first_line: Vec<usize>,
}

impl TrainCircuit {
    /// Joins cars, from the first to the last. Ports of facing ends meet when their pipes bear
    /// one name; a port that meets none is closed by its own end cock or blank, as is usual at
    /// the ends of a train. Near linear in nodes and lines.
    pub fn new(cars: Vec<PlacedCar>) -> Self {
        let (mut first_node, mut car_of) = (Vec::new(), Vec::new());
        let mut roles = Vec::new();
        let (mut lines, mut commands) = (Vec::new(), Vec::new());
        for (place, car) in cars.iter().enumerate() {
            let first = roles.len();
            let nodes = car.circuit.nodes();
            roles.extend(nodes.iter().map(|node| node.role));
            car_of.resize(roles.len(), place);
            let of_car = (first..).zip(nodes).filter(|(_, node)| node.is_command());
            commands.extend(of_car.map(|(node, _)| node));
            lines.extend(car.circuit.lines().iter().map(|line| CompiledLine {
                from: first + line.from,
                to: first + line.to,
                ..*line
            }));
            first_node.push(first);
        }
        for (car, pair) in cars.windows(2).enumerate() {
            if let [ahead, behind] = pair {
                let firsts = (first_node[car], first_node[car + 1]);
                lines.extend(couplings(ahead, behind, firsts));
            }
        }
        lines.sort_by_key(|line| line.from);
        let is_origin = |node: &usize| roles[*node].may_begin();
        let origins = (0..roles.len()).filter(is_origin).collect();
        let first_line = (0..=roles.len())
            .map(|node| lines.partition_point(|line| line.from < node))
            .collect();
        let mut plan = Plan {
            cars,
            first_node,
            car_of,
            commands,
            origins,
            commands_reach_springs: false,
            lines,
            first_line,
        };
        let reached = plan.reached(&plan.commands);
        let mut reached = roles.iter().zip(reached).filter(|(_, reached)| *reached);
        plan.commands_reach_springs =
            reached.any(|(role, _)| matches!(role, Role::SpringApplied(_)));
        Self {
            plan: Arc::new(plan),
            roles,
        }
    }

    /// Whether what commands the train can lead to a spring-applied actuator.
    pub(crate) fn commands_reach_springs(&self) -> bool {
        self.plan.commands_reach_springs
    }

    /// The cars from which a mode can be commanded: those with a brake controller or emergency
    /// valve that is a source in it.
    pub fn command_places(&self, mode: Mode) -> Vec<usize> {
        let commands = |node: &&usize| match self.roles[**node] {
            Role::Source(modes) => modes.meets(Modes::of(mode)),
            _ => false,
        };
        let nodes = self.plan.commands.iter().filter(commands);
        let mut places: Vec<usize> = nodes.map(|node| self.plan.car_of[*node]).collect();
        places.dedup();
        places
    }

    /// The same train, commanded from one car only: the brake controllers and emergency valves
    /// of all others are at rest. A valve behind a closed cock still brakes what is behind it,
    /// and says nothing about the demand from the cab where the driver sits.
    #[must_use]
    pub fn commanded_from(&self, car: usize) -> Self {
        let mut train = self.clone();
        for node in &self.plan.commands {
            if self.plan.car_of[*node] != car {
                train.roles[*node] = Role::Source(Modes::NONE);
            }
        }
        train
    }

    /// The same train with every place of command at rest, as it runs released.
    #[must_use]
    pub fn uncommanded(&self) -> Self {
        self.commanded_from(self.plan.cars.len())
    }

    /// The cars from the first to the last.
    pub fn cars(&self) -> &[PlacedCar] {
        &self.plan.cars
    }

    /// The nodes that may deliver though nothing reaches them and nothing is wrong with them.
    pub(crate) fn origins(&self) -> &[usize] {
        &self.plan.origins
    }

    pub(crate) fn roles(&self) -> &[Role] {
        &self.roles
    }

    pub(crate) fn lines_from(&self, node: usize) -> &[CompiledLine] {
        self.plan.lines_from(node)
    }

    /// The number of a position's node, if the circuit of that car has one.
    pub(crate) fn node(&self, car: usize, position: &PositionCode) -> Option<usize> {
        let local = self.plan.cars.get(car)?.circuit.node(position)?;
        Some(self.plan.first_node[car] + local)
    }

    /// The number of the node of a position or port, if the circuit of that car has one.
    pub(crate) fn node_at(&self, car: usize, place: &Place) -> Option<usize> {
        let local = self.plan.cars.get(car)?.circuit.node_at(place)?;
        Some(self.plan.first_node[car] + local)
    }

    /// Which car a node is in, and the node in the circuit of that car.
    pub(crate) fn of_node(&self, node: usize) -> (usize, &CompiledNode) {
        let car = self.plan.car_of[node];
        let local = node - self.plan.first_node[car];
        (car, &self.plan.cars[car].circuit.nodes()[local])
    }

    /// What belongs at a node that is no port.
    pub(crate) fn kind(&self, node: usize) -> Option<PositionKind> {
        let (_, compiled) = self.of_node(node);
        compiled.kind
    }

    /// The car and position of a node that is no port.
    pub(crate) fn position_of(&self, node: usize) -> Option<(usize, &PositionCode)> {
        let (car, compiled) = self.of_node(node);
        match &compiled.place {
            Place::Position(position) => Some((car, position)),
            Place::Port { .. } => None,
        }
    }
}

impl Plan {
    fn lines_from(&self, node: usize) -> &[CompiledLine] {
        &self.lines[self.first_line[node]..self.first_line[node + 1]]
    }

    /// Whether lines lead to a node from one of these, whatever state they are in.
    fn reached(&self, from: &[usize]) -> Vec<bool> {
        let mut seen = vec![false; self.car_of.len()];
        let mut open = from.to_vec();
        while let Some(node) = open.pop() {
            for line in self.lines_from(node) {
                if !std::mem::replace(&mut seen[line.to], true) {
                    open.push(line.to);
                }
            }
        }
        seen
    }
}

/// The lines, both ways, between the facing ends of two cars.
fn couplings(
    ahead: &PlacedCar,
    behind: &PlacedCar,
    (first_ahead, first_behind): (usize, usize),
) -> Vec<CompiledLine> {
    let facing: HashMap<&str, usize> = behind.circuit.ports(behind.first_end()).collect();
    let last_end = ahead.first_end().opposite();
    let pairs = ahead
        .circuit
        .ports(last_end)
        .filter_map(|(pipe, port)| Some((first_ahead + port, first_behind + facing.get(pipe)?)));
    let line = |from, to| CompiledLine {
        from,
        to,
        input: 1,
        media: Media::ALL,
        modes: Modes::ALL,
    };
    pairs
        .flat_map(|(one, other)| [line(one, other), line(other, one)])
        .collect()
}
