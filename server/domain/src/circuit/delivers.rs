//! What delivers: the least fixed point of the rules of all nodes over the whole train. It is
//! found by a worklist; each line passes on each medium once, so the time is linear in nodes
//! and lines. A loop of pipe that nothing feeds stays dead, because everything begins dead.

use super::compiled::{CompiledLine, Role};
use super::sets::{Impairments, Media, Modes};
use super::state::TrainState;

/// Which air counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Air {
    /// What sources deliver, and nothing stored.
    FromSources,
    /// Also what reservoirs stored before: enough to apply brakes for a while.
    Stored,
    /// Also what is held back in pipes behind closed cocks, failed parts and check valves:
    /// enough to keep a spring-applied brake released, not enough to apply a brake.
    Retained,
}

/// What is delivered in one state of a train.
pub(crate) trait Delivering {
    /// What a node delivers; for an actuator, whether anything reaches it.
    fn media(&self, node: usize) -> Media;

    /// Whether that is anything.
    fn delivers(&self, node: usize) -> bool {
        !self.media(node).is_empty()
    }

    /// Whether a line is open in these modes. Where a bypass may open it in others, it counts
    /// as open for keeping springs released.
    fn is_open(&self, line: &CompiledLine) -> bool;

    /// Whether a line leads to where air may be let out.
    fn may_be_emptied(&self, line: &CompiledLine) -> bool;

    /// Whether the input of an all-of that a line joins has a delivering line.
    fn is_filled(&self, line: &CompiledLine) -> bool;

    /// The inputs of an all-of that have no delivering line, one bit each; none of another node.
    fn unfilled(&self, node: usize) -> u32;
}

/// What each node delivers in some modes.
pub(crate) struct Delivery<'s> {
    state: &'s TrainState<'s>,
    modes: Modes,
    air: Air,
    media: Vec<Media>,
    /// The inputs that have a delivering line, one bit each.
    filled: Vec<u32>,
}

impl<'s> Delivery<'s> {
    /// Evaluates the train. Linear in nodes and lines.
    pub(crate) fn new(state: &'s TrainState<'s>, modes: Modes, air: Air) -> Self {
        let count = state.train().roles().len();
        let mut delivery = Self {
            state,
            modes,
            air,
            media: vec![Media::NONE; count],
            filled: vec![0; count],
        };
        // Only these make something of nothing; an impaired node may hold air back.
        let begin = state.train().origins().iter().chain(state.impaired());
        let mut open: Vec<(usize, Media)> = begin
            .filter_map(|node| delivery.gain(*node, delivery.of_itself(*node)))
            .collect();
        while let Some((node, media)) = open.pop() {
            for line in state.train().lines_from(node) {
                let carried = media.within(line.media);
                if !carried.is_empty()
                    && delivery.is_open(line)
                    && let Some(new) = delivery.arrive(line, carried)
                {
                    open.push(new);
                }
            }
        }
        delivery
    }

    /// What a node delivers though nothing reaches it.
    fn of_itself(&self, node: usize) -> Media {
        let retained = self.air == Air::Retained;
        let role = self.state.train().roles()[node];
        let impairments = self.state.impairments(node);
        if self.state.is_blocked(node) {
            let vented = impairments.meets(Impairments::VENTS);
            let bypassed = impairments.meets(Impairments::BYPASSED);
            return match role {
                Role::AirApplied | Role::SpringApplied(_) => Media::NONE,
                _ if !retained || vented => Media::NONE,
                // The all-of itself makes nothing; what reaches it passes, see `arrive`.
                Role::AllOf(_) if bypassed && !impairments.meets(Impairments::STOPS) => Media::NONE,
                Role::Source(_) if bypassed => Media::ALL,
                _ => Media::AIR,
            };
        }
        match role {
            Role::Source(modes) if modes.meets(self.modes) => Media::ALL,
            Role::Reservoir if self.air != Air::FromSources => Media::STORED,
            Role::CheckValve if retained => Media::AIR,
            _ => Media::NONE,
        }
    }

    /// Adds to what a node delivers; gives what is new.
    fn gain(&mut self, node: usize, media: Media) -> Option<(usize, Media)> {
        let possible = media.without(self.state.emptied(node, self.air));
        let new = possible.without(self.media[node]);
        self.media[node] = self.media[node].and(new);
        (!new.is_empty()).then_some((node, new))
    }

    /// What a node newly delivers when a line brings something to it.
    fn arrive(&mut self, line: &CompiledLine, carried: Media) -> Option<(usize, Media)> {
        self.filled[line.to] |= line.input;
        let role = self.state.train().roles()[line.to];
        let blocked = self.state.is_blocked(line.to);
        let gained = match role {
            Role::AirApplied | Role::SpringApplied(_) => Media::ALL,
            Role::AllOf(_) if blocked && self.passes_uncommanded(line.to) => Media::ALL,
            _ if blocked => Media::NONE,
            Role::Pass | Role::CheckValve | Role::Reservoir => carried,
            Role::AnyOf => Media::ALL,
            Role::AllOf(required) if self.filled[line.to] == required => Media::ALL,
            Role::AllOf(_) | Role::Source(_) => Media::NONE,
        };
        self.gain(line.to, gained)
    }

    /// Whether a bypassed valve counts as passing: only for keeping springs released.
    fn passes_uncommanded(&self, node: usize) -> bool {
        let impairments = self.state.impairments(node);
        let bypassed = impairments.meets(Impairments::BYPASSED);
        self.air == Air::Retained && bypassed && !impairments.meets(Impairments::STOPS)
    }
}

impl Delivering for Delivery<'_> {
    fn media(&self, node: usize) -> Media {
        self.media[node]
    }

    fn is_open(&self, line: &CompiledLine) -> bool {
        let bypassed = |node| self.state.impairments(node).meets(Impairments::BYPASSED);
        line.modes.meets(self.modes)
            || self.air == Air::Retained && (bypassed(line.from) || bypassed(line.to))
    }

    fn may_be_emptied(&self, line: &CompiledLine) -> bool {
        let emptied = self.state.emptied(line.to, Air::Stored);
        !emptied.within(line.media).is_empty()
    }

    fn is_filled(&self, line: &CompiledLine) -> bool {
        self.filled[line.to] & line.input != 0
    }

    fn unfilled(&self, node: usize) -> u32 {
        match self.state.train().roles()[node] {
            Role::AllOf(required) => required & !self.filled[node],
            _ => 0,
        }
    }
}
