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
    let carried = Carried::new(train);
    let leak = |pipe: Vec<usize>| {
        let at = pipe.iter().copied();
        Leak {
            at: at.filter(|node| can_leak(train, *node)).collect(),
            medium: carried.medium(&pipe),
            pipe,
        }
    };
    let sections = sections(marked, &pipes).into_iter();
    let sections = sections.filter(|pipe| !carried.is_demand(pipe));
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
    let carried = Carried::new(train);
    let is_valve = |node: &usize| {
        let kind = train.kind(*node) == Some(PositionKind::EmergencyValve);
        kind && train.roles()[*node] == Role::Pass && !marked.is_blocked(*node)
    };
    let brake_pipe = |pipe: Vec<usize>| {
        let leaking = pipe.iter().copied().filter(|node| can_leak(train, *node));
        let beside = pipe.iter().flat_map(|node| pipes.joined(*node));
        let mut at: Vec<usize> = leaking.chain(beside.copied().filter(is_valve)).collect();
        at.sort_unstable();
        at.dedup();
        BrakePipe { at, pipe }
    };
    let sections = sections(marked, &pipes).into_iter();
    let sections = sections.filter(|pipe| carried.is_demand(pipe));
    sections.map(brake_pipe).collect()
}

/// Every pipe in which a hose or a drain cock can leak, each once.
fn sections(marked: &Marked<'_>, pipes: &Pipes<'_>) -> Vec<Vec<usize>> {
    let count = marked.train().roles().len();
    let mut known = vec![false; count];
    let mut sections = Vec::new();
    for node in 0..count {
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
pub(super) struct Pipes<'m> {
    marked: &'m Marked<'m>,
    /// The nodes to which air gets from each, one after the other.
    joined: Vec<usize>,
    /// Where those of each node begin among them; at the end, where the last ones end.
    begins: Vec<usize>,
}

impl<'m> Pipes<'m> {
    /// Linear in nodes and lines.
    pub(super) fn new(marked: &'m Marked<'m>) -> Self {
        let train = marked.train();
        let count = train.roles().len();
        let with_air = || {
            let lines = (0..count).flat_map(|node| train.lines_from(node));
            lines.filter(|line| !line.media.within(Media::AIR).is_empty())
        };
        let mut begins = vec![0; count + 1];
        for line in with_air() {
            begins[line.from + 1] += 1;
            begins[line.to + 1] += 1;
        }
        for node in 0..count {
            begins[node + 1] += begins[node];
        }
        let mut joined = vec![0; begins[count]];
        let mut next = begins.clone();
        for line in with_air() {
            for (from, to) in [(line.from, line.to), (line.to, line.from)] {
                joined[next[from]] = to;
                next[from] += 1;
            }
        }
        Self {
            marked,
            joined,
            begins,
        }
    }

    /// The nodes to which air gets from one.
    fn joined(&self, node: usize) -> &[usize] {
        &self.joined[self.begins[node]..self.begins[node + 1]]
    }

    /// Whether air passes a node both ways at any pressure.
    fn passes(&self, node: usize) -> bool {
        let train = self.marked.train();
        let free = train.roles()[node] == Role::Reservoir
            || is_plain_pipe(train, node)
            || can_leak(train, node)
            || is_cock(train, node);
        free && !self.marked.is_blocked(node)
    }

    /// What loses its air by an end that stands open: the pipe that it hangs on or, of a valve, that
    /// alone.
    pub(super) fn emptied_by(&self, end: usize) -> Vec<usize> {
        let beside = self.joined(end).iter();
        let emptied = beside.flat_map(|node| {
            if self.passes(*node) {
                self.around(*node)
            } else {
                vec![*node]
            }
        });
        emptied.collect()
    }

    /// What air reaches from a node by itself, ascending.
    fn around(&self, node: usize) -> Vec<usize> {
        let mut seen = vec![false; self.begins.len()];
        seen[node] = true;
        let mut open = vec![node];
        let mut reached = vec![node];
        while let Some(node) = open.pop() {
            for next in self.joined(node) {
                if !seen[*next] && self.passes(*next) {
                    seen[*next] = true;
                    open.push(*next);
                    reached.push(*next);
                }
            }
        }
        reached.sort_unstable();
        reached
    }
}

/// What the pipes of a train carry.
struct Carried {
    /// Whether it is a demand too, of each node.
    demand: Vec<bool>,
    /// The air of the lines within a car, of each node.
    air: Vec<Media>,
}

impl Carried {
    /// Linear in nodes and lines.
    fn new(train: &TrainCircuit) -> Self {
        let count = train.roles().len();
        let mut carried = Self {
            demand: vec![false; count],
            air: vec![Media::NONE; count],
        };
        // A coupling carries whatever the pipes at its sides do.
        let lines = (0..count).flat_map(|node| train.lines_from(node));
        for line in lines.filter(|line| line.media != Media::ALL) {
            let demands = !line.media.without(Media::AIR).is_empty();
            for node in [line.from, line.to] {
                carried.air[node] = carried.air[node].and(line.media.within(Media::AIR));
                carried.demand[node] |= demands;
            }
        }
        carried
    }

    /// Whether a pipe carries a demand too.
    fn is_demand(&self, pipe: &[usize]) -> bool {
        pipe.iter().any(|node| self.demand[*node])
    }

    /// What a pipe carries, where that is one thing.
    fn medium(&self, pipe: &[usize]) -> Option<Medium> {
        let all = pipe.iter().map(|node| self.air[*node]);
        let mut media = all.fold(Media::NONE, Media::and).each();
        media.next().filter(|_| media.next().is_none())
    }
}
