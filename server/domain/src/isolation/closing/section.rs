//! The sections of pipe that a position stands in when cocks around it are closed, and where the
//! air of each is let out and proved to be gone.
//!
//! A hose stands in one section. Whatever does not pass freely, such as a valve, a cylinder or a
//! gauge with two hands, has one at each inlet and one at its outlet, and no pressure in one says
//! nothing of another. So a section goes no further than air surely gets by itself: along open
//! cocks, hoses, filters, dump valves and reservoirs, medium by medium. Where it meets the outlet
//! of a valve or of a shut cock it goes on into the other pipes that leave there.

use super::pipes::{closed, is_cock, is_plain_pipe};
use super::{PipeAir, Spot};
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Air;
use crate::circuit::sets::{Impairments, Media};
use crate::circuit::state::{Impaired, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::circuit::{Line, Medium, Place};
use crate::configuration::car_type::PositionKind;
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;

/// Pipe at a position that is dead when the cocks of a set are closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DeadSection {
    /// At which side of the position.
    pub side: Side,
    /// What it carries.
    pub medium: Medium,
    /// Whether a cock of the set empties all of it.
    pub air: PipeAir,
    /// Drain cocks, by which its air is let out.
    pub drains: Vec<Spot>,
    /// Test points and gauges, at each of which it is proved to be without pressure.
    pub proving: Vec<Spot>,
}

/// A side of a position, where pipe is joined to it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// It is pipe itself, and has no sides.
    Whole,
    /// The input of that name.
    Inlet(String),
    /// What leaves it.
    Outlet,
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => f.write_str("the pipe"),
            Self::Inlet(name) if name == "in" => f.write_str("the inlet"),
            Self::Inlet(name) => write!(f, "the inlet “{name}”"),
            Self::Outlet => f.write_str("the outlet"),
        }
    }
}

/// What shows a pressure or lets it out, and is never a way to another pipe: a gauge with two
/// hands stands on two pipes that are not joined.
const INSTRUMENTS: [PositionKind; 7] = [
    PositionKind::Gauge,
    PositionKind::TestPoint,
    PositionKind::PressureSwitch,
    PositionKind::PressureSensor,
    PositionKind::LoadSensor,
    PositionKind::DrainCock,
    PositionKind::SafetyValve,
];

/// A line, seen from one of its ends.
#[derive(Debug, Clone, Copy)]
struct Joint {
    to: usize,
    media: Media,
    way: Way,
}

/// How air flows along a line, seen from one of its ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Into,
    OutOf,
    /// There is a line the other way too.
    Both,
}

/// The pipes of a train, to walk along them both ways.
pub(super) struct Sections<'t> {
    train: &'t TrainCircuit,
    closed: Vec<bool>,
    /// Whether something else than being closed is the matter: it may be blocked, or not there.
    unsound: Vec<bool>,
    joined: Vec<Vec<Joint>>,
}

impl<'t> Sections<'t> {
    /// Near linear in nodes and lines.
    pub(super) fn new(train: &'t TrainCircuit, standing: &[Impaired]) -> Self {
        let count = train.roles().len();
        let closed = closed(train, standing);
        let mut unsound = vec![false; count];
        for one in standing {
            if let Some(node) = train.node(one.car, &one.position) {
                unsound[node] |= !closed[node];
            }
        }
        let all = (0..count).flat_map(|node| train.lines_from(node));
        let air: Vec<_> = all
            .filter(|line| !line.media.within(Media::AIR).is_empty())
            .collect();
        let ends: BTreeSet<(usize, usize)> = air.iter().map(|line| (line.from, line.to)).collect();
        let mut joined = vec![Vec::new(); count];
        for line in air {
            let media = line.media.within(Media::AIR);
            let both = ends.contains(&(line.to, line.from));
            let way = |way| if both { Way::Both } else { way };
            joined[line.from].push(Joint {
                to: line.to,
                media,
                way: way(Way::OutOf),
            });
            joined[line.to].push(Joint {
                to: line.from,
                media,
                way: way(Way::Into),
            });
        }
        Self {
            train,
            closed,
            unsound,
            joined,
        }
    }

    /// The train.
    pub(super) fn train(&self) -> &'t TrainCircuit {
        self.train
    }

    /// Whether any pipe is joined to a node.
    pub(super) fn carries_air(&self, node: usize) -> bool {
        !self.joined[node].is_empty()
    }

    /// The sections around a node with cocks shut, each once: inlets as the circuit names them,
    /// then the outlet. Linear in the pipes around it, for each side and medium.
    pub(super) fn around(
        &self,
        state: &TrainState<'_>,
        target: usize,
        shut: &[usize],
    ) -> Vec<DeadSection> {
        let mut walks: Vec<(Side, Medium, Walk<'_, 't>)> = Vec::new();
        for (side, medium, starts) in self.sides(target) {
            let known = |walk: &Walk<'_, 't>| {
                let mut starts = starts.iter();
                starts.all(|at| {
                    self.passes(at.to, shut)
                        && !walk.seen[at.to].within(Media::of(medium)).is_empty()
                })
            };
            if walks.iter().any(|(_, _, walk)| known(walk)) {
                continue;
            }
            let mut walk = Walk::new(self, target, shut);
            for start in &starts {
                walk.enter(*start);
            }
            walk.go();
            let same = |(_, _, other): &(Side, Medium, Walk<'_, 't>)| {
                side == Side::Whole && walk.nodes().eq(other.nodes())
            };
            if !walks.iter().any(same) {
                walks.push((side, medium, walk));
            }
        }
        let found = walks.into_iter();
        found
            .map(|(side, medium, walk)| DeadSection {
                side,
                medium,
                air: walk.air(state),
                drains: walk.spots(&[PositionKind::DrainCock]),
                proving: walk.spots(&[PositionKind::TestPoint, PositionKind::Gauge]),
            })
            .collect()
    }

    /// The sides of a node, with where pipe begins at each. Lines that leave it with one medium
    /// leave by one outlet, but for those along which air also comes back: there pipe is joined
    /// to an inlet.
    fn sides(&self, target: usize) -> Vec<(Side, Medium, Vec<Joint>)> {
        let Some((car, position)) = self.train.position_of(target) else {
            return Vec::new();
        };
        let here = Place::Position(position.clone());
        let circuit = &self.train.cars()[car].circuit.car_type().circuit;
        let air = |line: &&Line| !Media::of(line.medium).within(Media::AIR).is_empty();
        let lines: Vec<&Line> = circuit.lines.iter().filter(air).collect();
        let joint = |place: &Place, medium, way| {
            let to = self.train.node_at(car, place)?;
            let media = Media::of(medium);
            Some(Joint { to, media, way })
        };
        let into = lines.iter().filter(|line| line.to == here);
        let out_of = lines.iter().filter(|line| line.from == here);
        let mut sides: Vec<(Side, Medium, Vec<Joint>)> = Vec::new();
        if self.passes(target, &[]) {
            let media: BTreeSet<Medium> = into.chain(out_of).map(|line| line.medium).collect();
            let whole = media.into_iter().filter_map(|medium| {
                let start = joint(&here, medium, Way::Both)?;
                Some((Side::Whole, medium, vec![start]))
            });
            return whole.collect();
        }
        let back = |line: &Line| {
            let mut others = lines.iter();
            others.find(|other| other.from == line.to && other.to == line.from)
        };
        for line in into {
            let way = back(line).map_or(Way::Into, |_| Way::Both);
            let start = joint(&line.from, line.medium, way).into_iter();
            let side = Side::Inlet(line.input.clone());
            sides.push((side, line.medium, start.collect()));
        }
        for line in out_of {
            let start = joint(&line.to, line.medium, Way::OutOf);
            let back = back(line);
            if back.is_some_and(|back| back.medium == line.medium) {
                continue;
            }
            let mut outlets = sides.iter_mut().filter(|_| back.is_none());
            match outlets.find(|(side, medium, _)| *side == Side::Outlet && *medium == line.medium)
            {
                Some((_, _, starts)) => starts.extend(start),
                None => sides.push((Side::Outlet, line.medium, start.into_iter().collect())),
            }
        }
        sides
    }

    /// Whether air passes a node both ways at any pressure.
    fn passes(&self, node: usize, shut: &[usize]) -> bool {
        let free = match self.train.roles()[node] {
            Role::Reservoir => true,
            _ => is_plain_pipe(self.train, node) || is_cock(self.train, node),
        };
        free && !self.unsound[node] && !self.closed[node] && !shut.contains(&node)
    }

    fn is_instrument(&self, node: usize) -> bool {
        let kind = self.train.kind(node);
        kind.is_some_and(|kind| INSTRUMENTS.contains(&kind))
    }
}

/// A walk through one section.
struct Walk<'s, 't> {
    sections: &'s Sections<'t>,
    target: usize,
    shut: &'s [usize],
    /// What of the section is at each node.
    seen: Vec<Media>,
    /// What of the section is at the outlet of each node that does not pass freely.
    at_outlet: Vec<Media>,
    open: Vec<(usize, Media)>,
}

impl<'s, 't> Walk<'s, 't> {
    fn new(sections: &'s Sections<'t>, target: usize, shut: &'s [usize]) -> Self {
        let none = vec![Media::NONE; sections.joined.len()];
        Self {
            sections,
            target,
            shut,
            seen: none.clone(),
            at_outlet: none,
            open: Vec::new(),
        }
    }

    fn go(&mut self) {
        while let Some((node, media)) = self.open.pop() {
            for joint in &self.sections.joined[node] {
                let media = media.within(joint.media);
                self.enter(Joint { media, ..*joint });
            }
        }
    }

    fn enter(&mut self, joint: Joint) {
        let (sections, node) = (self.sections, joint.to);
        if sections.passes(node, self.shut) {
            let new = joint.media.without(self.seen[node]);
            if !new.is_empty() {
                self.seen[node] = self.seen[node].and(new);
                self.open.push((node, new));
            }
            return;
        }
        if node == self.target {
            return;
        }
        self.seen[node] = self.seen[node].and(joint.media);
        let new = joint.media.without(self.at_outlet[node]);
        let leaves = joint.way == Way::Into && !sections.is_instrument(node);
        if leaves && !sections.unsound[node] && !new.is_empty() {
            self.at_outlet[node] = self.at_outlet[node].and(new);
            let others = sections.joined[node].iter();
            for other in others.filter(|other| other.way == Way::OutOf) {
                let media = new.within(other.media);
                self.enter(Joint { media, ..*other });
            }
        }
    }

    /// The nodes that it reached.
    fn nodes(&self) -> impl Iterator<Item = usize> {
        (0..self.seen.len()).filter(|node| !self.seen[*node].is_empty())
    }

    /// Whether cocks empty all of it.
    fn air(&self, state: &TrainState<'_>) -> PipeAir {
        let pipe: Vec<usize> = self
            .nodes()
            .filter(|node| self.sections.passes(*node, self.shut))
            .collect();
        let emptied = |node: &usize| {
            let let_out = state.emptied(*node, Air::Retained);
            self.seen[*node].without(let_out).is_empty()
        };
        let vents = |node: usize| {
            let open = state.impairments(node).meets(Impairments::VENTS);
            open && !self.at_outlet[node].is_empty()
        };
        if pipe.iter().all(emptied) && (!pipe.is_empty() || self.nodes().any(vents)) {
            PipeAir::LetOut
        } else {
            PipeAir::Stays
        }
    }

    /// What hangs on it of some kinds, without what is not fitted or does not work.
    fn spots(&self, kinds: &[PositionKind]) -> Vec<Spot> {
        let train = self.sections.train;
        let there = self.nodes().filter(|node| {
            let kind = train.kind(*node);
            !self.sections.unsound[*node] && kind.is_some_and(|kind| kinds.contains(&kind))
        });
        there.filter_map(|node| Spot::of(train, node)).collect()
    }
}
