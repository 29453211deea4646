//! The pipes of a train as air under pressure finds them: what each node is to it, by which ways
//! it flows, and where reservoirs are drained.

use crate::circuit::Behaviour;
use crate::circuit::compiled::Role;
use crate::circuit::sets::Media;
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use crate::isolation::CutOutState;

/// A way of air from one node to another.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flow {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) input: u32,
    pub(super) media: Media,
    pub(super) back: bool,
}

/// What a node is to air under pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Presses of itself.
    Source,
    /// Pipe, cock, reservoir: passes both ways.
    Pipe,
    /// Check valve: passes one way.
    OneWay,
    AnyOf,
    /// The inputs that take air, a bit each.
    AllOf(u32),
    Actuator,
}

fn is(train: &TrainCircuit, standing: &[Impaired], node: usize, state: CutOutState) -> bool {
    train.position_of(node).is_some_and(|(car, position)| {
        standing.iter().any(|one| {
            one.car == car && one.position == *position && one.by == Impairment::CutOut(state)
        })
    })
}

/// Whether a node is a cock of any kind.
pub(crate) fn is_cock(train: &TrainCircuit, node: usize) -> bool {
    matches!(behaviour(train, node), Some(Behaviour::Cock { .. }))
}

/// What a position of the train does.
pub(crate) fn behaviour(train: &TrainCircuit, node: usize) -> Option<&Behaviour> {
    let (car, position) = train.position_of(node)?;
    let circuit = &train.cars()[car].circuit.car_type().circuit;
    let mut nodes = circuit.nodes.iter();
    nodes
        .find(|node| node.position == *position)
        .map(|node| &node.behaviour)
}

/// The cocks that stand closed.
pub(super) fn closed(train: &TrainCircuit, standing: &[Impaired]) -> Vec<bool> {
    let mut closed = vec![false; train.roles().len()];
    for one in standing {
        let shut = matches!(
            one.by,
            Impairment::CutOut(
                CutOutState::ClosedVented | CutOutState::ClosedTrapped | CutOutState::SupplyCut
            )
        );
        if let (true, Some(node)) = (shut, train.node(one.car, &one.position)) {
            closed[node] = is_cock(train, node);
        }
    }
    closed
}

/// What a node is to air. A valve that is bypassed passes air from any of its inputs.
pub(super) fn kind(train: &TrainCircuit, standing: &[Impaired], node: usize) -> Kind {
    match train.roles()[node] {
        Role::Source(_) => Kind::Source,
        Role::Pass | Role::Reservoir => Kind::Pipe,
        Role::CheckValve => Kind::OneWay,
        Role::AllOf(_) if is(train, standing, node, CutOutState::Bypassed) => Kind::AnyOf,
        Role::AllOf(_) => Kind::AllOf(0),
        Role::AnyOf => Kind::AnyOf,
        Role::AirApplied | Role::SpringApplied(_) => Kind::Actuator,
    }
}

/// All ways of air, forth and back.
pub(super) fn flows(train: &TrainCircuit, kinds: &[Kind]) -> Vec<Flow> {
    let mut flows = Vec::new();
    for node in 0..kinds.len() {
        for line in train.lines_from(node) {
            let media = line.media.within(Media::AIR);
            if media.is_empty() {
                continue;
            }
            let forth = Flow {
                from: line.from,
                to: line.to,
                input: line.input,
                media,
                back: false,
            };
            flows.push(forth);
            if kinds[line.to] == Kind::Pipe {
                flows.push(Flow {
                    from: line.to,
                    to: line.from,
                    input: 0,
                    back: true,
                    ..forth
                });
            }
        }
    }
    flows
}

/// What passes both ways at any pressure, apart from cocks and reservoirs.
const FREE: [PositionKind; 3] = [
    PositionKind::Hose,
    PositionKind::Filter,
    PositionKind::DumpValve,
];

/// Whether a node is pipe, or something in a pipe, on both sides of which the pressure is the same.
/// An overflow or a reducing valve passes air and is not.
pub(crate) fn is_plain_pipe(train: &TrainCircuit, node: usize) -> bool {
    let free = |kind| FREE.contains(&kind);
    train.roles()[node] == Role::Pass && train.kind(node).is_none_or(free)
}

/// Each reservoir with the drain cocks that hang on it.
pub(crate) fn drains(train: &TrainCircuit) -> Vec<(usize, Vec<usize>)> {
    let reservoirs = (0..train.roles().len()).filter(|n| train.roles()[*n] == Role::Reservoir);
    reservoirs
        .map(|reservoir| (reservoir, drains_of(train, reservoir)))
        .collect()
}

/// The drain cocks that hang on a reservoir, with nothing between but pipe, ascending.
pub(crate) fn drains_of(train: &TrainCircuit, reservoir: usize) -> Vec<usize> {
    let mut found = Vec::new();
    let mut seen = vec![reservoir];
    let mut open = vec![reservoir];
    while let Some(node) = open.pop() {
        let lines = train.lines_from(node).iter();
        for line in lines.filter(|line| !line.media.within(Media::AIR).is_empty()) {
            if seen.contains(&line.to) {
                continue;
            }
            seen.push(line.to);
            if train.kind(line.to) == Some(PositionKind::DrainCock) {
                found.push(line.to);
            } else if is_plain_pipe(train, line.to) {
                open.push(line.to);
            }
        }
    }
    found.sort_unstable();
    found
}
