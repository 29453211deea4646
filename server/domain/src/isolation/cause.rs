//! Why an actuator does not do its work: the closed cocks, failed parts and vacant positions
//! on every dead path back to the live side.

use super::CutOutState;
use crate::circuit::End;
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::delivers::Delivering;
use crate::circuit::sets::{Impairments, Media};
use crate::circuit::state::{Impairment, Marked};
use crate::identity::{CarNumber, PositionCode};
use serde::Serialize;
use std::fmt;

/// One thing that keeps an actuator from its work.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Cause {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The position.
    pub position: PositionCode,
    /// What is the matter there.
    pub kind: CauseKind,
}

/// What is the matter at a position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CauseKind {
    /// It is cut out, or has failed.
    CutOut(CutOutState),
    /// No component is fitted there.
    Vacant,
    /// An assembly is fitted there in which something that it needs is missing.
    Incomplete,
    /// No component is fitted there, and the pipe that it ends has lost its air by that.
    OpenEnd,
    /// It is a reservoir whose air is not counted any more.
    NotCounted,
    /// It is an actuator that nothing in the train feeds, though no cut-out is in the way: no
    /// source is there or active, or what was stored is used up.
    NothingFeedsIt,
    /// Its pipe or wire leads to that end of its car and ends there: the car that is coupled has
    /// none that meets it.
    NothingComesInBy(End),
    /// It is a spring-applied actuator that the circuit keeps released.
    AirKeepsItReleased,
}

impl fmt::Display for CauseKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CutOut(state) => state.fmt(f),
            Self::Vacant => f.write_str("no component fitted"),
            Self::Incomplete => f.write_str("incomplete: something it needs is missing inside"),
            Self::OpenEnd => f.write_str("no component fitted: its pipe is open there and empty"),
            Self::NotCounted => f.write_str("its stored air is not counted any more"),
            Self::NothingFeedsIt => f.write_str("nothing feeds it"),
            Self::NothingComesInBy(end) => {
                let end = match end {
                    End::End1 => 1,
                    End::End2 => 2,
                };
                write!(
                    f,
                    "end {end}: no pipe or wire of the coupled car meets this one"
                )
            }
            Self::AirKeepsItReleased => f.write_str("air may keep it released"),
        }
    }
}

impl From<Impairment> for CauseKind {
    fn from(impairment: Impairment) -> Self {
        match impairment {
            Impairment::CutOut(state) => Self::CutOut(state),
            Impairment::Vacant => Self::Vacant,
            Impairment::Incomplete => Self::Incomplete,
            Impairment::Emptied => Self::NotCounted,
        }
    }
}

/// Which lines lead from an impaired node to what it spoils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Trail {
    /// Lines that deliver nothing: what is cut off.
    Dead,
    /// Lines that deliver: what is kept under pressure.
    Fed,
}

/// For each node, the impaired nodes whose trail reaches it, ascending. The time is that of
/// nodes and lines, times the number of impaired nodes.
pub(super) fn trails(state: &Marked<'_>, delivery: &impl Delivering, trail: Trail) -> Reached {
    let impaired = state.impaired().iter();
    let mut by: Vec<(usize, usize)> = impaired
        .flat_map(|origin| {
            let nodes = follow(state, delivery, trail, *origin).into_iter();
            nodes.map(|node| (node, *origin))
        })
        .collect();
    by.sort_unstable();
    Reached { by }
}

/// The impaired nodes that spoil each node that they reach.
#[derive(Debug, Default)]
pub(super) struct Reached {
    /// Each node with one impaired node that reaches it, ascending.
    by: Vec<(usize, usize)>,
}

impl Reached {
    /// The impaired nodes that reach a node, ascending.
    pub(super) fn by(&self, node: usize) -> impl Iterator<Item = usize> {
        let before = self.by.partition_point(|(reached, _)| *reached < node);
        let those = self.by[before..].iter();
        those
            .take_while(move |(reached, _)| *reached == node)
            .map(|(_, origin)| *origin)
    }

    /// Each node with one impaired node that reaches it, ascending.
    pub(super) fn each(&self) -> &[(usize, usize)] {
        &self.by
    }
}

/// The nodes that the trail of one node reaches.
fn follow(
    state: &Marked<'_>,
    delivery: &impl Delivering,
    trail: Trail,
    origin: usize,
) -> Vec<usize> {
    let roles = state.train().roles();
    // Emptying does not heed modes, so a vented node is followed along closed lines too.
    let vents = state.impairments(origin).meets(Impairments::VENTS);
    let mut seen = vec![Media::NONE; roles.len()];
    let mut open = vec![(origin, Media::ALL)];
    let mut reached = Vec::new();
    while let Some((node, media)) = open.pop() {
        for line in state.train().lines_from(node) {
            let lets_out = vents && delivery.may_be_emptied(line);
            if !delivery.is_open(line) && !lets_out {
                continue;
            }
            let entering = match trail {
                Trail::Dead => dead(delivery, roles[line.to], line, media),
                Trail::Fed => fed(delivery, roles[line.to], line, media),
            };
            let new = entering.without(seen[line.to]);
            if new.is_empty() {
                continue;
            }
            if seen[line.to].is_empty() {
                reached.push(line.to);
            }
            seen[line.to] = seen[line.to].and(new);
            open.push((line.to, new));
        }
    }
    reached
}

/// What a node lacks because a line brings it nothing.
fn dead(delivery: &impl Delivering, role: Role, line: &CompiledLine, media: Media) -> Media {
    let lacking = media.within(line.media).without(delivery.media(line.from));
    match role {
        _ if lacking.is_empty() => Media::NONE,
        Role::Source(_) => Media::NONE,
        Role::AllOf(_) if delivery.is_filled(line) => Media::NONE,
        _ if role.is_pipe() => lacking,
        _ => Media::ALL.without(delivery.media(line.to)),
    }
}

/// What a node has because a line brings it something.
fn fed(delivery: &impl Delivering, role: Role, line: &CompiledLine, media: Media) -> Media {
    let brought = media.within(line.media).within(delivery.media(line.from));
    match role {
        _ if brought.is_empty() => Media::NONE,
        _ if role.is_pipe() => brought.within(delivery.media(line.to)),
        _ => delivery.media(line.to),
    }
}

/// What is the matter at one node, each impairment a cause of its own. What an open end has emptied
/// names that.
pub(super) fn causes_at(state: &Marked<'_>, node: usize) -> Vec<Cause> {
    let impairments = state.impairments(node).each();
    let told = impairments.filter_map(|impairment| match state.open_end_of(node) {
        Some(end) if impairment == Impairment::Emptied => cause(state, end, CauseKind::OpenEnd),
        _ => cause(state, node, impairment.into()),
    });
    told.collect()
}

/// A cause at a node; none at a port, which nothing can befall.
pub(super) fn cause(state: &Marked<'_>, node: usize, kind: CauseKind) -> Option<Cause> {
    let (car, position) = state.train().position_of(node)?;
    Some(Cause {
        car,
        car_number: state.train().cars()[car].number.clone(),
        position: position.clone(),
        kind,
    })
}
