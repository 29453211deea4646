//! The circuit of a whole train: the circuits of its cars, joined where their ends meet.

use super::compiled::{CompiledCircuit, CompiledLine, CompiledNode, Role};
use super::lines_out::LinesOut;
use super::scenarios::SlotGraph;
use super::sets::{Media, Modes};
use super::{End, Mode, Place};
use crate::configuration::car::Orientation;
use crate::configuration::car_type::PositionKind;
use crate::identity::{CarNumber, PositionCode};
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
    /// The actuators.
    actuators: Vec<usize>,
    /// The load sensors.
    load_sensors: Vec<usize>,
    /// The levelling valves of the air suspension.
    levelling_valves: Vec<usize>,
    /// The valves that a brake pipe commands, each with the inputs that its demand joins.
    piped: Vec<(usize, u32)>,
    lines: LinesOut,
    slots: SlotGraph,
}

impl TrainCircuit {
    /// Joins cars, from the first to the last. Ports of facing ends meet when their pipes bear
    /// one name; a port that meets none is closed by its own end cock or blank, as is usual at
    /// the ends of a train. Linear in nodes and lines.
    pub fn new(cars: Vec<PlacedCar>) -> Self {
        let nodes = cars.iter().map(|car| car.circuit.nodes().len()).sum();
        let (mut roles, mut car_of) = (Vec::with_capacity(nodes), Vec::with_capacity(nodes));
        let (mut first_node, mut commands) = (Vec::new(), Vec::new());
        let (mut origins, mut actuators) = (Vec::new(), Vec::new());
        let (mut load_sensors, mut levelling_valves) = (Vec::new(), Vec::new());
        let mut piped = Vec::new();
        for (place, car) in cars.iter().enumerate() {
            let first = roles.len();
            first_node.push(first);
            let of_car = car.circuit.piped.iter();
            piped.extend(of_car.map(|(node, inputs)| (first + node, *inputs)));
            for node in car.circuit.nodes() {
                let number = roles.len();
                let note = |list: &mut Vec<usize>, is: bool| {
                    if is {
                        list.push(number);
                    }
                };
                note(&mut commands, node.is_command());
                note(&mut origins, node.role.may_begin());
                note(&mut actuators, node.role.is_actuator());
                let is = |kind| node.kind == Some(kind);
                note(&mut load_sensors, is(PositionKind::LoadSensor));
                note(&mut levelling_valves, is(PositionKind::LevellingValve));
                roles.push(node.role);
                car_of.push(place);
            }
        }
        let mut meeting = Vec::new();
        for (car, pair) in cars.windows(2).enumerate() {
            if let [ahead, behind] = pair {
                let firsts = (first_node[car], first_node[car + 1]);
                meeting.extend(couplings(ahead, behind, firsts));
            }
        }
        let circuits = || cars.iter().map(|car| &car.circuit);
        let plan = Plan {
            lines: LinesOut::joined(circuits().map(|of| of.lines_out()), &meeting),
            slots: SlotGraph::joined(circuits().map(|of| of.slots()), &meeting),
            cars,
            first_node,
            car_of,
            commands,
            origins,
            actuators,
            load_sensors,
            levelling_valves,
            piped,
        };
        Self {
            plan: Arc::new(plan),
            roles,
        }
    }

    /// Whether what commands the train can lead to a spring-applied actuator. Linear in nodes
    /// and lines.
    pub(crate) fn commands_reach_springs(&self) -> bool {
        let mut seen = vec![false; self.roles.len()];
        let mut open = self.plan.commands.clone();
        while let Some(node) = open.pop() {
            for line in self.lines_from(node) {
                if matches!(self.roles[line.to], Role::SpringApplied(_)) {
                    return true;
                }
                if !std::mem::replace(&mut seen[line.to], true) {
                    open.push(line.to);
                }
            }
        }
        false
    }

    /// The brake controllers and emergency valves, each with the place of its car.
    pub(crate) fn commands(&self) -> impl Iterator<Item = (usize, usize)> {
        let commands = self.plan.commands.iter();
        commands.map(|node| (*node, self.plan.car_of[*node]))
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

    /// The same train with one brake controller or emergency valve at work, and no other.
    #[must_use]
    pub(crate) fn commanded_by(&self, only: usize) -> Self {
        let mut train = self.clone();
        for node in self.plan.commands.iter().filter(|node| **node != only) {
            train.roles[*node] = Role::Source(Modes::NONE);
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

    /// The actuators, ascending.
    pub(crate) fn actuators(&self) -> &[usize] {
        &self.plan.actuators
    }

    /// The load sensors, ascending.
    pub(crate) fn load_sensors(&self) -> &[usize] {
        &self.plan.load_sensors
    }

    /// The levelling valves of the air suspension, ascending.
    pub(crate) fn levelling_valves(&self) -> &[usize] {
        &self.plan.levelling_valves
    }

    /// The valves that a brake pipe commands, ascending, each with the inputs that its demand
    /// joins.
    pub(crate) fn piped(&self) -> &[(usize, u32)] {
        &self.plan.piped
    }

    /// The load sensors of one car, ascending.
    pub(crate) fn load_sensors_of(&self, car: usize) -> &[usize] {
        let sensors = &self.plan.load_sensors;
        let before = |car: usize| sensors.partition_point(|node| self.plan.car_of[*node] < car);
        &sensors[before(car)..before(car + 1)]
    }

    pub(crate) fn lines_from(&self, node: usize) -> &[CompiledLine] {
        self.plan.lines.from(node)
    }

    /// Whether no line leads on from a position: a gauge or a switch has what its lines bring,
    /// and does not join them.
    pub(super) fn is_dead_end(&self, node: usize) -> bool {
        self.lines_from(node).is_empty() && self.position_of(node).is_some()
    }

    /// The circuit split by medium.
    pub(super) fn slots(&self) -> &SlotGraph {
        &self.plan.slots
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

    /// The end of its car at which a port meets none, though another car is coupled there.
    pub(crate) fn cut_short_at(&self, node: usize) -> Option<End> {
        let (car, compiled) = self.of_node(node);
        let Place::Port { end, .. } = &compiled.place else {
            return None;
        };
        let towards_first = *end == self.plan.cars[car].first_end();
        let coupled = if towards_first {
            car > 0
        } else {
            car + 1 < self.plan.cars.len()
        };
        let meets = self
            .lines_from(node)
            .iter()
            .any(|line| line.media == Media::ALL);
        (coupled && !meets).then_some(*end)
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

/// The ports that meet between the facing ends of two cars, both ways.
fn couplings(
    ahead: &PlacedCar,
    behind: &PlacedCar,
    (first_ahead, first_behind): (usize, usize),
) -> impl Iterator<Item = (usize, usize)> {
    let mut facing = behind.circuit.ports(behind.first_end()).peekable();
    let meets = move |(pipe, port): (&str, usize)| {
        while facing.next_if(|(other, _)| *other < pipe).is_some() {}
        let (_, other) = facing.next_if(|(other, _)| *other == pipe)?;
        Some((first_ahead + port, first_behind + other))
    };
    let pairs = ahead.circuit.ports(ahead.first_end().opposite());
    pairs
        .filter_map(meets)
        .flat_map(|(one, other)| [(one, other), (other, one)])
}
