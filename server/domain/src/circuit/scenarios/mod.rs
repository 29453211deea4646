//! Many supposed states of one train, evaluated together: the rules of
//! [`crate::circuit::state`] once more, with a set of scenarios wherever those have a yes or no.

mod asked;
mod delivery;
mod graph;
mod lanes;
mod open;

pub(crate) use asked::Asked;
pub(crate) use delivery::LaneDelivery;
pub(crate) use graph::SlotGraph;
use lanes::MANY;
pub(crate) use lanes::{LANES, Lanes};

use super::compiled::Role;
use super::delivers::Air;
use super::sets::{Impairments, Media, Modes};
use super::train::TrainCircuit;

/// In which scenarios a node is impaired, and how.
#[derive(Debug, Clone, Copy)]
struct Own<const WORDS: usize> {
    /// Where nothing passes it.
    blocked: Lanes<WORDS>,
    stops: Lanes<WORDS>,
    vents: Lanes<WORDS>,
    bypassed: Lanes<WORDS>,
    disables: Lanes<WORDS>,
    any: Lanes<WORDS>,
    /// Where nobody commands from it.
    at_rest: Lanes<WORDS>,
}

impl<const WORDS: usize> Own<WORDS> {
    const SOUND: Self = Self {
        blocked: Lanes::NONE,
        stops: Lanes::NONE,
        vents: Lanes::NONE,
        bypassed: Lanes::NONE,
        disables: Lanes::NONE,
        any: Lanes::NONE,
        at_rest: Lanes::NONE,
    };
}

/// As many states of a train as there are [`Lanes`].
#[derive(Debug)]
pub(crate) struct Scenarios<'t, const WORDS: usize = MANY> {
    train: &'t TrainCircuit,
    /// Where in `own` a node's impairments stand; 0 is soundness.
    at: Vec<u32>,
    own: Vec<Own<WORDS>>,
    impaired: Vec<usize>,
    /// Where anything is bypassed.
    bypassed: Lanes<WORDS>,
    /// What is let out for certain; empty where nothing vents.
    emptied: Vec<Lanes<WORDS>>,
    /// What is let out, or would be if things were closed in another order.
    perhaps_emptied: Vec<Lanes<WORDS>>,
}

impl<'t, const WORDS: usize> Scenarios<'t, WORDS> {
    /// Scenarios from pairs of a scenario and what is impaired in it. Scenarios that are not
    /// named are sound. Linear in slots and lines.
    pub(crate) fn new(
        train: &'t TrainCircuit,
        impaired: impl Iterator<Item = (Lanes<WORDS>, usize, Impairments)>,
    ) -> Self {
        Self::commanded(train, impaired, std::iter::empty())
    }

    /// The same where nobody commands from some nodes in some scenarios.
    pub(crate) fn commanded(
        train: &'t TrainCircuit,
        impaired: impl Iterator<Item = (Lanes<WORDS>, usize, Impairments)>,
        at_rest: impl Iterator<Item = (Lanes<WORDS>, usize)>,
    ) -> Self {
        let mut scenarios = Self {
            train,
            at: vec![0; train.roles().len()],
            own: vec![Own::SOUND],
            impaired: Vec::new(),
            bypassed: Lanes::NONE,
            emptied: Vec::new(),
            perhaps_emptied: Vec::new(),
        };
        for (lanes, node, with) in impaired {
            scenarios.impair(lanes, node, with);
        }
        for (lanes, node) in at_rest {
            let own = scenarios.own_of(node);
            own.at_rest = own.at_rest.and(lanes);
        }
        scenarios.empty();
        scenarios
    }

    /// What is the matter at a node, to be added to.
    fn own_of(&mut self, node: usize) -> &mut Own<WORDS> {
        if self.at[node] == 0 {
            self.at[node] = u32::try_from(self.own.len()).unwrap_or_default();
            self.own.push(Own::SOUND);
            self.impaired.push(node);
        }
        &mut self.own[self.at[node] as usize]
    }

    fn impair(&mut self, lanes: Lanes<WORDS>, node: usize, with: Impairments) {
        let commands = matches!(self.train.roles()[node], Role::Source(_) | Role::AllOf(_));
        let own = self.own_of(node);
        let add = |set: &mut Lanes<WORDS>, which: Impairments| {
            if with.meets(which) {
                *set = set.and(lanes);
            }
        };
        add(&mut own.stops, Impairments::STOPS);
        add(&mut own.vents, Impairments::VENTS);
        add(&mut own.bypassed, Impairments::BYPASSED);
        add(&mut own.disables, Impairments::DISABLES);
        own.any = own.any.and(lanes);
        let bypassed = own.bypassed;
        own.blocked = if commands {
            own.stops.and(own.bypassed)
        } else {
            own.stops
        };
        self.bypassed = self.bypassed.and(bypassed);
    }

    fn own(&self, node: usize) -> &Own<WORDS> {
        &self.own[self.at[node] as usize]
    }

    /// Where nothing passes the node.
    fn blocked(&self, node: usize) -> Lanes<WORDS> {
        self.own(node).blocked
    }

    /// What the train delivers in each scenario.
    pub(crate) fn delivery(&self, asked: Asked<WORDS>) -> LaneDelivery<'_, WORDS> {
        LaneDelivery::new(self, asked)
    }

    /// Where an air-applied actuator presses.
    pub(crate) fn applies(
        &self,
        delivery: &LaneDelivery<'_, WORDS>,
        actuator: usize,
    ) -> Lanes<WORDS> {
        let fed = delivery.of(actuator);
        fed.without(self.own(actuator).any)
    }

    /// Where an actuator has no air, and where it has, shut in or fed: in neither where it is
    /// disabled. Without air a spring presses; with air an air-applied one may.
    pub(crate) fn without_and_with_air(
        &self,
        delivery: &LaneDelivery<'_, WORDS>,
        actuator: usize,
    ) -> (Lanes<WORDS>, Lanes<WORDS>) {
        let own = self.own(actuator);
        let shut_in = own.stops.within(delivery.asked().retained());
        let fed = delivery.of(actuator).without(own.stops).and(shut_in);
        let fed = fed.without(own.vents);
        let works = Lanes::ALL.without(own.disables);
        (works.without(fed), works.within(fed))
    }

    /// Where air from a node reaches a valve or an actuator.
    pub(crate) fn feeds(&self, node: usize) -> Lanes<WORDS> {
        let (graph, roles) = (self.train.slots(), self.train.roles());
        let mut seen = vec![Lanes::NONE; graph.slot_count()];
        let start = Lanes::ALL.without(self.blocked(node));
        let mut open: Vec<(usize, Lanes<WORDS>)> =
            graph.slots(node).map(|slot| (slot, start)).collect();
        let mut feeds = Lanes::NONE;
        while let Some((slot, lanes)) = open.pop() {
            for line in graph.lines_from(slot) {
                if !roles[line.to_node].is_pipe() {
                    feeds = feeds.and(lanes);
                    continue;
                }
                let lanes = lanes.without(self.blocked(line.to_node));
                let new = lanes.without(seen[line.to]);
                if !new.is_empty() {
                    seen[line.to] = seen[line.to].and(new);
                    open.push((line.to, new));
                }
            }
        }
        feeds
    }

    /// Finds what the vented places empty.
    fn empty(&mut self) {
        let vents = |node: &usize| !self.own(*node).vents.is_empty();
        if !self.impaired.iter().any(vents) {
            return;
        }
        let roles = self.train.roles();
        // A sound dead end has what is brought to it and holds nothing back.
        let pass = |node: usize| {
            if self.train.is_dead_end(node) {
                self.own(node).any
            } else {
                Lanes::ALL
            }
        };
        let perhaps = |node: usize| match roles[node] {
            Role::Pass => pass(node),
            Role::Reservoir => Lanes::ALL,
            Role::CheckValve => self.own(node).any,
            _ => Lanes::NONE,
        };
        let surely = |node: usize| match roles[node] {
            Role::Pass => pass(node).without(self.blocked(node)),
            Role::Reservoir => Lanes::ALL.without(self.blocked(node)),
            _ => Lanes::NONE,
        };
        // Mostly a cock is all that feeds what lies behind it.
        let behind = self.downstream(None, perhaps);
        let (perhaps, surely) = if self.may_be_fed(&behind) {
            let fed = self.delivery(Asked::all(Modes::ALL, Air::FromSources));
            (
                self.downstream(Some(&fed), perhaps),
                self.downstream(Some(&fed), surely),
            )
        } else {
            (behind, self.downstream(None, surely))
        };
        (self.perhaps_emptied, self.emptied) = (perhaps, surely);
    }

    /// Whether a line leads into some slots from elsewhere, past nothing that blocks it.
    fn may_be_fed(&self, slots: &[Lanes<WORDS>]) -> bool {
        let graph = self.train.slots();
        (0..slots.len()).any(|slot| {
            let mut lines = graph.lines_from(slot).iter();
            lines.any(|line| {
                let from_elsewhere = slots[line.to].without(slots[slot]);
                !from_elsewhere
                    .without(self.blocked(line.from_node))
                    .is_empty()
            })
        })
    }

    /// What is emptied downstream of the vented nodes, along lines that lead to a node that is
    /// emptied in these scenarios, and where no source feeds it.
    fn downstream(
        &self,
        fed: Option<&LaneDelivery<'_, WORDS>>,
        leads: impl Fn(usize) -> Lanes<WORDS>,
    ) -> Vec<Lanes<WORDS>> {
        let graph = self.train.slots();
        let mut emptied = vec![Lanes::NONE; graph.slot_count()];
        let mut open: Vec<(usize, Lanes<WORDS>)> = Vec::new();
        for node in &self.impaired {
            let vents = self.own(*node).vents;
            let slots = graph.slots(*node);
            let air = slots.filter(|slot| !graph.media(*slot).within(Media::AIR).is_empty());
            open.extend(air.map(|slot| (slot, vents)));
        }
        while let Some((slot, lanes)) = open.pop() {
            for line in graph.lines_from(slot) {
                let reached = lanes.within(leads(line.to_node));
                if reached.is_empty() {
                    continue;
                }
                let fed = fed.map_or(Lanes::NONE, |fed| fed.slot(line.to));
                let unfed = reached.without(fed);
                let more = unfed.without(emptied[line.to]);
                if !more.is_empty() {
                    emptied[line.to] = emptied[line.to].and(more);
                    open.push((line.to, more));
                }
            }
        }
        emptied
    }

    /// Where something may be at each slot: where it is not let out, as air counts in each
    /// scenario.
    fn room(&self, asked: &Asked<WORDS>) -> Vec<Lanes<WORDS>> {
        if self.emptied.is_empty() {
            return vec![Lanes::ALL; self.train.slots().slot_count()];
        }
        let retained = asked.retained();
        let slots = self.perhaps_emptied.iter().zip(&self.emptied);
        let room = |(perhaps, surely): (&Lanes<WORDS>, &Lanes<WORDS>)| {
            let emptied = perhaps.without(retained).and(surely.within(retained));
            Lanes::ALL.without(emptied)
        };
        slots.map(room).collect()
    }
}
