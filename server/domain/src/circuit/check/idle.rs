//! Cocks that isolate nothing, or nothing that matters. A gauge behind a cock makes no cut-out of it.

use super::Remark;
use crate::circuit::compiled::{CompiledCircuit, CompiledNode, Role};
use crate::circuit::sets::Media;
use crate::circuit::{Behaviour, Place};
use crate::configuration::car_type::PositionKind;
use crate::identity::PositionCode;

/// What is reached only past a cock, from one place where air or demand begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Isolated {
    Nothing,
    /// Pipe, and what only shows a pressure or lets it out.
    Instruments,
    /// An input of a valve, a reservoir, a load sensor, a port.
    Part,
    Brake,
}

/// The cocks that isolate nothing that matters.
pub(super) fn cocks(circuit: &CompiledCircuit) -> Vec<Remark> {
    let doubtful = |(position, isolated): (&PositionCode, Isolated)| match isolated {
        Isolated::Nothing => Some(Remark::IsolatesNothing(position.clone())),
        Isolated::Instruments => Some(Remark::IsolatesOnlyInstruments(position.clone())),
        Isolated::Part | Isolated::Brake => None,
    };
    each(circuit).filter_map(doubtful).collect()
}

/// The cocks that isolated brakes before and isolate none now.
pub(super) fn without_brakes(circuit: &CompiledCircuit, before: &CompiledCircuit) -> Vec<Remark> {
    let of_brakes: Vec<&PositionCode> = each(before)
        .filter(|(_, isolated)| *isolated == Isolated::Brake)
        .map(|(position, _)| position)
        .collect();
    each(circuit)
        .filter(|(position, isolated)| *isolated != Isolated::Brake && of_brakes.contains(position))
        .map(|(position, _)| Remark::TakesNoBrake(position.clone()))
        .collect()
}

/// Each cock with the most that it isolates.
fn each(circuit: &CompiledCircuit) -> impl Iterator<Item = (&PositionCode, Isolated)> {
    let nodes = circuit.nodes();
    let begins = |node: &usize| nodes[*node].role.may_begin() || nodes[*node].is_port();
    let origins: Vec<usize> = (0..nodes.len()).filter(begins).collect();
    let open: Vec<Reached> = origins
        .iter()
        .map(|origin| Reached::from(circuit, *origin, None))
        .collect();
    let described = circuit.car_type().circuit.nodes.iter();
    let cocks = described.filter(|node| matches!(node.behaviour, Behaviour::Cock { .. }));
    cocks.filter_map(move |node| {
        let cock = circuit.node(&node.position)?;
        let isolated = origins.iter().zip(&open).map(|(origin, open)| {
            let shut = Reached::from(circuit, *origin, Some(cock));
            open.beyond(&shut, circuit, cock)
        });
        Some((&node.position, isolated.max().unwrap_or(Isolated::Nothing)))
    })
}

/// What lines lead to from one place: what comes to each node, and by which inputs.
struct Reached {
    media: Vec<Media>,
    inputs: Vec<u32>,
}

impl Reached {
    /// From one node, not past another; medium by medium through pipes.
    fn from(circuit: &CompiledCircuit, origin: usize, past: Option<usize>) -> Self {
        let count = circuit.nodes().len();
        let (mut media, mut inputs) = (vec![Media::NONE; count], vec![0; count]);
        let mut open = Vec::new();
        if past != Some(origin) {
            media[origin] = Media::ALL;
            open.push(origin);
        }
        while let Some(node) = open.pop() {
            for line in circuit.lines().iter().filter(|line| line.from == node) {
                let brought = media[node].within(line.media);
                if past == Some(line.to) || brought.is_empty() {
                    continue;
                }
                inputs[line.to] |= line.input;
                let brought = if circuit.nodes()[line.to].role.is_pipe() {
                    brought
                } else {
                    Media::ALL
                };
                if !brought.without(media[line.to]).is_empty() {
                    media[line.to] = media[line.to].and(brought);
                    open.push(line.to);
                }
            }
        }
        Self { media, inputs }
    }

    /// The most that it reaches and another does not, apart from the cock itself.
    fn beyond(&self, shut: &Self, circuit: &CompiledCircuit, cock: usize) -> Isolated {
        let of = |(at, node): (usize, &CompiledNode)| {
            let gone = !self.media[at].is_empty() && shut.media[at].is_empty();
            let input_gone = self.inputs[at] & !shut.inputs[at] != 0;
            match node.role {
                _ if at == cock => Isolated::Nothing,
                role if role.is_actuator() && gone => Isolated::Brake,
                Role::AllOf(_) if input_gone => Isolated::Part,
                _ if !gone => Isolated::Nothing,
                _ if matters(node) => Isolated::Part,
                _ => Isolated::Instruments,
            }
        };
        let nodes = circuit.nodes().iter().enumerate();
        nodes.map(of).max().unwrap_or(Isolated::Nothing)
    }
}

/// Whether a brake may depend on a node.
fn matters(node: &CompiledNode) -> bool {
    const KINDS: [PositionKind; 3] = [
        PositionKind::LoadSensor,
        PositionKind::LevellingValve,
        PositionKind::EmergencyValve,
    ];
    let valve_or_reservoir = matches!(node.role, Role::AllOf(_) | Role::AnyOf | Role::Reservoir);
    let port = matches!(node.place, Place::Port { .. });
    valve_or_reservoir || port || node.kind.is_some_and(|kind| KINDS.contains(&kind))
}
