//! Pipes that lose their air where a hose or a drain cock in them leaks.
//!
//! A leak counts as more than is fed: the pipe delivers nothing from there as far as air gets by
//! itself, along open cocks, hoses, filters, dump valves and reservoirs. It ends at a valve. What
//! flows away through a check valve or a reducing valve that feeds the pipe is not computed; the
//! side before it counts as full.
//!
//! A pipe that carries a demand too is told apart: a brake pipe that loses its air applies brakes.

use super::closing::{is_cock, is_plain_pipe};
use super::losses::Fault;
use crate::circuit::Medium;
use crate::circuit::compiled::Role;
use crate::circuit::sets::{Impairments, Media};
use crate::circuit::state::Marked;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;

/// A pipe that loses its air.
#[derive(Debug)]
pub(super) struct Leak {
    /// The hoses and drain cocks in it, in the order of the train.
    pub(super) at: Vec<usize>,
    /// What it carries, where that is one thing.
    pub(super) medium: Option<Medium>,
    /// Everything in it.
    pub(super) pipe: Vec<usize>,
}

impl Leak {
    /// What is then the matter: all of it is open to the surrounding air.
    pub(super) fn faults(&self) -> Vec<Fault> {
        let open = |node: &usize| (*node, Impairments::VACANT);
        self.pipe.iter().map(open).collect()
    }
}

/// Every pipe of a train in which a hose or a drain cock can leak, each once. Linear in nodes and
/// lines, but for looking up what is a cock.
pub(super) fn leaks(marked: &Marked<'_>) -> Vec<Leak> {
    let train = marked.train();
    let pipes = Pipes::new(marked);
    let leak = |pipe: Vec<usize>| {
        let at = pipe.iter().copied();
        Leak {
            at: at.filter(|node| can_leak(train, *node)).collect(),
            medium: pipes.medium(&pipe),
            pipe,
        }
    };
    let sections = sections(marked, &pipes).into_iter();
    let sections = sections.filter(|pipe| !pipes.is_demanded(pipe));
    sections.map(leak).collect()
}

/// A pipe that both charges brakes and commands them.
#[derive(Debug)]
pub(super) struct BrakePipe {
    /// The hoses, drain cocks and emergency valves by which it can lose its air, in the order of the
    /// train.
    pub(super) at: Vec<usize>,
    /// Everything in it.
    pub(super) pipe: Vec<usize>,
}

/// Every brake pipe of a train, as far as air gets in it, each once. Linear in nodes and lines, but
/// for looking up what is a cock.
pub(super) fn brake_pipes(marked: &Marked<'_>) -> Vec<BrakePipe> {
    let train = marked.train();
    let pipes = Pipes::new(marked);
    let is_valve = |node: &usize| {
        let kind = train.kind(*node) == Some(PositionKind::EmergencyValve);
        kind && train.roles()[*node] == Role::Pass && !marked.is_blocked(*node)
    };
    let brake_pipe = |pipe: Vec<usize>| {
        let leaking = pipe.iter().copied().filter(|node| can_leak(train, *node));
        let beside = pipe.iter().flat_map(|node| &pipes.joined[*node]);
        let mut at: Vec<usize> = leaking.chain(beside.copied().filter(is_valve)).collect();
        at.sort_unstable();
        at.dedup();
        BrakePipe { at, pipe }
    };
    let sections = sections(marked, &pipes).into_iter();
    let sections = sections.filter(|pipe| pipes.is_demanded(pipe));
    sections.map(brake_pipe).collect()
}

/// Every pipe in which a hose or a drain cock can leak, each once.
fn sections(marked: &Marked<'_>, pipes: &Pipes) -> Vec<Vec<usize>> {
    let mut known = vec![false; pipes.joined.len()];
    let mut sections = Vec::new();
    for node in 0..pipes.joined.len() {
        if known[node] || !can_leak(marked.train(), node) || marked.is_blocked(node) {
            continue;
        }
        let pipe = pipes.around(node);
        for node in &pipe {
            known[*node] = true;
        }
        sections.push(pipe);
    }
    sections
}

fn can_leak(train: &TrainCircuit, node: usize) -> bool {
    let leaking = [PositionKind::Hose, PositionKind::DrainCock];
    let kind = train.kind(node);
    train.roles()[node] == Role::Pass && kind.is_some_and(|kind| leaking.contains(&kind))
}

/// The pipes of a train, to walk along them both ways.
pub(super) struct Pipes {
    /// The nodes to which air gets from each.
    joined: Vec<Vec<usize>>,
    /// Whether air passes a node both ways at any pressure.
    passes: Vec<bool>,
    /// Whether it carries a demand.
    demanded: Vec<bool>,
    /// The air that its lines within a car carry.
    air: Vec<Media>,
}

impl Pipes {
    pub(super) fn new(marked: &Marked<'_>) -> Self {
        let train = marked.train();
        let count = train.roles().len();
        let passes = |node: usize| {
            let free = train.roles()[node] == Role::Reservoir
                || is_plain_pipe(train, node)
                || can_leak(train, node)
                || is_cock(train, node);
            free && !marked.is_blocked(node)
        };
        let mut pipes = Self {
            joined: vec![Vec::new(); count],
            passes: (0..count).map(passes).collect(),
            demanded: vec![false; count],
            air: vec![Media::NONE; count],
        };
        for line in (0..count).flat_map(|node| train.lines_from(node)) {
            if !line.media.within(Media::AIR).is_empty() {
                pipes.joined[line.from].push(line.to);
                pipes.joined[line.to].push(line.from);
            }
            if line.media != Media::ALL {
                for node in [line.from, line.to] {
                    pipes.air[node] = pipes.air[node].and(line.media.within(Media::AIR));
                }
            }
            // A coupling carries whatever the pipes at its sides do.
            if line.media != Media::ALL && !line.media.without(Media::AIR).is_empty() {
                pipes.demanded[line.from] = true;
                pipes.demanded[line.to] = true;
            }
        }
        pipes
    }

    /// Whether a pipe carries a demand too.
    fn is_demanded(&self, pipe: &[usize]) -> bool {
        pipe.iter().any(|node| self.demanded[*node])
    }

    /// What a pipe carries, where that is one thing.
    fn medium(&self, pipe: &[usize]) -> Option<Medium> {
        let all = pipe.iter().map(|node| self.air[*node]);
        let mut media = all.fold(Media::NONE, Media::and).each();
        media.next().filter(|_| media.next().is_none())
    }

    /// What loses its air by an end that stands open: the pipe that it hangs on or, of a valve, that
    /// alone.
    pub(super) fn emptied_by(&self, end: usize) -> Vec<usize> {
        let beside = self.joined[end].iter();
        let emptied = beside.flat_map(|node| {
            if self.passes[*node] {
                self.around(*node)
            } else {
                vec![*node]
            }
        });
        emptied.collect()
    }

    /// What air reaches from a node by itself, ascending.
    fn around(&self, node: usize) -> Vec<usize> {
        let mut seen = vec![false; self.joined.len()];
        seen[node] = true;
        let mut open = vec![node];
        while let Some(node) = open.pop() {
            for next in &self.joined[node] {
                if self.passes[*next] && !seen[*next] {
                    seen[*next] = true;
                    open.push(*next);
                }
            }
        }
        (0..seen.len()).filter(|node| seen[*node]).collect()
    }
}
