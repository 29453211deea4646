//! The edges of the page, where pipes end.

use super::{Across, GAP, Placing};

/// Around the whole drawing.
const MARGIN: i32 = 8;

/// The nearest whole number, of halves the greater, so that distances in whole numbers stay.
#[expect(
    clippy::cast_possible_truncation,
    reason = "a page is no wider than its nodes and lines; beyond, the cast takes the largest"
)]
fn whole(x: f64) -> i32 {
    (x + 0.5).floor() as i32
}

impl Placing<'_> {
    /// Whole numbers from the left margin; what of a row has no lines, and ends, at the edges.
    pub(super) fn finish(self) -> Across {
        let mut x: Vec<i32> = self.x.iter().map(|x| whole(*x)).collect();
        let apart = |left: usize, right: usize| self.right[left] + GAP + self.left[right];
        let (mut leftmost, mut rightmost) = (i32::MAX, i32::MIN);
        let mut outside = Vec::new();
        for layer in &self.proper.layers {
            for pair in layer.windows(2) {
                x[pair[1]] = x[pair[1]].max(x[pair[0]] + apart(pair[0], pair[1]));
            }
            let [left, right] = self.outside(layer);
            let inside = &layer[left..layer.len() - right];
            let width = |part: &[usize]| -> i32 {
                part.iter()
                    .map(|v| self.left[*v] + self.right[*v] + GAP)
                    .sum()
            };
            if let (Some(first), Some(last)) = (inside.first(), inside.last()) {
                let before = x[*first] - self.left[*first] - width(&layer[..left]);
                let after = x[*last] + self.right[*last] + width(&layer[layer.len() - right..]);
                (leftmost, rightmost) = (leftmost.min(before), rightmost.max(after));
            }
            outside.push((left, right));
        }
        if rightmost < leftmost {
            (leftmost, rightmost) = (0, 0);
        }
        for (layer, (left, right)) in self.proper.layers.iter().zip(&outside) {
            let total: i32 = layer
                .iter()
                .map(|v| self.left[*v] + self.right[*v] + GAP)
                .sum();
            if left + right == layer.len() {
                rightmost = rightmost.max(leftmost + total);
            }
        }
        for (layer, (left, right)) in self.proper.layers.iter().zip(outside) {
            let mut edge = leftmost;
            for vertex in &layer[..left] {
                x[*vertex] = edge + self.left[*vertex];
                edge += self.left[*vertex] + self.right[*vertex] + GAP;
            }
            let mut edge = rightmost;
            for vertex in layer[layer.len() - right..].iter().rev() {
                x[*vertex] = edge - self.right[*vertex];
                edge -= self.left[*vertex] + self.right[*vertex] + GAP;
            }
        }
        for x in &mut x {
            *x += MARGIN - leftmost;
        }
        Across {
            x,
            width: rightmost - leftmost + 2 * MARGIN,
        }
    }

    /// How many vertices at the beginning and at the end of a layer belong to the edges.
    pub(super) fn outside(&self, layer: &[usize]) -> [usize; 2] {
        let proper = self.proper;
        let is_out = |vertex: &&usize| proper.row(**vertex).is_some() && proper.is_loose(**vertex);
        let right_end = layer.last().is_some_and(|v| proper.is_right_end(*v));
        let left = layer
            .iter()
            .take_while(|v| (is_out(v) || proper.is_left_end(**v)) && !proper.is_right_end(**v))
            .count();
        let right = layer[left..]
            .iter()
            .rev()
            .enumerate()
            .take_while(|(place, v)| is_out(v) || *place == 0 && right_end)
            .count();
        [left, right]
    }
}
