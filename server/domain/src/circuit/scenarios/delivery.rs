//! What delivers in each scenario: the worklist of [`crate::circuit::delivers`], with the
//! scenarios in which something is new in place of a yes.

use super::graph::SlotLine;
use super::lanes::Lanes;
use super::{Own, Scenarios};
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Air;
use crate::circuit::sets::{Media, Modes};
use std::collections::VecDeque;

/// What each slot of a train delivers in some modes.
pub(crate) struct LaneDelivery<'s> {
    scenarios: &'s Scenarios<'s>,
    modes: Modes,
    air: Air,
    delivered: Vec<Lanes>,
    /// What each slot delivers and has not yet passed on.
    pending: Vec<Lanes>,
    open: VecDeque<usize>,
    filled: Vec<Lanes>,
}

impl<'s> LaneDelivery<'s> {
    pub(super) fn new(scenarios: &'s Scenarios<'s>, modes: Modes, air: Air) -> Self {
        let graph = scenarios.graph;
        let mut delivery = Self {
            scenarios,
            modes,
            air,
            delivered: vec![Lanes::NONE; graph.slot_count()],
            pending: vec![Lanes::NONE; graph.slot_count()],
            open: VecDeque::new(),
            filled: vec![Lanes::NONE; graph.input_count()],
        };
        for node in 0..graph.roles.len() {
            delivery.begin(node);
        }
        while let Some(slot) = delivery.open.pop_front() {
            let new = std::mem::replace(&mut delivery.pending[slot], Lanes::NONE);
            for line in graph.lines_from(slot) {
                let carried = delivery.open_lanes(line).within(new);
                if !carried.is_empty() {
                    delivery.arrive(line, carried);
                }
            }
        }
        delivery
    }

    /// Where a node delivers anything; for an actuator, where anything reaches it.
    pub(crate) fn of(&self, node: usize) -> Lanes {
        let slots = self.scenarios.graph.slots(node);
        slots.fold(Lanes::NONE, |all, slot| all.and(self.delivered[slot]))
    }

    /// Where a node delivers air.
    pub(crate) fn air_of(&self, node: usize) -> Lanes {
        let graph = self.scenarios.graph;
        let slots = graph.slots(node);
        slots
            .filter(|slot| !graph.media(*slot).within(Media::AIR).is_empty())
            .fold(Lanes::NONE, |all, slot| all.and(self.delivered[slot]))
    }

    pub(super) fn slot(&self, slot: usize) -> Lanes {
        self.delivered[slot]
    }

    /// Where a line is open in these modes.
    fn open_lanes(&self, line: &SlotLine) -> Lanes {
        if line.modes.meets(self.modes) {
            return Lanes::ALL;
        }
        let bypassed = |node| self.scenarios.own(node).bypassed;
        match self.air {
            Air::Retained => bypassed(line.from_node).and(bypassed(line.to_node)),
            Air::FromSources | Air::Stored => Lanes::NONE,
        }
    }

    /// What a node delivers though nothing reaches it.
    fn begin(&mut self, node: usize) {
        let role = self.scenarios.graph.roles[node];
        if role.is_actuator() {
            return;
        }
        let retained = self.air == Air::Retained;
        let sound = match role {
            Role::Source(modes) if modes.meets(self.modes) => Media::ALL,
            Role::Reservoir if self.air != Air::FromSources => Media::STORED,
            Role::CheckValve if retained => Media::AIR,
            _ => Media::NONE,
        };
        let blocked = self.scenarios.blocked(node);
        if !sound.is_empty() {
            self.begin_with(node, sound, Lanes::ALL.without(blocked));
        }
        if retained && !blocked.is_empty() {
            let own = *self.scenarios.own(node);
            self.hold_back(node, role, &own, blocked.without(own.vents));
        }
    }

    /// What stays in a node that nothing passes.
    fn hold_back(&mut self, node: usize, role: Role, own: &Own, holding: Lanes) {
        match role {
            Role::AllOf(_) => {
                let commanded = own.bypassed.without(own.stops);
                self.begin_with(node, Media::AIR, holding.without(commanded));
            }
            Role::Source(_) => {
                self.begin_with(node, Media::ALL, holding.within(own.bypassed));
                self.begin_with(node, Media::AIR, holding.without(own.bypassed));
            }
            _ => self.begin_with(node, Media::AIR, holding),
        }
    }

    fn begin_with(&mut self, node: usize, media: Media, lanes: Lanes) {
        let graph = self.scenarios.graph;
        for slot in graph.slots(node) {
            if !graph.media(slot).within(media).is_empty() {
                self.gain(slot, lanes);
            }
        }
    }

    /// Adds to where a slot delivers.
    fn gain(&mut self, slot: usize, lanes: Lanes) {
        let possible = lanes.without(self.emptied(slot));
        let new = possible.without(self.delivered[slot]);
        if new.is_empty() {
            return;
        }
        self.delivered[slot] = self.delivered[slot].and(new);
        if self.pending[slot].is_empty() {
            self.open.push_back(slot);
        }
        self.pending[slot] = self.pending[slot].and(new);
    }

    fn emptied(&self, slot: usize) -> Lanes {
        self.scenarios.emptied(slot, self.air)
    }

    /// What a node newly delivers when a line brings something to it.
    fn arrive(&mut self, line: &SlotLine, carried: Lanes) {
        let node = line.to_node;
        let passes = carried.without(self.scenarios.blocked(node));
        match self.scenarios.graph.roles[node] {
            Role::AirApplied | Role::SpringApplied(_) => self.gain_all(node, carried),
            Role::Pass | Role::CheckValve | Role::Reservoir => self.gain(line.to, passes),
            Role::AnyOf => self.gain_all(node, passes),
            Role::AllOf(_) => self.fill(line, carried),
            Role::Source(_) => {}
        }
    }

    fn fill(&mut self, line: &SlotLine, carried: Lanes) {
        let node = line.to_node;
        self.filled[line.input] = self.filled[line.input].and(carried);
        let inputs = &self.filled[self.scenarios.graph.inputs(node)];
        let filled = inputs.iter().fold(Lanes::ALL, |all, one| all.within(*one));
        let own = self.scenarios.own(node);
        let uncommanded = match self.air {
            Air::Retained => carried.within(own.bypassed.without(own.stops)),
            Air::FromSources | Air::Stored => Lanes::NONE,
        };
        let gained = filled
            .without(self.scenarios.blocked(node))
            .and(uncommanded);
        self.gain_all(node, gained);
    }

    /// Each slot of a node that is no pipe.
    fn gain_all(&mut self, node: usize, lanes: Lanes) {
        for slot in self.scenarios.graph.slots(node) {
            self.gain(slot, lanes);
        }
    }
}
