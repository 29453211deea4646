//! Straight lines: what one line goes through is moved as one.

use super::Placing;
use std::collections::BTreeMap;

/// All vertices in blocks: those that one line goes through from above to below, as far as it
/// does not branch, with what their x must be together.
pub(super) struct Blocks {
    pub(super) all: Vec<Vec<(usize, f64)>>,
    /// The block of each vertex.
    of: Vec<usize>,
}

impl Placing<'_> {
    /// The blocks, the longest first.
    pub(super) fn blocks(&self) -> Blocks {
        let single = |segment: &usize| self.is_single(*segment);
        let next = |vertex: usize| {
            let mut below = self.proper.below[vertex].iter().filter(|s| single(s));
            let segment = *below.next().filter(|_| below.next().is_none())?;
            let lower = self.proper.segments[segment].lower;
            let mut above = self.proper.above[lower].iter().filter(|s| single(s));
            let alone = above.next() == Some(&segment) && above.next().is_none();
            let apart = self.pins.bottom[segment] - self.pins.top[segment];
            alone.then_some((lower, f64::from(apart)))
        };
        let mut begun = vec![true; self.x.len()];
        for vertex in 0..self.x.len() {
            if let Some((lower, _)) = next(vertex) {
                begun[lower] = false;
            }
        }
        let block = |first: usize| {
            let mut block = vec![(first, 0.0)];
            let (mut at, mut apart) = (first, 0.0);
            while let Some((lower, more)) = next(at) {
                (at, apart) = (lower, apart + more);
                block.push((at, apart));
            }
            block
        };
        let begun = (0..self.x.len()).filter(|vertex| begun[*vertex]);
        let mut all: Vec<Vec<(usize, f64)>> = begun.map(block).collect();
        all.sort_by_key(|block| std::cmp::Reverse(block.len()));
        let mut of = vec![0; self.x.len()];
        for (index, block) in all.iter().enumerate() {
            for (vertex, _) in block {
                of[*vertex] = index;
            }
        }
        Blocks { all, of }
    }

    /// Moves a block as one into line, as near to the wishes of its vertices as there is room;
    /// says whether there was.
    pub(super) fn align(&mut self, block: &[(usize, f64)]) -> bool {
        let (mut least, mut most) = (f64::NEG_INFINITY, f64::INFINITY);
        let (mut sum, mut total) = (0.0, 0.0);
        for (place, (vertex, apart)) in block.iter().enumerate() {
            let layer = &self.proper.layers[self.proper.vertices[*vertex].layer];
            let at = self.proper.place(*vertex);
            if let Some(left) = at.checked_sub(1).map(|left| layer[left]) {
                least = least.max(self.x[left] + self.apart(left, *vertex) - apart);
            }
            if let Some(right) = layer.get(at + 1) {
                most = most.min(self.x[*right] - self.apart(*vertex, *right) - apart);
            }
            let ends = [f64::from(place == 0), f64::from(place + 1 == block.len())];
            if ends != [0.0, 0.0] {
                let (x, weight) = self.wish(*vertex, ends);
                sum += (x - apart) * weight;
                total += weight;
            }
        }
        if total <= 0.0 || most < least {
            return false;
        }
        let x = (sum / total).min(most).max(least);
        for (vertex, apart) in block {
            self.x[*vertex] = x + apart;
        }
        true
    }

    /// Moves a block into line and pushes aside what stands in its way, each block as one;
    /// leaves all as it is where there is no room for that.
    pub(super) fn push(&mut self, blocks: &Blocks, block: usize) {
        let vertices = &blocks.all[block];
        let at = |(vertex, apart): &(usize, f64)| self.x[*vertex] - apart;
        let ends = [vertices.first(), vertices.last()].into_iter().flatten();
        let mut wishes: Vec<f64> = ends.map(at).collect();
        wishes.push(vertices.iter().map(at).sum::<f64>() / vertices.len() as f64);
        for x in wishes {
            let mut pushing = Pushing {
                placing: self,
                blocks,
                x: BTreeMap::new(),
                shifted: BTreeMap::from([(block, 0.0)]),
                open: Vec::new(),
            };
            for (vertex, apart) in vertices {
                pushing.x.insert(*vertex, x + apart);
                pushing.open.push(*vertex);
            }
            if pushing.has_room(block) {
                let moved = pushing.x;
                for (vertex, x) in moved {
                    self.x[vertex] = x;
                }
                return;
            }
        }
    }
}

/// How many vertices are looked at before pushing is given up.
const PUSHES_MAX: usize = 400;

/// A block being pushed into line.
struct Pushing<'a> {
    placing: &'a Placing<'a>,
    blocks: &'a Blocks,
    /// Where what is moved would stand.
    x: BTreeMap<usize, f64>,
    /// How far each block is moved.
    shifted: BTreeMap<usize, f64>,
    open: Vec<usize>,
}

impl Pushing<'_> {
    fn x(&self, vertex: usize) -> f64 {
        let moved = self.x.get(&vertex).copied();
        moved.unwrap_or(self.placing.x[vertex])
    }

    /// Pushes on until nothing stands in the way; says whether that could be done.
    fn has_room(&mut self, first: usize) -> bool {
        for _ in 0..PUSHES_MAX {
            let Some(vertex) = self.open.pop() else {
                return true;
            };
            if !(self.is_clear(vertex, first, -1.0) && self.is_clear(vertex, first, 1.0)) {
                return false;
            }
        }
        false
    }

    /// Pushes what stands in the way on one side; says whether it gives way.
    fn is_clear(&mut self, vertex: usize, first: usize, side: f64) -> bool {
        let placing = self.placing;
        let layer = &placing.proper.layers[placing.proper.vertices[vertex].layer];
        let place = placing.proper.place(vertex);
        let x = self.x(vertex);
        let next = if side < 0.0 {
            place.checked_sub(1).map(|next| layer[next])
        } else {
            layer.get(place + 1).copied()
        };
        let Some(other) = next else {
            let room = [placing.left[vertex], placing.right[vertex]].map(f64::from);
            return room[0] <= x && x <= placing.page - room[1];
        };
        let apart = if side < 0.0 {
            placing.apart(other, vertex)
        } else {
            placing.apart(vertex, other)
        };
        let shift = x + side * apart - self.x(other);
        if shift * side <= 0.0 {
            return true;
        }
        let block = self.blocks.of[other];
        let before = self.shifted.get(&block).copied().unwrap_or(0.0);
        let ends = placing.proper.is_left_end(other) || placing.proper.is_right_end(other);
        if block == first || ends || before * side < 0.0 {
            return false;
        }
        self.shifted.insert(block, before + shift);
        for (vertex, _) in &self.blocks.all[block] {
            let x = self.x(*vertex) + shift;
            self.x.insert(*vertex, x);
            self.open.push(*vertex);
        }
        true
    }
}
