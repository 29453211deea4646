//! Which layer each node lies in, so that lines run down. A row has a layer of its own. What
//! only feeds a row from outside, such as compressors, hangs below it and rises, where there is
//! no room above.

use super::{Graph, Ways};
use std::collections::VecDeque;

/// The layers.
pub(super) struct Ranks {
    /// The layer of each node.
    pub(super) layer: Vec<usize>,
    /// How many there are.
    pub(super) layers: usize,
    /// The upper and lower node of each edge; none where both lie in one row.
    pub(super) arcs: Vec<Option<Arc>>,
}

/// An edge as it is drawn, from above to below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Arc {
    pub(super) upper: usize,
    pub(super) lower: usize,
}

impl Arc {
    fn flipped(self) -> Self {
        Self {
            upper: self.lower,
            lower: self.upper,
        }
    }
}

impl Ranks {
    pub(super) fn of(graph: &Graph) -> Self {
        let mut units = Units::new(graph);
        units.untangle();
        units.rank_what_rows_feed();
        units.sink_rows();
        units.rank_what_feeds_rows();
        units.rank_the_rest();
        units.finish(graph)
    }
}

/// What has a rank: a row as a whole, or a node of none. Rows come first.
struct Units {
    rows: usize,
    of_node: Vec<usize>,
    /// The edges between units, with the ends of each as nodes would have them.
    arcs: Vec<Option<Arc>>,
    /// Every unit after all that lie above it.
    order: Vec<usize>,
    rank: Vec<Option<i64>>,
}

impl Units {
    fn new(graph: &Graph) -> Self {
        let mut of_node = vec![usize::MAX; graph.nodes.len()];
        for (row, nodes) in graph.rows.iter().enumerate() {
            for node in &nodes.nodes {
                of_node[*node] = row;
            }
        }
        let mut count = graph.rows.len();
        for unit in of_node.iter_mut().filter(|unit| **unit == usize::MAX) {
            *unit = count;
            count += 1;
        }
        let mut units = Self {
            rows: graph.rows.len(),
            arcs: Vec::new(),
            order: Vec::new(),
            rank: vec![None; count],
            of_node,
        };
        let distances = units.distances(graph);
        let arc = |edge: &super::Edge| {
            let arc = Arc {
                upper: units.of_node[edge.from],
                lower: units.of_node[edge.to],
            };
            let key = |unit: usize| (distances[unit], unit);
            let turned = edge.ways == Ways::Both && key(arc.lower) < key(arc.upper);
            (arc.upper != arc.lower).then_some(if turned { arc.flipped() } else { arc })
        };
        units.arcs = graph.edges.iter().map(arc).collect();
        units
    }

    /// How many lines away from a row each unit is, along the flow.
    fn distances(&self, graph: &Graph) -> Vec<usize> {
        let mut next = vec![Vec::new(); self.rank.len()];
        for edge in &graph.edges {
            let (from, to) = (self.of_node[edge.from], self.of_node[edge.to]);
            next[from].push(to);
            if edge.ways == Ways::Both {
                next[to].push(from);
            }
        }
        let mut distances = vec![usize::MAX; self.rank.len()];
        let mut open: VecDeque<usize> = (0..self.rows).collect();
        distances[..self.rows].fill(0);
        while let Some(unit) = open.pop_front() {
            for to in &next[unit] {
                if distances[*to] == usize::MAX {
                    distances[*to] = distances[unit] + 1;
                    open.push_back(*to);
                }
            }
        }
        distances
    }

    fn below(&self) -> Vec<Vec<usize>> {
        let mut below = vec![Vec::new(); self.rank.len()];
        for (index, arc) in self.arcs.iter().enumerate() {
            if let Some(arc) = arc {
                below[arc.upper].push(index);
            }
        }
        below
    }

    /// Turns round the lines by which a circle would close, found depth first, rows before
    /// sources before the rest.
    fn untangle(&mut self) {
        let count = self.rank.len();
        let below = self.below();
        let mut fed = vec![false; count];
        for arc in self.arcs.iter().flatten() {
            fed[arc.lower] = true;
        }
        let sources = (self.rows..count).filter(|unit| !fed[*unit]);
        let starts: Vec<usize> = (0..self.rows).chain(sources).chain(0..count).collect();
        let (mut seen, mut finished) = (vec![false; count], vec![false; count]);
        let mut last_first = Vec::with_capacity(count);
        for start in starts {
            if seen[start] {
                continue;
            }
            seen[start] = true;
            let mut stack = vec![(start, 0)];
            while let Some((unit, next)) = stack.pop() {
                let Some(index) = below[unit].get(next) else {
                    finished[unit] = true;
                    last_first.push(unit);
                    continue;
                };
                stack.push((unit, next + 1));
                let Some(arc) = self.arcs[*index] else {
                    continue;
                };
                if !seen[arc.lower] {
                    seen[arc.lower] = true;
                    stack.push((arc.lower, 0));
                } else if !finished[arc.lower] {
                    self.arcs[*index] = Some(arc.flipped());
                }
            }
        }
        last_first.reverse();
        self.order = last_first;
    }

    /// How much lower than one unit another below it lies at least. Within a rank rows are drawn
    /// last.
    fn least(&self, upper: usize, lower: usize) -> i64 {
        i64::from(upper < self.rows || self.rows <= lower)
    }

    fn rank_what_rows_feed(&mut self) {
        for row in 0..self.rows {
            self.rank[row] = Some(0);
        }
        let below = self.below();
        for unit in self.order.clone() {
            let Some(rank) = self.rank[unit] else {
                continue;
            };
            for arc in below[unit].iter().filter_map(|index| self.arcs[*index]) {
                let rank = rank + self.least(unit, arc.lower);
                let before = self.rank[arc.lower].unwrap_or(0);
                self.rank[arc.lower] = Some(before.max(rank));
            }
        }
    }

    /// Lets each row down to just above what it feeds.
    fn sink_rows(&mut self) {
        let below = self.below();
        for row in self.order.clone().into_iter().rev() {
            if row < self.rows {
                let fed = below[row].iter().filter_map(|index| self.arcs[*index]);
                let highest = fed.filter_map(|arc| self.rank[arc.lower]).min();
                let sunk = highest.map(|rank| rank - 1);
                self.rank[row] = self.rank[row].max(sunk);
            }
        }
    }

    /// Whether each unit has no rank yet and leads to one that has.
    fn feeding(&self) -> Vec<bool> {
        let below = self.below();
        let mut feeding = vec![false; self.rank.len()];
        for unit in self.order.iter().rev() {
            let leads = |arc: Arc| self.rank[arc.lower].is_some() || feeding[arc.lower];
            let mut arcs = below[*unit].iter().filter_map(|index| self.arcs[*index]);
            feeding[*unit] = self.rank[*unit].is_none() && arcs.any(leads);
        }
        feeding
    }

    /// Puts what feeds something just above it, or, if there is no room, below.
    fn rank_what_feeds_rows(&mut self) {
        let feeding = self.feeding();
        for part in self.parts(&feeding) {
            let below = self.below();
            let mut rank = self.rank.clone();
            for unit in part.iter().rev() {
                let arcs = below[*unit].iter().filter_map(|index| self.arcs[*index]);
                let least = arcs.filter_map(|arc| {
                    let least = self.least(*unit, arc.lower);
                    rank[arc.lower].map(|rank| rank - least)
                });
                rank[*unit] = least.min();
            }
            if part
                .iter()
                .all(|unit| rank[*unit].is_some_and(|rank| 1 <= rank))
            {
                self.rank = rank;
                continue;
            }
            for unit in part.iter().rev() {
                let fed: Vec<usize> = below[*unit]
                    .iter()
                    .copied()
                    .filter(|index| {
                        self.arcs[*index].is_some_and(|arc| self.rank[arc.lower].is_some())
                    })
                    .collect();
                let ranks = fed
                    .iter()
                    .filter_map(|index| self.rank[self.arcs[*index]?.lower]);
                self.rank[*unit] = ranks.max().map(|rank| rank + 1);
                for index in fed {
                    self.arcs[index] = self.arcs[index].map(Arc::flipped);
                }
            }
        }
    }

    /// The parts of some units that hang together, each in order.
    fn parts(&self, of: &[bool]) -> Vec<Vec<usize>> {
        let mut near = vec![Vec::new(); of.len()];
        for arc in self.arcs.iter().flatten() {
            if of[arc.upper] && of[arc.lower] {
                near[arc.upper].push(arc.lower);
                near[arc.lower].push(arc.upper);
            }
        }
        let mut part = vec![usize::MAX; of.len()];
        let mut parts: Vec<Vec<usize>> = Vec::new();
        for start in self.order.iter().copied().filter(|unit| of[*unit]) {
            if part[start] == usize::MAX {
                part[start] = parts.len();
                let mut open = vec![start];
                while let Some(unit) = open.pop() {
                    for other in &near[unit] {
                        if part[*other] == usize::MAX {
                            part[*other] = parts.len();
                            open.push(*other);
                        }
                    }
                }
                parts.push(Vec::new());
            }
            parts[part[start]].push(start);
        }
        parts
    }

    /// Ranks what no row feeds and what feeds none: below what it hangs on.
    fn rank_the_rest(&mut self) {
        let mut above = vec![Vec::new(); self.rank.len()];
        for arc in self.arcs.iter().flatten() {
            above[arc.lower].push(arc.upper);
        }
        for unit in &self.order {
            if self.rank[*unit].is_none() {
                let highest = above[*unit]
                    .iter()
                    .filter_map(|upper| self.rank[*upper])
                    .max();
                self.rank[*unit] = Some(highest.map_or(1, |rank| rank + 1));
            }
        }
    }

    fn finish(self, graph: &Graph) -> Ranks {
        let key = |unit: usize| {
            let row = if unit < self.rows { unit + 1 } else { 0 };
            (self.rank[unit].unwrap_or(1), row)
        };
        let mut keys: Vec<(i64, usize)> = (0..self.rank.len()).map(key).collect();
        keys.sort_unstable();
        keys.dedup();
        let layer = |unit: &usize| keys.partition_point(|other| *other < key(*unit));
        let arc = |(arc, edge): (&Option<Arc>, &super::Edge)| {
            let ends = Arc {
                upper: edge.from,
                lower: edge.to,
            };
            let down = self.of_node[edge.from] == arc.as_ref()?.upper;
            Some(if down { ends } else { ends.flipped() })
        };
        Ranks {
            layer: self.of_node.iter().map(layer).collect(),
            layers: keys.len(),
            arcs: self.arcs.iter().zip(&graph.edges).map(arc).collect(),
        }
    }
}
