//! What delivers in each scenario: the worklist of [`crate::circuit::delivers`], with the
//! scenarios in which something is new in place of a yes.

use super::graph::{Arrival, SlotLine};
use super::open::Open;
use super::{Asked, Lanes, MANY, Own, Scenarios};
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::delivers::Delivering;
use crate::circuit::sets::{Media, Modes};

/// What each slot of a train delivers.
pub(crate) struct LaneDelivery<'s, const WORDS: usize = MANY> {
    scenarios: &'s Scenarios<'s, WORDS>,
    asked: Asked<WORDS>,
    /// Where a bypass may open a line that is closed otherwise.
    bypassed: Lanes<WORDS>,
    delivered: Vec<Lanes<WORDS>>,
    /// Where each slot does not deliver yet and may: nothing lets it out, and once all have begun,
    /// nothing keeps it from passing.
    room: Vec<Lanes<WORDS>>,
    /// What each slot delivers and has not yet passed on.
    pending: Vec<Lanes<WORDS>>,
    open: Open,
    filled: Vec<Lanes<WORDS>>,
}

impl<'s, const WORDS: usize> LaneDelivery<'s, WORDS> {
    pub(super) fn new(scenarios: &'s Scenarios<'s, WORDS>, asked: Asked<WORDS>) -> Self {
        let graph = scenarios.train.slots();
        let slots = graph.slot_count();
        let mut delivery = Self {
            bypassed: asked.retained().within(scenarios.bypassed),
            room: scenarios.room(&asked),
            scenarios,
            asked,
            delivered: vec![Lanes::NONE; slots],
            pending: vec![Lanes::NONE; slots],
            open: Open::new(slots),
            filled: vec![Lanes::NONE; graph.input_count()],
        };
        // Only these make something of nothing; an impaired node may hold air back.
        for node in scenarios.train.origins().iter().chain(&scenarios.impaired) {
            delivery.begin(*node);
        }
        for node in &scenarios.impaired {
            delivery.block(*node);
        }
        while let Some(slot) = delivery.open.take() {
            let new = std::mem::replace(&mut delivery.pending[slot], Lanes::NONE);
            for line in graph.lines_from(slot) {
                let carried = delivery.opens(line.modes, (line.from_node, line.to_node));
                let carried = carried.within(new);
                match line.arrival {
                    Arrival::Slot => delivery.gain(line.to, carried),
                    Arrival::Node => delivery.gain_all(line.to_node, carried),
                    Arrival::Input => delivery.fill(line, carried),
                    Arrival::Nothing => {}
                }
            }
        }
        delivery
    }

    /// Leaves no room where nothing passes a pipe or an any-of. An all-of may pass uncommanded,
    /// and at an actuator it counts what reaches it.
    fn block(&mut self, node: usize) {
        let role = self.scenarios.train.roles()[node];
        if role.is_pipe() || role == Role::AnyOf {
            let blocked = self.scenarios.blocked(node);
            for slot in self.scenarios.train.slots().slots(node) {
                self.room[slot] = self.room[slot].without(blocked);
            }
        }
    }

    /// What was asked.
    pub(super) fn asked(&self) -> &Asked<WORDS> {
        &self.asked
    }

    /// What one scenario delivers.
    pub(crate) fn one(&self, lane: usize) -> OneLane<'_, WORDS> {
        OneLane {
            delivery: self,
            lane: Lanes::one(lane),
        }
    }

    /// Where a node delivers anything; for an actuator, where anything reaches it.
    pub(crate) fn of(&self, node: usize) -> Lanes<WORDS> {
        let slots = self.scenarios.train.slots().slots(node);
        slots.fold(Lanes::NONE, |all, slot| all.and(self.delivered[slot]))
    }

    /// Where a node delivers air.
    pub(crate) fn air_of(&self, node: usize) -> Lanes<WORDS> {
        let graph = self.scenarios.train.slots();
        let slots = graph.slots(node);
        slots
            .filter(|slot| !graph.media(*slot).within(Media::AIR).is_empty())
            .fold(Lanes::NONE, |all, slot| all.and(self.delivered[slot]))
    }

    pub(super) fn slot(&self, slot: usize) -> Lanes<WORDS> {
        self.delivered[slot]
    }

    /// Where a line is open.
    fn opens(&self, modes: Modes, (from, to): (usize, usize)) -> Lanes<WORDS> {
        let open = self.asked.in_any_of(modes);
        if self.bypassed.without(open).is_empty() {
            return open;
        }
        let bypassed = |node| self.scenarios.own(node).bypassed;
        open.and(self.bypassed.within(bypassed(from).and(bypassed(to))))
    }

    /// What a node delivers though nothing reaches it.
    fn begin(&mut self, node: usize) {
        let role = self.scenarios.train.roles()[node];
        if role.is_actuator() {
            return;
        }
        let own = *self.scenarios.own(node);
        let (media, sound) = match role {
            Role::Source(modes) => {
                let commanded = self.asked.in_any_of(modes).without(own.at_rest);
                (Media::ALL, commanded)
            }
            Role::Reservoir => (Media::STORED, self.asked.stored()),
            Role::CheckValve => (Media::AIR, self.asked.retained()),
            _ => (Media::NONE, Lanes::NONE),
        };
        self.begin_with(node, media, sound.without(own.blocked));
        let holding = own.blocked.without(own.vents);
        self.hold_back(node, role, &own, holding.within(self.asked.retained()));
    }

    /// What stays in a node that nothing passes.
    fn hold_back(&mut self, node: usize, role: Role, own: &Own<WORDS>, holding: Lanes<WORDS>) {
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

    fn begin_with(&mut self, node: usize, media: Media, lanes: Lanes<WORDS>) {
        if lanes.is_empty() {
            return;
        }
        let graph = self.scenarios.train.slots();
        for slot in graph.slots(node) {
            if !graph.media(slot).within(media).is_empty() {
                self.gain(slot, lanes);
            }
        }
    }

    /// Adds to where a slot delivers.
    fn gain(&mut self, slot: usize, lanes: Lanes<WORDS>) {
        let new = lanes.within(self.room[slot]);
        if new.is_empty() {
            return;
        }
        self.room[slot] = self.room[slot].without(new);
        self.delivered[slot] = self.delivered[slot].and(new);
        self.pending[slot] = self.pending[slot].and(new);
        self.open.put(slot);
    }

    fn fill(&mut self, line: &SlotLine, carried: Lanes<WORDS>) {
        if carried.is_empty() {
            return;
        }
        let node = line.to_node;
        self.filled[line.input] = self.filled[line.input].and(carried);
        let inputs = &self.filled[self.scenarios.train.slots().inputs(node)];
        let filled = inputs.iter().fold(Lanes::ALL, |all, one| all.within(*one));
        let own = self.scenarios.own(node);
        let passing = own.bypassed.without(own.stops);
        let uncommanded = carried.within(passing).within(self.asked.retained());
        let gained = filled
            .without(self.scenarios.blocked(node))
            .and(uncommanded);
        self.gain_all(node, gained);
    }

    /// Each slot of a node that is no pipe.
    fn gain_all(&mut self, node: usize, lanes: Lanes<WORDS>) {
        for slot in self.scenarios.train.slots().slots(node) {
            self.gain(slot, lanes);
        }
    }
}

/// What a train delivers in one of its scenarios.
pub(crate) struct OneLane<'d, const WORDS: usize> {
    delivery: &'d LaneDelivery<'d, WORDS>,
    lane: Lanes<WORDS>,
}

impl<const WORDS: usize> OneLane<'_, WORDS> {
    fn is_in(&self, lanes: Lanes<WORDS>) -> bool {
        !lanes.within(self.lane).is_empty()
    }
}

impl<const WORDS: usize> Delivering for OneLane<'_, WORDS> {
    fn media(&self, node: usize) -> Media {
        let graph = self.delivery.scenarios.train.slots();
        let slots = graph.slots(node);
        let delivers = slots.filter(|slot| self.is_in(self.delivery.delivered[*slot]));
        delivers.fold(Media::NONE, |all, slot| all.and(graph.media(slot)))
    }

    fn delivers(&self, node: usize) -> bool {
        self.is_in(self.delivery.of(node))
    }

    fn is_open(&self, line: &CompiledLine) -> bool {
        self.is_in(self.delivery.opens(line.modes, (line.from, line.to)))
    }

    fn may_be_emptied(&self, line: &CompiledLine) -> bool {
        let scenarios = self.delivery.scenarios;
        let graph = scenarios.train.slots();
        let mut slots = graph.slots(line.to);
        slots.any(|slot| {
            let emptied = scenarios.perhaps_emptied.get(slot);
            !graph.media(slot).within(line.media).is_empty()
                && emptied.is_some_and(|lanes| self.is_in(*lanes))
        })
    }

    fn is_filled(&self, line: &CompiledLine) -> bool {
        let inputs = self.delivery.scenarios.train.slots().inputs(line.to);
        let bit = line.input.trailing_zeros() as usize;
        let filled = &self.delivery.filled[inputs];
        filled.get(bit).is_some_and(|lanes| self.is_in(*lanes))
    }

    fn unfilled(&self, node: usize) -> u32 {
        let inputs = self.delivery.scenarios.train.slots().inputs(node);
        let filled = self.delivery.filled[inputs].iter().enumerate();
        let unfilled = filled.filter(|(_, lanes)| !self.is_in(**lanes));
        unfilled.fold(0, |all, (bit, _)| all | 1 << bit)
    }
}
