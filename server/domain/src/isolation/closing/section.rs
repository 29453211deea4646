//! The section of pipe that a position stands in when cocks around it are closed, and where its
//! air is let out and proved to be gone.

use super::Spot;
use super::pipes::{Kind, closed, flows, kind};
use crate::circuit::state::Impaired;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use serde::Serialize;

/// What hangs on the pipe that is dead when the cocks of a set are closed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct DeadSection {
    /// Drain cocks, by which its air is let out.
    pub drains: Vec<Spot>,
    /// Test points and gauges, at which it is proved to be without pressure.
    pub proving: Vec<Spot>,
}

/// The pipes of a train, to walk along them both ways.
pub(super) struct Sections<'t> {
    train: &'t TrainCircuit,
    closed: Vec<bool>,
    kinds: Vec<Kind>,
    joined: Vec<Vec<usize>>,
}

impl<'t> Sections<'t> {
    /// Linear in nodes and lines.
    pub(super) fn new(train: &'t TrainCircuit, standing: &[Impaired]) -> Self {
        let nodes = 0..train.roles().len();
        let kinds: Vec<Kind> = nodes.map(|node| kind(train, standing, node)).collect();
        let mut joined = vec![Vec::new(); kinds.len()];
        for flow in flows(train, &kinds) {
            joined[flow.from].push(flow.to);
            joined[flow.to].push(flow.from);
        }
        Self {
            train,
            closed: closed(train, standing),
            kinds,
            joined,
        }
    }

    /// Whether any pipe is joined to a node.
    pub(super) fn carries_air(&self, node: usize) -> bool {
        !self.joined[node].is_empty()
    }

    /// What hangs on the pipe around a node, up to the cocks that are shut and to whatever is no
    /// open pipe. Linear in the pipes around it.
    pub(super) fn around(&self, target: usize, shut: &[usize]) -> DeadSection {
        let mut seen = vec![false; self.kinds.len()];
        seen[target] = true;
        let mut open = vec![target];
        while let Some(node) = open.pop() {
            for next in &self.joined[node] {
                let stops = self.closed[*next] || shut.contains(next);
                if !stops && self.kinds[*next] == Kind::Pipe && !seen[*next] {
                    seen[*next] = true;
                    open.push(*next);
                }
            }
        }
        let of = |kinds: &[PositionKind]| {
            let nodes = (0..seen.len()).filter(|node| seen[*node]);
            let there = nodes.filter(|node| {
                let kind = self.train.kind(*node);
                kind.is_some_and(|kind| kinds.contains(&kind))
            });
            there
                .filter_map(|node| Spot::of(self.train, node))
                .collect()
        };
        DeadSection {
            drains: of(&[PositionKind::DrainCock]),
            proving: of(&[PositionKind::TestPoint, PositionKind::Gauge]),
        }
    }
}
