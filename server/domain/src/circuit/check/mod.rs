//! What a circuit's description leaves doubtful though it can be evaluated: what nothing reaches,
//! what leads nowhere, what is fed the wrong medium, what it forgets.
//!
//! Judged with every port fed and everything open, so that a remark is never a matter of the
//! train a car stands in.

mod compared;
mod demand;
mod filled;
mod idle;
mod pipes;

pub use compared::check_against;

use super::compiled::{CompiledCircuit, CompiledNode, Role};
use super::delivers::{Air, Delivering, Delivery};
use super::fault::LineName;
use super::sets::Modes;
use super::state::TrainState;
use super::train::{PlacedCar, TrainCircuit};
use super::{End, Medium, Mode, Place};
use crate::configuration::car::Orientation;
use crate::configuration::car_type::PositionKind;
use crate::identity::{CarNumber, PositionCode};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use thiserror::Error;

/// Something that a brake engineer should look at. The circuit can be evaluated as it is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Error)]
pub enum Remark {
    /// An air-applied actuator that never brakes.
    #[error("{0}: no air reaches it in service nor in emergency, with everything open")]
    NeverBrakes(PositionCode),
    /// A spring-applied actuator that is never released.
    #[error("{0}: no air releases it while running, with everything open")]
    NeverReleased(PositionCode),
    /// A spring-applied actuator that never holds.
    #[error("{0}: air keeps it released in holding; it never holds")]
    NeverHolds(PositionCode),
    /// An input through which nothing ever comes.
    #[error("{position}: nothing ever comes through its input {input}")]
    InputNeverFed {
        /// Whose.
        position: PositionCode,
        /// Which.
        input: String,
    },
    /// A shuttle valve with one line into it, which has nothing to choose.
    #[error("{0}: one line leads into it; a shuttle valve has two or more")]
    OneInput(PositionCode),
    /// A node that needs all of its inputs and has one.
    #[error(
        "{position}: only its input {input} has a line into it; a relay valve waits for a pilot besides its supply"
    )]
    OneNamedInput {
        /// Whose.
        position: PositionCode,
        /// The one.
        input: String,
    },
    /// A relay valve that nothing pilots.
    #[error(
        "{0}: no line brings it a pilot pressure or a demand; it passes its supply all the time"
    )]
    WithoutPilot(PositionCode),
    /// An air-applied actuator that brakes with nothing commanded.
    #[error("{0}: air reaches it though nothing asks for braking; no demand stands in its way")]
    Unasked(PositionCode),
    /// A load sensor that nothing reaches.
    #[error("{0}: nothing ever reaches it; the brake control has no load signal of it")]
    NoLoadSignal(PositionCode),
    /// A pipe's line that carries what never comes to where it begins.
    #[error("{}: carries {medium}, which never comes to where it begins", line.by_its_ends())]
    NeverCarries {
        /// The line.
        line: LineName,
        /// What it is said to carry.
        medium: Medium,
    },
    /// A check valve, filter, cock or hose out of which comes something else than goes in.
    #[error(
        "{position}: a {kind} that takes in {taken} and gives out {given}; it passes on what reaches it and makes nothing of it, so what is stored behind it would be counted at the pressure of the wrong pipe"
    )]
    ChangesMedium {
        /// Whose.
        position: PositionCode,
        /// What belongs there.
        kind: PositionKind,
        /// What lines bring to it, as one text.
        taken: String,
        /// What lines take from it that none brings to it, as one text.
        given: String,
    },
    /// A pipe or wire between the ends that carries something one way only.
    #[error(
        "{pipe}: carries {medium} from {from} to {to} and not back; brakes beyond it depend on which way round the car stands"
    )]
    OneWay {
        /// Which pipe or wire.
        pipe: String,
        /// What it carries.
        medium: Medium,
        /// The end from which it does.
        from: End,
        /// The end to which it does.
        to: End,
    },
    /// A reservoir of another revision that stores nothing any more.
    #[error(
        "{0}: was a reservoir, and stores nothing now; it is no longer among what must be drained"
    )]
    StoresNoMore(PositionCode),
    /// An input that another revision had.
    #[error("{position}: no line leads to its input {input} any more")]
    InputGone {
        /// Whose.
        position: PositionCode,
        /// Which.
        input: String,
    },
    /// A line that carried something else in another revision.
    #[error("{}: carries {medium}, where it carried {before}", line.by_its_ends())]
    OtherMedium {
        /// The line.
        line: LineName,
        /// What it carries.
        medium: Medium,
        /// What it carried, as one text.
        before: String,
    },
    /// A position that takes something and passes it nowhere.
    #[error("{0}: lines lead into it and none out of it")]
    LeadsNowhere(PositionCode),
    /// A line that brings an actuator what it does not work with.
    #[error("{}: carries {medium} to what works with {expected}", line.by_its_ends())]
    WrongMedium {
        /// The line.
        line: LineName,
        /// What it carries.
        medium: Medium,
        /// What the actuator works with.
        expected: Medium,
    },
    /// A cock past which everything also comes by other ways.
    #[error("{0}: isolates nothing; whatever lies behind it is also reached by other ways")]
    IsolatesNothing(PositionCode),
    /// A cock that isolates nothing on which a brake depends.
    #[error(
        "{0}: isolates only gauges, sensors and the like; no brake, valve or reservoir is reached past it alone"
    )]
    IsolatesOnlyInstruments(PositionCode),
    /// A cock that isolated brakes in another revision.
    #[error(
        "{0}: took brakes when closed, and takes none now; they are also reached by other ways"
    )]
    TakesNoBrake(PositionCode),
    /// A position that air or demand passes, by what belongs there, and that the circuit leaves
    /// out.
    #[error("{0}: has no place in the circuit")]
    NotInCircuit(PositionCode),
    /// A position where nothing may be fitted.
    #[error("{0}: no part is approved there; it stays empty, and delivers nothing")]
    NothingApproved(PositionCode),
    /// A source of a demand to brake from which no train is commanded.
    #[error(
        "{0}: a demand to brake begins there, and no train is commanded from it; a place of command is a brake_controller or an emergency_valve"
    )]
    NoPlaceOfCommand(PositionCode),
}

/// What is doubtful in a circuit, by kind and code. Linear in nodes and lines for each cock and
/// each place where air or demand begins.
pub fn check(circuit: &CompiledCircuit) -> Vec<Remark> {
    let train = alone(with_ports_fed(circuit));
    let state = train.sound();
    let mut remarks = actuators(&train, &state);
    remarks.extend(never_holding(circuit));
    remarks.extend(inputs(circuit, &state));
    remarks.extend(dead_ends(circuit));
    remarks.extend(wrong_media(circuit));
    remarks.extend(never_carrying(circuit, &state));
    remarks.extend(demand::without_pilot(circuit));
    remarks.extend(demand::unasked(circuit));
    remarks.extend(idle::cocks(circuit));
    remarks.extend(left_out(circuit));
    remarks.extend(filled::nothing_approved(circuit));
    remarks.extend(demand::without_command(circuit));
    remarks.extend(pipes::changing(circuit));
    remarks.extend(pipes::one_way(circuit));
    remarks.sort();
    remarks
}

/// A train of one car.
fn alone(circuit: CompiledCircuit) -> TrainCircuit {
    TrainCircuit::new(vec![PlacedCar {
        number: CarNumber::any(),
        orientation: Orientation::Forward,
        circuit: Arc::new(circuit),
    }])
}

/// The circuit with air and demand coming in at every port.
fn with_ports_fed(circuit: &CompiledCircuit) -> CompiledCircuit {
    let mut fed = circuit.clone();
    for node in &mut fed.nodes {
        if matches!(node.place, Place::Port { .. }) {
            node.role = Role::Source(Modes::ALL);
        }
    }
    fed
}

fn code(node: &CompiledNode) -> Option<&PositionCode> {
    match &node.place {
        Place::Position(position) => Some(position),
        Place::Port { .. } => None,
    }
}

fn actuators(train: &TrainCircuit, state: &TrainState<'_>) -> Vec<Remark> {
    let [service, emergency] = [Mode::Service, Mode::Emergency]
        .map(|mode| Delivery::new(state, Modes::of(mode), Air::FromSources));
    let mut remarks = Vec::new();
    for (node, role) in train.roles().iter().enumerate() {
        let Some((_, position)) = train.position_of(node) else {
            continue;
        };
        let comes = |delivery: &Delivery<'_>| !delivery.media(node).is_empty();
        match role {
            Role::AirApplied if !comes(&service) && !comes(&emergency) => {
                remarks.push(Remark::NeverBrakes(position.clone()));
            }
            Role::SpringApplied(_) if !comes(&service) => {
                remarks.push(Remark::NeverReleased(position.clone()));
            }
            _ if train.load_sensors().contains(&node) && !comes(&service) => {
                remarks.push(Remark::NoLoadSignal(position.clone()));
            }
            _ => {}
        }
    }
    remarks
}

/// By the car's own air: what comes in at its ports in holding depends on the train.
fn never_holding(circuit: &CompiledCircuit) -> Vec<Remark> {
    let train = alone(circuit.clone());
    let state = train.sound();
    let holding = Delivery::new(&state, Modes::of(Mode::Holding), Air::FromSources);
    let springs = (0..train.roles().len())
        .filter(|node| matches!(train.roles()[*node], Role::SpringApplied(_)));
    springs
        .filter(|node| !holding.media(*node).is_empty())
        .filter_map(|node| Some(Remark::NeverHolds(train.position_of(node)?.1.clone())))
        .collect()
}

/// Inputs by the names that the description gives them.
fn inputs(circuit: &CompiledCircuit, state: &TrainState<'_>) -> Vec<Remark> {
    let modes = Mode::ALL.iter().map(|mode| Modes::of(*mode));
    let deliveries: Vec<Delivery<'_>> = modes
        .map(|mode| Delivery::new(state, mode, Air::FromSources))
        .collect();
    let described = &circuit.car_type().circuit.lines;
    let mut named: BTreeMap<(usize, &str), bool> = BTreeMap::new();
    for (line, compiled) in described.iter().zip(circuit.lines()) {
        let comes = deliveries.iter().any(|all| all.is_filled(compiled));
        *named.entry((compiled.to, &line.input)).or_default() |= comes;
    }
    let mut remarks = Vec::new();
    for ((node, input), comes) in named {
        let compiled = &circuit.nodes()[node];
        if let (Some(position), Role::AllOf(_), false) = (code(compiled), compiled.role, comes) {
            remarks.push(Remark::InputNeverFed {
                position: position.clone(),
                input: input.to_owned(),
            });
        }
    }
    for (node, compiled) in circuit.nodes().iter().enumerate() {
        let into = circuit.lines().iter().filter(|line| line.to == node);
        if let (Role::AnyOf, 1, Some(position)) = (compiled.role, into.count(), code(compiled)) {
            remarks.push(Remark::OneInput(position.clone()));
        }
    }
    remarks
}

/// What takes air and is meant to pass none on.
const ENDS: [PositionKind; 12] = [
    PositionKind::Gauge,
    PositionKind::TestPoint,
    PositionKind::PressureSwitch,
    PositionKind::PressureSensor,
    PositionKind::LoadSensor,
    PositionKind::DrainCock,
    PositionKind::SafetyValve,
    PositionKind::EmergencyValve,
    PositionKind::LevellingValve,
    PositionKind::Caliper,
    PositionKind::TreadBrakeUnit,
    PositionKind::ParkingCylinder,
];

fn dead_ends(circuit: &CompiledCircuit) -> Vec<Remark> {
    let from: BTreeSet<usize> = circuit.lines().iter().map(|line| line.from).collect();
    let into: BTreeSet<usize> = circuit.lines().iter().map(|line| line.to).collect();
    let nowhere = |(node, compiled): (usize, &CompiledNode)| {
        let ends = compiled.kind.is_none_or(|kind| ENDS.contains(&kind));
        let nowhere = into.contains(&node) && !from.contains(&node);
        (nowhere && !ends && !compiled.role.is_actuator())
            .then(|| code(compiled).cloned().map(Remark::LeadsNowhere))
            .flatten()
    };
    circuit
        .nodes()
        .iter()
        .enumerate()
        .filter_map(nowhere)
        .collect()
}

fn wrong_media(circuit: &CompiledCircuit) -> Vec<Remark> {
    let described = &circuit.car_type().circuit.lines;
    let wrong = |(at, line): (usize, &super::Line)| {
        let role = circuit
            .node_at(&line.to)
            .map(|node| circuit.nodes()[node].role);
        let expected = match role? {
            Role::AirApplied => Medium::CylinderPressure,
            Role::SpringApplied(_) => Medium::ParkingAir,
            _ => return None,
        };
        (line.medium != expected).then(|| Remark::WrongMedium {
            line: LineName {
                number: at + 1,
                from: line.from.clone(),
                to: line.to.clone(),
            },
            medium: line.medium,
            expected,
        })
    };
    described.iter().enumerate().filter_map(wrong).collect()
}

/// Lines out of pipes whose medium comes there in no mode: a pipe makes nothing of something else.
fn never_carrying(circuit: &CompiledCircuit, state: &TrainState<'_>) -> Vec<Remark> {
    let modes = Mode::ALL.iter().map(|mode| Modes::of(*mode));
    let deliveries: Vec<Delivery<'_>> = modes
        .map(|mode| Delivery::new(state, mode, Air::FromSources))
        .collect();
    let described = circuit.car_type().circuit.lines.iter().enumerate();
    let never =
        |((at, line), compiled): ((usize, &super::Line), &super::compiled::CompiledLine)| {
            let comes = deliveries
                .iter()
                .any(|all| !all.media(compiled.from).within(compiled.media).is_empty());
            let pipe = circuit.nodes()[compiled.from].role.is_pipe();
            (pipe && !comes && matches!(line.from, Place::Position(_))).then(|| {
                Remark::NeverCarries {
                    line: LineName {
                        number: at + 1,
                        from: line.from.clone(),
                        to: line.to.clone(),
                    },
                    medium: line.medium,
                }
            })
        };
    described.zip(circuit.lines()).filter_map(never).collect()
}

/// What passes neither air nor demand.
fn is_outside(kind: PositionKind) -> bool {
    kind.is_slide_electronics() || kind == PositionKind::ControlPanel
}

fn left_out(circuit: &CompiledCircuit) -> Vec<Remark> {
    let car_type = circuit.car_type();
    let inside: BTreeSet<&PositionCode> = circuit.nodes().iter().filter_map(code).collect();
    let positions = car_type.positions.iter();
    positions
        .filter(|position| !is_outside(position.kind) && !inside.contains(&position.code))
        .map(|position| Remark::NotInCircuit(position.code.clone()))
        .collect()
}
