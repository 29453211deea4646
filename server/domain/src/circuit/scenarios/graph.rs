//! A train's circuit split by medium: each pipe has one slot for each medium that it can carry,
//! every other node one for air and one for demand, so that a slot delivers or does not.

use crate::circuit::Medium;
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::sets::{Media, Modes};
use crate::circuit::train::TrainCircuit;

/// A line from one slot to another, with what it may do there.
#[derive(Debug, Clone, Copy)]
pub(super) struct SlotLine {
    pub(super) from_node: usize,
    pub(super) to_node: usize,
    /// The slot it fills; of a node that is no pipe, the first of its two.
    pub(super) to: usize,
    /// Which input of an all-of it fills, counted through the train; 0 elsewhere.
    pub(super) input: usize,
    pub(super) modes: Modes,
}

/// The slots and lines of a train.
#[derive(Debug)]
pub(crate) struct SlotGraph {
    pub(super) roles: Vec<Role>,
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

impl SlotGraph {
    /// Splits a train. Linear in nodes and lines.
    pub(crate) fn new(train: &TrainCircuit) -> Self {
        let roles = train.roles().to_vec();
        let mut graph = Self {
            first_slot: vec![0],
            media: Vec::new(),
            lines: Vec::new(),
            first_line: vec![0],
            first_input: vec![0],
            roles,
        };
        for (role, carried) in graph.roles.iter().zip(carried(train)) {
            if role.is_pipe() {
                let each = Medium::ALL.iter().map(|medium| Media::of(*medium));
                let each = each.filter(|medium| !medium.within(carried).is_empty());
                graph.media.extend(each);
            } else {
                graph.media.extend([Media::AIR, DEMAND]);
            }
            graph.first_slot.push(graph.media.len());
            let inputs = match role {
                Role::AllOf(required) => required.count_ones() as usize,
                _ => 0,
            };
            let before = graph.first_input.last().copied().unwrap_or_default();
            graph.first_input.push(before + inputs);
        }
        for node in 0..graph.roles.len() {
            for slot in graph.slots(node) {
                let lines = train.lines_from(node).iter();
                let lines: Vec<SlotLine> = lines
                    .filter_map(|line| graph.slot_line(slot, line))
                    .collect();
                graph.lines.extend(lines);
                graph.first_line.push(graph.lines.len());
            }
        }
        graph
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
    fn slot_line(&self, slot: usize, line: &CompiledLine) -> Option<SlotLine> {
        let carried = self.media[slot].within(line.media);
        if carried.is_empty() {
            return None;
        }
        let to = if self.roles[line.to].is_pipe() {
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
        })
    }
}

/// What the lines of each node carry. What couplings carry is what the pipes on their two sides
/// do.
fn carried(train: &TrainCircuit) -> Vec<Media> {
    let mut carried = vec![Media::NONE; train.roles().len()];
    for node in 0..carried.len() {
        for line in train.lines_from(node) {
            if line.media != Media::ALL {
                carried[node] = carried[node].and(line.media);
                carried[line.to] = carried[line.to].and(line.media);
            }
        }
    }
    carried
}
