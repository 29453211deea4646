//! Where each vertex stands from left to right: near those that it is joined to, in the order of
//! its layer, and in a straight line with them where there is room.

mod blocks;
mod edges;

use super::Graph;
use super::pins::Pins;
use super::proper::Proper;

/// Between what stands side by side in a layer, and a little more as long as things move.
const GAP: i32 = 10;
const PLAY: i32 = 2;
/// The width that a page has; a layer that needs more makes the drawing wider.
const PAGE: i32 = 1240;
/// From a bend to either side.
const BEND: i32 = 3;
/// How often layers are gone through, down and up.
const SWEEPS: usize = 12;
/// How often what is in line is moved as one.
const ALIGNMENTS: usize = 8;

/// The coordinates.
pub(super) struct Across {
    /// The middle of each vertex.
    pub(super) x: Vec<i32>,
    pub(super) width: i32,
}

/// The least values that never fall and are nearest to targets with weights, by pooling
/// neighbours that would fall. Linear in their number.
pub(super) fn never_falling(targets: &[(f64, f64)]) -> Vec<f64> {
    let mut pools: Vec<(f64, f64, usize)> = Vec::with_capacity(targets.len());
    for (target, weight) in targets {
        pools.push((*target, *weight, 1));
        while let [.., before, last] = pools.as_slice()
            && last.0 < before.0
        {
            let weight = before.1 + last.1;
            let mean = (before.0 * before.1 + last.0 * last.1) / weight;
            let pooled = (mean, weight, before.2 + last.2);
            pools.truncate(pools.len() - 2);
            pools.push(pooled);
        }
    }
    let values = pools.into_iter();
    values
        .flat_map(|(mean, _, count)| std::iter::repeat_n(mean, count))
        .collect()
}

/// Finds the coordinates.
pub(super) fn coordinates(graph: &Graph, proper: &Proper, pins: &Pins) -> Across {
    let mut across = Placing {
        proper,
        pins,
        left: extents(graph, proper, pins, |node| node.before),
        right: extents(graph, proper, pins, |node| node.after),
        x: vec![0.0; proper.vertices.len()],
        page: 0.0,
    };
    across.pack();
    for _ in 0..SWEEPS {
        for layer in 0..proper.layers.len() {
            across.settle(layer, [1.0, 0.0]);
        }
        for layer in (0..proper.layers.len()).rev() {
            across.settle(layer, [0.0, 1.0]);
        }
    }
    for _ in 0..SWEEPS / 2 {
        for layer in 0..proper.layers.len() {
            across.settle(layer, [1.0, 1.0]);
        }
    }
    let blocks = across.blocks();
    for _ in 0..ALIGNMENTS {
        for (index, block) in blocks.all.iter().enumerate() {
            if !across.align(block) {
                across.push(&blocks, index);
            }
        }
    }
    across.finish()
}

/// From the middle of each vertex to the edge of its words on one side.
fn extents(
    graph: &Graph,
    proper: &Proper,
    pins: &Pins,
    words: impl Fn(&super::Node) -> i32,
) -> Vec<i32> {
    let of = |vertex: usize| match graph.nodes.get(vertex) {
        Some(node) => pins.half[vertex] + words(node),
        None => BEND,
    };
    (0..proper.vertices.len()).map(of).collect()
}

struct Placing<'a> {
    proper: &'a Proper,
    pins: &'a Pins,
    left: Vec<i32>,
    right: Vec<i32>,
    x: Vec<f64>,
    /// The width within which everything is placed.
    page: f64,
}

impl Placing<'_> {
    /// The least distance of two neighbours.
    fn apart(&self, left: usize, right: usize) -> f64 {
        f64::from(self.right[left] + GAP + self.left[right])
    }

    /// How wide neighbours are together.
    fn room(&self, vertices: &[usize]) -> f64 {
        let room =
            |vertex: &usize| f64::from(self.left[*vertex] + self.right[*vertex] + GAP + PLAY);
        vertices.iter().map(room).sum()
    }

    /// The vertices of a layer that do not belong to its edges, and the width of those that do.
    fn inside(&self, layer: usize) -> (&[usize], [f64; 2]) {
        let vertices = &self.proper.layers[layer];
        let [left, right] = self.outside(vertices);
        let (before, rest) = vertices.split_at(left);
        let (inside, after) = rest.split_at(rest.len() - right);
        (inside, [self.room(before), self.room(after)])
    }

    /// Everything side by side in the middle of the page, or at its edges.
    fn pack(&mut self) {
        let layers = &self.proper.layers;
        let rooms = layers.iter().map(|layer| self.room(layer));
        self.page = rooms.fold(f64::from(PAGE), f64::max);
        for layer in layers {
            let mut at = (self.page - self.room(layer)) / 2.0;
            for vertex in layer {
                self.x[*vertex] = at + f64::from(self.left[*vertex]);
                at += self.room(&[*vertex]);
            }
            let [left, right] = self.outside(layer);
            let mut edge = 0.0;
            for vertex in &layer[..left] {
                self.x[*vertex] = edge + f64::from(self.left[*vertex]);
                edge += self.room(&[*vertex]);
            }
            let mut edge = self.page;
            for vertex in layer[layer.len() - right..].iter().rev() {
                self.x[*vertex] = edge - f64::from(self.right[*vertex]);
                edge -= self.room(&[*vertex]);
            }
        }
    }

    /// Where the lines from above and from below, so weighted, would have a vertex, and how
    /// strongly. Bends in line count most.
    fn wish(&self, vertex: usize, [above, below]: [f64; 2]) -> (f64, f64) {
        let bend = |vertex: usize| self.proper.vertices[vertex].is_bend;
        let weight = |segment: usize, other: usize| match (bend(vertex), bend(other)) {
            (true, true) => 60.0,
            _ if self.is_single(segment) => 30.0,
            _ => 1.0,
        };
        let (mut sum, mut total) = (0.0, 0.0);
        let mut add = |x: f64, weight: f64| {
            sum += x * weight;
            total += weight;
        };
        for segment in &self.proper.above[vertex] {
            let upper = self.proper.segments[*segment].upper;
            let apart = f64::from(self.pins.bottom[*segment] - self.pins.top[*segment]);
            add(self.x[upper] + apart, above * weight(*segment, upper));
        }
        for segment in &self.proper.below[vertex] {
            let lower = self.proper.segments[*segment].lower;
            let apart = f64::from(self.pins.top[*segment] - self.pins.bottom[*segment]);
            add(self.x[lower] + apart, below * weight(*segment, lower));
        }
        if total > 0.0 {
            (sum / total, total)
        } else {
            (self.x[vertex], 0.05)
        }
    }

    /// Moves the vertices of a layer as near to their wishes as their order and the page allow.
    fn settle(&mut self, layer: usize, by: [f64; 2]) {
        let (vertices, [before, after]) = self.inside(layer);
        let vertices = vertices.to_vec();
        let (Some(first), Some(last)) = (vertices.first(), vertices.last()) else {
            return;
        };
        let mut offsets = vec![0.0];
        for pair in vertices.windows(2) {
            let apart = self.apart(pair[0], pair[1]) + f64::from(PLAY);
            offsets.push(offsets[offsets.len() - 1] + apart);
        }
        let from = before + f64::from(self.left[*first]);
        let most = self.page - after - f64::from(self.right[*last]) - offsets[offsets.len() - 1];
        let wishes = vertices.iter().zip(&offsets).map(|(vertex, offset)| {
            let (x, weight) = self.wish(*vertex, by);
            (x - offset, weight)
        });
        let settled = never_falling(&wishes.collect::<Vec<_>>());
        for ((vertex, offset), x) in vertices.iter().zip(offsets).zip(settled) {
            self.x[*vertex] = x.min(most).max(from) + offset;
        }
    }

    /// Whether a segment is all of its net.
    fn is_single(&self, segment: usize) -> bool {
        self.pins.nets[self.pins.net_of[segment]].segments.len() == 1
    }
}
