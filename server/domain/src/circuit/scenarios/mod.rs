//! Many supposed states of one train, evaluated together: the rules of
//! [`crate::circuit::state`] once more, with a set of scenarios wherever those have a yes or no.

mod delivery;
mod graph;
mod lanes;

pub(crate) use delivery::LaneDelivery;
pub(crate) use graph::SlotGraph;
pub(crate) use lanes::{LANES, Lanes};

use super::compiled::Role;
use super::delivers::Air;
use super::sets::{Impairments, Media, Modes};

/// In which scenarios a node is impaired, and how.
#[derive(Debug, Clone, Copy)]
struct Own {
    stops: Lanes,
    vents: Lanes,
    bypassed: Lanes,
    disables: Lanes,
    any: Lanes,
}

impl Own {
    const SOUND: Self = Self {
        stops: Lanes::NONE,
        vents: Lanes::NONE,
        bypassed: Lanes::NONE,
        disables: Lanes::NONE,
        any: Lanes::NONE,
    };
}

/// Up to [`LANES`] states of a train.
#[derive(Debug)]
pub(crate) struct Scenarios<'g> {
    graph: &'g SlotGraph,
    /// Where in `own` a node's impairments stand; 0 is soundness.
    at: Vec<u32>,
    own: Vec<Own>,
    impaired: Vec<usize>,
    emptied: Vec<Lanes>,
    perhaps_emptied: Vec<Lanes>,
}

impl<'g> Scenarios<'g> {
    /// Scenarios from pairs of a scenario and what is impaired in it. Scenarios that are not
    /// named are sound. Linear in slots and lines.
    pub(crate) fn new(
        graph: &'g SlotGraph,
        impaired: impl Iterator<Item = (Lanes, usize, Impairments)>,
    ) -> Self {
        let mut scenarios = Self {
            graph,
            at: vec![0; graph.roles.len()],
            own: vec![Own::SOUND],
            impaired: Vec::new(),
            emptied: Vec::new(),
            perhaps_emptied: Vec::new(),
        };
        for (lanes, node, with) in impaired {
            scenarios.impair(lanes, node, with);
        }
        scenarios.empty();
        scenarios
    }

    fn impair(&mut self, lanes: Lanes, node: usize, with: Impairments) {
        if self.at[node] == 0 {
            self.at[node] = u32::try_from(self.own.len()).unwrap_or_default();
            self.own.push(Own::SOUND);
            self.impaired.push(node);
        }
        let own = &mut self.own[self.at[node] as usize];
        let add = |set: &mut Lanes, which: Impairments| {
            if with.meets(which) {
                *set = set.and(lanes);
            }
        };
        add(&mut own.stops, Impairments::STOPS);
        add(&mut own.vents, Impairments::VENTS);
        add(&mut own.bypassed, Impairments::BYPASSED);
        add(&mut own.disables, Impairments::DISABLES);
        own.any = own.any.and(lanes);
    }

    fn own(&self, node: usize) -> &Own {
        &self.own[self.at[node] as usize]
    }

    /// Where nothing passes the node.
    fn blocked(&self, node: usize) -> Lanes {
        let own = self.own(node);
        match self.graph.roles[node] {
            Role::Source(_) | Role::AllOf(_) => own.stops.and(own.bypassed),
            _ => own.stops,
        }
    }

    /// What the train delivers in some modes.
    pub(crate) fn delivery(&self, modes: Modes, air: Air) -> LaneDelivery<'_> {
        LaneDelivery::new(self, modes, air)
    }

    /// Where an air-applied actuator presses.
    pub(crate) fn applies(&self, delivery: &LaneDelivery<'_>, actuator: usize) -> Lanes {
        let fed = delivery.of(actuator);
        fed.without(self.own(actuator).any)
    }

    /// Where an actuator has no air, and where it has, shut in or fed: in neither where it is
    /// disabled. Without air a spring presses; with air an air-applied one may.
    pub(crate) fn without_and_with_air(
        &self,
        delivery: &LaneDelivery<'_>,
        actuator: usize,
        air: Air,
    ) -> (Lanes, Lanes) {
        let own = self.own(actuator);
        let shut_in = if air == Air::Retained {
            own.stops
        } else {
            Lanes::NONE
        };
        let fed = delivery.of(actuator).without(own.stops).and(shut_in);
        let fed = fed.without(own.vents);
        let works = Lanes::ALL.without(own.disables);
        (works.without(fed), works.within(fed))
    }

    /// Where air from a node reaches a valve or an actuator.
    pub(crate) fn feeds(&self, node: usize) -> Lanes {
        let graph = self.graph;
        let mut seen = vec![Lanes::NONE; graph.slot_count()];
        let start = Lanes::ALL.without(self.blocked(node));
        let mut open: Vec<(usize, Lanes)> = graph.slots(node).map(|slot| (slot, start)).collect();
        let mut feeds = Lanes::NONE;
        while let Some((slot, lanes)) = open.pop() {
            for line in graph.lines_from(slot) {
                if !graph.roles[line.to_node].is_pipe() {
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
        let graph = self.graph;
        self.emptied = vec![Lanes::NONE; graph.slot_count()];
        self.perhaps_emptied.clone_from(&self.emptied);
        let vents = |node: &&usize| !self.own(**node).vents.is_empty();
        if !self.impaired.iter().any(|node| vents(&node)) {
            return;
        }
        let fed = self.delivery(Modes::ALL, Air::FromSources);
        let perhaps = self.downstream(&fed, |node| match graph.roles[node] {
            Role::Pass | Role::Reservoir => Lanes::ALL,
            Role::CheckValve => self.own(node).any,
            _ => Lanes::NONE,
        });
        let surely = self.downstream(&fed, |node| match graph.roles[node] {
            Role::Pass | Role::Reservoir => Lanes::ALL.without(self.blocked(node)),
            _ => Lanes::NONE,
        });
        (self.perhaps_emptied, self.emptied) = (perhaps, surely);
    }

    /// What is emptied downstream of the vented nodes, along lines that lead to a node that is
    /// emptied in these scenarios, and where no source feeds it.
    fn downstream(&self, fed: &LaneDelivery<'_>, leads: impl Fn(usize) -> Lanes) -> Vec<Lanes> {
        let graph = self.graph;
        let mut emptied = vec![Lanes::NONE; graph.slot_count()];
        let mut open: Vec<(usize, Lanes)> = Vec::new();
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
                let unfed = reached.without(fed.slot(line.to));
                let more = unfed.without(emptied[line.to]);
                if !more.is_empty() {
                    emptied[line.to] = emptied[line.to].and(more);
                    open.push((line.to, more));
                }
            }
        }
        emptied
    }

    /// What is let out at a slot, when air is counted so.
    fn emptied(&self, slot: usize, air: Air) -> Lanes {
        match air {
            Air::FromSources | Air::Stored => self.perhaps_emptied[slot],
            Air::Retained => self.emptied[slot],
        }
    }
}
