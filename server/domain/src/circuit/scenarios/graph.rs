//! A circuit split by medium: each pipe has one slot for each medium that it can carry, every
//! other node one for air and one for demand, so that a slot delivers or does not. A car type is
//! split once; the slots of a train are those of its cars, joined at the couplings.

use crate::circuit::Medium;
use crate::circuit::compiled::{CompiledLine, CompiledNode, Role};
use crate::circuit::sets::{Media, Modes};

/// What a node makes of what a line brings to it.
#[derive(Debug, Clone, Copy)]
pub(super) enum Arrival {
    /// A pipe passes it on in the same slot.
    Slot,
    /// Where anything reaches the node, it delivers all it can.
    Node,
    /// It fills an input of an all-of.
    Input,
    /// A source takes nothing.
    Nothing,
}

impl Arrival {
    fn at(role: Role) -> Self {
        match role {
            Role::Pass | Role::CheckValve | Role::Reservoir => Self::Slot,
            Role::AnyOf | Role::AirApplied | Role::SpringApplied(_) => Self::Node,
            Role::AllOf(_) => Self::Input,
            Role::Source(_) => Self::Nothing,
        }
    }
}

/// A line from one slot to another, with what it may do there.
#[derive(Debug, Clone, Copy)]
pub(super) struct SlotLine {
    pub(super) from_node: usize,
    pub(super) to_node: usize,
    /// The slot it fills; of a node that is no pipe, the first of its two.
    pub(super) to: usize,
    /// Which input of an all-of it fills, counted through the circuit; 0 elsewhere.
    pub(super) input: usize,
    pub(super) modes: Modes,
    pub(super) arrival: Arrival,
}

/// The slots and lines of a car or a train. Out of each slot of a port leads one line more, the
/// last one: the coupling, which is never open where no port meets it.
#[derive(Debug, Clone)]
pub(crate) struct SlotGraph {
    /// The first slot of each node, and at the end the number of all slots.
    first_slot: Vec<usize>,
    /// What each slot can carry.
    media: Vec<Media>,
    /// Sorted by the slot they come from.
    lines: Vec<SlotLine>,
    first_line: Vec<usize>,
    /// The first input of each node, and at the end the number of all inputs.
    first_input: Vec<usize>,
}

const DEMAND: Media = Media::ALL.without(Media::AIR);

impl Default for SlotGraph {
    fn default() -> Self {
        Self {
            first_slot: vec![0],
            media: Vec::new(),
            lines: Vec::new(),
            first_line: vec![0],
            first_input: vec![0],
        }
    }
}

impl SlotGraph {
    /// Splits the circuit of a car. The time is that of nodes times lines.
    pub(crate) fn of_car(nodes: &[CompiledNode], lines: &[CompiledLine]) -> Self {
        let mut graph = Self::default();
        let mut carried = vec![Media::NONE; nodes.len()];
        for line in lines {
            carried[line.from] = carried[line.from].and(line.media);
            carried[line.to] = carried[line.to].and(line.media);
        }
        for (node, carried) in nodes.iter().zip(carried) {
            if node.role.is_pipe() {
                let each = Medium::ALL.iter().map(|medium| Media::of(*medium));
                let each = each.filter(|medium| !medium.within(carried).is_empty());
                graph.media.extend(each);
            } else {
                graph.media.extend([Media::AIR, DEMAND]);
            }
            graph.first_slot.push(graph.media.len());
            let inputs = match node.role {
                Role::AllOf(required) => required.count_ones() as usize,
                _ => 0,
            };
            graph.first_input.push(graph.input_count() + inputs);
        }
        for (number, node) in nodes.iter().enumerate() {
            for slot in graph.slots(number) {
                for line in lines.iter().filter(|line| line.from == number) {
                    let line = graph.slot_line(nodes, slot, line);
                    graph.lines.extend(line);
                }
                graph.lines.extend(node.is_port().then_some(SlotLine {
                    from_node: number,
                    to_node: number,
                    to: slot,
                    input: 0,
                    modes: Modes::NONE,
                    arrival: Arrival::Slot,
                }));
                graph.first_line.push(graph.lines.len());
            }
        }
        graph
    }

    /// Joins the cars of a train. Couplings are pairs of ports, numbered through the train; each
    /// carries what the pipes on both its sides do. Linear in slots and lines.
    pub(crate) fn joined<'c>(
        cars: impl Iterator<Item = &'c Self> + Clone,
        couplings: &[(usize, usize)],
    ) -> Self {
        let mut train = Self::default();
        let (slots, nodes) = (
            |car: &Self| car.slot_count(),
            |car: &Self| car.first_slot.len(),
        );
        let all = |of: fn(&Self) -> usize| cars.clone().map(of).sum();
        train.media.reserve(all(slots));
        train.first_line.reserve(all(slots));
        train.first_slot.reserve(all(nodes));
        train.first_input.reserve(all(nodes));
        train.lines.reserve(all(|car| car.lines.len()));
        for car in cars {
            let (nodes, slots) = (train.first_slot.len() - 1, train.slot_count());
            let (lines, inputs) = (train.lines.len(), train.input_count());
            let after = |before: usize| move |first: &usize| before + first;
            let (first_slot, first_line) = (&car.first_slot[1..], &car.first_line[1..]);
            train.first_slot.extend(first_slot.iter().map(after(slots)));
            train.first_line.extend(first_line.iter().map(after(lines)));
            let first_input = &car.first_input[1..];
            train
                .first_input
                .extend(first_input.iter().map(after(inputs)));
            train.media.extend_from_slice(&car.media);
            train.lines.extend(car.lines.iter().map(|line| SlotLine {
                from_node: nodes + line.from_node,
                to_node: nodes + line.to_node,
                to: slots + line.to,
                input: inputs + line.input,
                ..*line
            }));
        }
        for (from, to) in couplings {
            train.couple(*from, *to);
        }
        train
    }

    /// Leads each slot of one port to that of the other that carries the same.
    fn couple(&mut self, from: usize, to: usize) {
        for slot in self.slots(from) {
            let same = |to: &usize| self.media[*to] == self.media[slot];
            if let Some(to_slot) = self.slots(to).find(same) {
                let coupling = &mut self.lines[self.first_line[slot + 1] - 1];
                coupling.to_node = to;
                coupling.to = to_slot;
                coupling.modes = Modes::ALL;
            }
        }
    }

    pub(super) fn slots(&self, node: usize) -> std::ops::Range<usize> {
        self.first_slot[node]..self.first_slot[node + 1]
    }

    pub(super) fn slot_count(&self) -> usize {
        self.media.len()
    }

    pub(super) fn media(&self, slot: usize) -> Media {
        self.media[slot]
    }

    pub(super) fn lines_from(&self, slot: usize) -> &[SlotLine] {
        &self.lines[self.first_line[slot]..self.first_line[slot + 1]]
    }

    pub(super) fn inputs(&self, node: usize) -> std::ops::Range<usize> {
        self.first_input[node]..self.first_input[node + 1]
    }

    pub(super) fn input_count(&self) -> usize {
        self.first_input.last().copied().unwrap_or_default()
    }

    /// The line as it leaves one slot; none where it carries something else, or the pipe it
    /// leads to has no way on for what it carries.
    fn slot_line(
        &self,
        nodes: &[CompiledNode],
        slot: usize,
        line: &CompiledLine,
    ) -> Option<SlotLine> {
        let carried = self.media[slot].within(line.media);
        if carried.is_empty() {
            return None;
        }
        let to = if nodes[line.to].role.is_pipe() {
            self.slots(line.to)
                .find(|slot| !self.media[*slot].within(carried).is_empty())?
        } else {
            self.first_slot[line.to]
        };
        let bit = line.input.trailing_zeros() as usize;
        let inputs = self.inputs(line.to);
        let input = (inputs.start + bit).min(inputs.end.saturating_sub(1));
        Some(SlotLine {
            from_node: line.from,
            to_node: line.to,
            to,
            input,
            modes: line.modes,
            arrival: Arrival::at(nodes[line.to].role),
        })
    }
}
