//! Where air presses, seen by somebody who wants to open a pipe. It is asked more strictly than
//! what delivers:
//!
//! - in every mode at once, with every demand given from every place of command;
//! - only a closed cock stops air; a failed or missing part, or one switched off, may let it pass;
//! - air flows back through pipes, open cocks and reservoirs as far as a check valve, a shuttle
//!   valve, a relay valve or a closed cock;
//! - a reservoir that nothing can drain presses for ever.
//!
//! A valve that needs several inputs passes only with air at each of those that take air; where
//! a set of cocks rests on that, the answer says on which valve.

use super::pipes::{Flow, Kind, closed, drains, flows, is_cock, kind};
use crate::circuit::Medium;
use crate::circuit::sets::Media;
use crate::circuit::state::Impaired;
use crate::circuit::train::TrainCircuit;
use std::collections::VecDeque;

/// The pipes of a train around a position that is to be without pressure.
#[derive(Debug)]
pub(super) struct Pressure {
    target: usize,
    kinds: Vec<Kind>,
    /// For each node, the inputs whose air passes on, a bit each: those that are no pilot.
    passing: Vec<u32>,
    /// Reservoirs with the drain cocks beside them.
    pub(super) drains: Vec<(usize, Vec<usize>)>,
    /// The cocks that may be closed, by node.
    pub(super) cocks: Vec<usize>,
    /// Where a cock stands among them.
    cock_at: Vec<Option<usize>>,
    closed: Vec<bool>,
    flows: Vec<Flow>,
    first_flow: Vec<usize>,
    /// For each node, those from which air can come to it.
    sources_of: Vec<Vec<usize>>,
}

/// Which reservoirs press.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reservoirs {
    /// Those that nothing can drain.
    Undrained,
    /// None: what sources feed.
    Empty,
}

impl Pressure {
    /// Everything from which air can come to a node, with some sources switched off: those make
    /// no pressure, and let air through as pipe does. Near linear in nodes and lines.
    pub(super) fn new(
        train: &TrainCircuit,
        target: usize,
        (standing, off): (&[Impaired], &[usize]),
    ) -> Self {
        let closed = closed(train, standing);
        let mut kinds: Vec<Kind> = (0..train.roles().len())
            .map(|node| kind(train, standing, node))
            .collect();
        for node in off {
            kinds[*node] = Kind::Pipe;
        }
        let flows = flows(train, &kinds);
        let mut passing = vec![0; kinds.len()];
        let pilot = Media::of(Medium::PilotPressure);
        for flow in flows.iter().filter(|flow| !flow.back) {
            if let Kind::AllOf(needed) = &mut kinds[flow.to] {
                *needed |= flow.input;
                if !flow.media.without(pilot).is_empty() {
                    passing[flow.to] |= flow.input;
                }
            }
        }
        let mut pressure = Self {
            target,
            passing,
            drains: drains(train),
            cocks: Vec::new(),
            cock_at: vec![None; kinds.len()],
            kinds,
            closed,
            sources_of: Vec::new(),
            flows,
            first_flow: Vec::new(),
        };
        pressure.sources_of = pressure.find_sources();
        let near = pressure.upstream(&[]);
        pressure
            .flows
            .retain(|flow| near[flow.from] && near[flow.to]);
        pressure.flows.sort_by_key(|flow| flow.from);
        let flows = &pressure.flows;
        pressure.first_flow = (0..=near.len())
            .map(|node| flows.partition_point(|flow| flow.from < node))
            .collect();
        let can_close = |node: &usize| {
            near[*node] && *node != target && !pressure.closed[*node] && is_cock(train, *node)
        };
        pressure.cocks = (0..near.len()).filter(can_close).collect();
        for (at, node) in pressure.cocks.iter().enumerate() {
            pressure.cock_at[*node] = Some(at);
        }
        pressure
    }

    /// For each node, those from which air can come to it. Nothing flows back through a valve, but
    /// it stands at the outlet of one that is asked about.
    fn find_sources(&self) -> Vec<Vec<usize>> {
        let mut sources = vec![Vec::new(); self.kinds.len()];
        let enters = |flow: &&Flow| {
            !flow.back || flow.to == self.target || self.kinds[flow.to] == Kind::Pipe
        };
        for flow in self.flows.iter().filter(enters) {
            sources[flow.to].push(flow.from);
        }
        sources
    }

    /// The nodes that are joined to the target on the side from which air can come, with some
    /// cocks closed.
    pub(super) fn upstream(&self, shut: &[usize]) -> Vec<bool> {
        let mut near = vec![false; self.kinds.len()];
        self.go_upstream(shut, |node, _| near[node] = true);
        near
    }

    /// Whether a reservoir that can be drained is joined to the target with some cocks shut, and
    /// by which other cocks. Nothing but a closed cock counts as keeping its air back, a valve
    /// without command does not. Linear in the pipes around it.
    pub(super) fn stored_air_reaches(&self, shut: &[usize]) -> Option<Vec<usize>> {
        let mut towards = vec![None; self.kinds.len()];
        self.go_upstream(shut, |node, to| towards[node] = to);
        let joined = |(reservoir, drains): &&(usize, Vec<usize>)| {
            !drains.is_empty() && *reservoir != self.target && towards[*reservoir].is_some()
        };
        let (reservoir, _) = self.drains.iter().find(joined)?;
        let way = std::iter::successors(Some(*reservoir), |node| towards[*node]);
        Some(way.filter(|node| self.cock_at[*node].is_some()).collect())
    }

    /// Tells of each node that is joined to the target on the side from which air can come, with
    /// the next node on the way there; none of the target itself.
    fn go_upstream(&self, shut: &[usize], mut tell: impl FnMut(usize, Option<usize>)) {
        let mut seen = vec![false; self.kinds.len()];
        let mut open = vec![self.target];
        seen[self.target] = true;
        tell(self.target, None);
        while let Some(node) = open.pop() {
            for from in &self.sources_of[node] {
                if !seen[*from] && !self.closed[*from] && !shut.contains(from) {
                    seen[*from] = true;
                    tell(*from, Some(node));
                    open.push(*from);
                }
            }
        }
    }

    /// Whether air still reaches the target with some cocks shut, and by which other cocks: a
    /// set of open cocks of which at least one must be shut too. Linear in the pipes around it.
    pub(super) fn reaches(&self, shut: &[usize], reservoirs: Reservoirs) -> Option<Vec<usize>> {
        let mut run = Run::new(self, shut);
        run.start(reservoirs);
        run.spread(Until::TargetReached);
        run.reached.map(|last| run.cocks_on_the_way(last))
    }

    /// What presses at each node with some cocks shut, whatever becomes of the target.
    pub(super) fn pressing(&self, shut: &[usize], reservoirs: Reservoirs) -> Pressing {
        let mut run = Run::new(self, shut);
        run.start(reservoirs);
        run.spread(Until::NothingMore);
        Pressing {
            media: run.media,
            filled: run.filled,
        }
    }

    /// The valves beside the target that keep air back only because another input has none.
    pub(super) fn rests_on(&self, shut: &[usize]) -> Vec<usize> {
        let near = self.upstream(shut);
        let pressing = self.pressing(shut, Reservoirs::Undrained);
        let rests = |node: &usize| {
            let Kind::AllOf(needed) = self.kinds[*node] else {
                return false;
            };
            let filled = pressing.filled[*node] & needed;
            let held = filled & self.passing[*node] != 0 && filled != needed;
            near[*node] && *node != self.target && held
        };
        (0..self.kinds.len()).filter(rests).collect()
    }

    fn flows_from(&self, node: usize) -> std::ops::Range<usize> {
        self.first_flow[node]..self.first_flow[node + 1]
    }
}

/// What presses at each node.
#[derive(Debug)]
pub(super) struct Pressing {
    pub(super) media: Vec<Media>,
    filled: Vec<u32>,
}

/// How far air spreads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Until {
    TargetReached,
    NothingMore,
}

/// Air spreading through the pipes.
struct Run<'p> {
    pressure: &'p Pressure,
    shut: Vec<bool>,
    media: Vec<Media>,
    filled: Vec<u32>,
    /// The flows that brought something new, in order.
    brought: Vec<usize>,
    open: VecDeque<(usize, Media)>,
    /// The flow that first brought something to the target.
    reached: Option<usize>,
}

impl<'p> Run<'p> {
    fn new(pressure: &'p Pressure, shut: &[usize]) -> Self {
        let mut closed = pressure.closed.clone();
        for node in shut {
            closed[*node] = true;
        }
        Self {
            pressure,
            shut: closed,
            media: vec![Media::NONE; pressure.kinds.len()],
            filled: vec![0; pressure.kinds.len()],
            brought: Vec::new(),
            open: VecDeque::new(),
            reached: None,
        }
    }

    fn start(&mut self, reservoirs: Reservoirs) {
        for node in 0..self.media.len() {
            let kind = self.pressure.kinds[node];
            let presses = matches!(kind, Kind::Source | Kind::AllOf(0));
            if presses && node != self.pressure.target {
                self.gain(node, Media::AIR);
            }
        }
        if reservoirs == Reservoirs::Undrained {
            for (node, drains) in &self.pressure.drains {
                if drains.is_empty() && *node != self.pressure.target && !self.shut[*node] {
                    self.gain(*node, Media::STORED);
                }
            }
        }
    }

    fn gain(&mut self, node: usize, media: Media) -> bool {
        let new = media.without(self.media[node]);
        if new.is_empty() {
            return false;
        }
        self.media[node] = self.media[node].and(new);
        self.open.push_back((node, new));
        true
    }

    /// Spreads until air reaches the target, or until it reaches nothing more.
    fn spread(&mut self, until: Until) {
        while let Some((node, media)) = self.open.pop_front() {
            for index in self.pressure.flows_from(node) {
                let flow = self.pressure.flows[index];
                let carried = media.within(flow.media);
                if carried.is_empty() {
                    continue;
                }
                if flow.to == self.pressure.target {
                    self.reached = self.reached.or(Some(index));
                    if until == Until::TargetReached {
                        return;
                    }
                } else if self.arrive(flow, carried) {
                    self.brought.push(index);
                }
            }
        }
    }

    /// Whether a flow brings a node something new.
    fn arrive(&mut self, flow: Flow, carried: Media) -> bool {
        let node = flow.to;
        if self.shut[node] {
            return false;
        }
        match self.pressure.kinds[node] {
            Kind::Pipe => self.gain(node, carried),
            Kind::OneWay if !flow.back => self.gain(node, carried),
            Kind::AnyOf if !flow.back => self.gain(node, Media::AIR),
            Kind::AllOf(needed) if !flow.back => {
                let before = self.filled[node];
                self.filled[node] |= flow.input;
                if self.filled[node] & needed == needed {
                    self.gain(node, Media::AIR);
                }
                self.filled[node] != before
            }
            _ => false,
        }
    }

    /// The cocks on a way by which the flow is fed, each input of each valve on it included.
    fn cocks_on_the_way(&self, last: usize) -> Vec<usize> {
        let mut needed = vec![Media::NONE; self.media.len()];
        let flow = self.pressure.flows[last];
        let mut cocks = Vec::new();
        self.need(flow, &mut needed, &mut cocks);
        let mut inputs = vec![0u32; self.media.len()];
        for index in self.brought.iter().rev() {
            let flow = self.pressure.flows[*index];
            let wanted = match self.pressure.kinds[flow.to] {
                Kind::AllOf(_) => {
                    let new = !needed[flow.to].is_empty() && inputs[flow.to] & flow.input == 0;
                    inputs[flow.to] |= flow.input;
                    new
                }
                _ => !needed[flow.to].is_empty(),
            };
            if wanted {
                self.need(flow, &mut needed, &mut cocks);
            }
        }
        cocks.sort_unstable();
        cocks.dedup();
        cocks
    }

    fn need(&self, flow: Flow, needed: &mut [Media], cocks: &mut Vec<usize>) {
        needed[flow.from] = flow.media;
        if self.pressure.cock_at[flow.from].is_some() {
            cocks.push(flow.from);
        }
    }
}
