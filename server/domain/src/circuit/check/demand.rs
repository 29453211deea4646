//! What brakes without being asked: relay valves that heed no pilot, brakes that air reaches with
//! nothing commanded.

use super::{Remark, alone, code, with_ports_fed};
use crate::circuit::compiled::{CompiledCircuit, CompiledNode, Role};
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::lines_out::LinesOut;
use crate::circuit::scenarios::SlotGraph;
use crate::circuit::sets::{Media, Modes};
use crate::circuit::{Line, Medium, Mode};
use crate::configuration::car_type::PositionKind;
use std::collections::BTreeSet;

/// What asks for braking, where it comes into what braking is made of.
const DEMAND: Media = Media::of(Medium::PilotPressure)
    .and(Media::of(Medium::BrakePipeDemand))
    .and(Media::of(Medium::ElectricalDemand));

const PILOTED: [PositionKind; 2] = [PositionKind::RelayValve, PositionKind::DistributorValve];

/// What brakes, or makes others brake.
const BRAKING: Media = Media::of(Medium::PilotPressure).and(Media::of(Medium::CylinderPressure));

/// What exists only where braking is asked for, where it comes from outside or from a source.
const ON_DEMAND: Media = DEMAND.and(Media::of(Medium::CylinderPressure));

/// Relay valves and distributors that have nothing to wait for: they pass their supply as a pilot
/// asks. Other valves may be moved by what is no line, as a levelling valve by its lever.
pub(super) fn without_pilot(circuit: &CompiledCircuit) -> Vec<Remark> {
    let described = &circuit.car_type().circuit.lines;
    let mut remarks = Vec::new();
    for (node, compiled) in circuit.nodes().iter().enumerate() {
        let (Role::AllOf(_), Some(position)) = (compiled.role, code(compiled)) else {
            continue;
        };
        if !compiled.kind.is_some_and(|kind| PILOTED.contains(&kind)) {
            continue;
        }
        // What only charges a pipe, as a brake pipe from the main air, is set and not piloted.
        let mut out = circuit.lines().iter().filter(|line| line.from == node);
        if !out.any(|line| !line.media.within(BRAKING).is_empty()) {
            continue;
        }
        let into = |(line, _): &(&Line, &_)| circuit.node_at(&line.to) == Some(node);
        let into = described.iter().zip(circuit.lines()).filter(into);
        let into: Vec<_> = into.collect();
        let inputs: BTreeSet<&str> = into.iter().map(|(line, _)| line.input.as_str()).collect();
        let asked = into
            .iter()
            .any(|(_, line)| !line.media.within(DEMAND).is_empty());
        if let (Some(input), 1) = (inputs.first(), inputs.len()) {
            remarks.push(Remark::OneNamedInput {
                position: position.clone(),
                input: (*input).to_owned(),
            });
        } else if !asked {
            remarks.push(Remark::WithoutPilot(position.clone()));
        }
    }
    remarks
}

/// Sources of a demand that leads to an air-applied brake and that are no place of command by their
/// kind. A magnet valve that gives pilot pressure in a mode may be asked by a loop that nobody
/// described. For each source, nodes times lines.
pub(super) fn without_command(circuit: &CompiledCircuit) -> Vec<Remark> {
    let nodes = circuit.nodes().iter().enumerate();
    let sources = nodes.filter(|(_, node)| matches!(node.role, Role::Source(_)));
    let others = sources.filter(|(_, node)| !commands(node));
    others
        .filter(|(node, _)| demands_braking(circuit, *node))
        .filter_map(|(_, node)| Some(Remark::NoPlaceOfCommand(code(node)?.clone())))
        .collect()
}

/// Whether what a source demands leads to an air-applied brake of the car.
fn demands_braking(circuit: &CompiledCircuit, source: usize) -> bool {
    let lines = circuit.lines();
    let demands = lines
        .iter()
        .filter(|line| line.from == source && !line.media.within(DEMAND_LINES).is_empty());
    let mut seen = vec![false; circuit.nodes().len()];
    let mut open: Vec<usize> = demands.map(|line| line.to).collect();
    while let Some(node) = open.pop() {
        if std::mem::replace(&mut seen[node], true) {
            continue;
        }
        if circuit.nodes()[node].role == Role::AirApplied {
            return true;
        }
        let onward = lines.iter().filter(|line| line.from == node);
        open.extend(onward.map(|line| line.to));
    }
    false
}

/// Air-applied actuators that air reaches though nothing asks for braking: what asks is taken out
/// of the circuit, and air comes in wherever it may.
pub(super) fn unasked(circuit: &CompiledCircuit) -> Vec<Remark> {
    let train = alone(with_nothing_asked(circuit));
    let state = train.sound();
    let reached = [Mode::Service, Mode::Emergency]
        .map(|mode| Delivery::new(&state, Modes::of(mode), Air::FromSources));
    let roles = train.roles().iter().enumerate();
    roles
        .filter(|(_, role)| **role == Role::AirApplied)
        .filter(|(node, _)| reached.iter().any(|air| air.delivers(*node)))
        .filter_map(|(node, _)| Some(Remark::Unasked(train.position_of(node)?.1.clone())))
        .collect()
}

/// The circuit without demands: lines that carry one carry nothing, and neither do lines out of
/// sources and ports that carry what exists only on demand. What is open or works in some modes
/// alone is asked for by the mode.
fn with_nothing_asked(circuit: &CompiledCircuit) -> CompiledCircuit {
    let mut quiet = with_ports_fed(circuit);
    for node in &mut quiet.nodes {
        let asks = match node.role {
            Role::Source(modes) => modes != Modes::ALL && !always(modes),
            _ => false,
        };
        if asks || commands(node) {
            node.role = Role::Pass;
        }
    }
    let nodes = &quiet.nodes;
    for line in &mut quiet.lines {
        let outside = matches!(nodes[line.from].role, Role::Source(_));
        let asked = if outside { ON_DEMAND } else { DEMAND_LINES };
        line.media = line.media.without(asked);
        if !always(line.modes) {
            line.media = Media::NONE;
        }
    }
    quiet.lines_out = LinesOut::of_car(&quiet.nodes, &quiet.lines);
    quiet.slots = SlotGraph::of_car(&quiet.nodes, &quiet.lines);
    quiet
}

/// What is a demand and nothing else, wherever it flows. Pilot pressure may be made of air within
/// the car; then it is where it is made that asks, or does not.
const DEMAND_LINES: Media =
    Media::of(Medium::BrakePipeDemand).and(Media::of(Medium::ElectricalDemand));

fn always(modes: Modes) -> bool {
    Mode::ALL.iter().all(|mode| modes.meets(Modes::of(*mode)))
}

fn commands(node: &CompiledNode) -> bool {
    let commands = [PositionKind::BrakeController, PositionKind::EmergencyValve];
    node.kind.is_some_and(|kind| commands.contains(&kind))
}
