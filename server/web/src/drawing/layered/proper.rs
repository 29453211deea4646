//! The network with a bend wherever a line crosses a layer, so that every piece of a line joins
//! neighbouring layers.

use super::ranks::Ranks;
use super::{Graph, Row};

/// A node, or the bend of a line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Vertex {
    pub(super) layer: usize,
    /// Its place in the layer, from the left.
    pub(super) place: usize,
    pub(super) is_bend: bool,
}

/// A piece of a line from one layer to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Segment {
    pub(super) upper: usize,
    pub(super) lower: usize,
    pub(super) edge: usize,
}

/// The network in layers. The first vertices are the nodes.
pub(super) struct Proper {
    pub(super) vertices: Vec<Vertex>,
    pub(super) layers: Vec<Vec<usize>>,
    pub(super) segments: Vec<Segment>,
    /// The segments that come to each vertex from above, and that leave it below.
    pub(super) above: Vec<Vec<usize>>,
    pub(super) below: Vec<Vec<usize>>,
    /// The row that lies in each layer.
    pub(super) row_of_layer: Vec<Option<usize>>,
    /// The row of each node.
    row_of_node: Vec<Option<usize>>,
    rows: Vec<Row>,
}

impl Proper {
    /// Puts bends in; the vertices of each layer stand in the order in which they are met, depth
    /// first, from the rows and from what hints stand further left.
    pub(super) fn new(graph: &Graph, ranks: &Ranks) -> Self {
        let node = |layer: &usize| Vertex {
            layer: *layer,
            place: 0,
            is_bend: false,
        };
        let mut row_of_node = vec![None; graph.nodes.len()];
        let mut row_of_layer = vec![None; ranks.layers];
        for (index, row) in graph.rows.iter().enumerate() {
            for node in &row.nodes {
                row_of_node[*node] = Some(index);
                row_of_layer[ranks.layer[*node]] = Some(index);
            }
        }
        let mut proper = Self {
            vertices: ranks.layer.iter().map(node).collect(),
            layers: vec![Vec::new(); ranks.layers],
            segments: Vec::new(),
            above: vec![Vec::new(); graph.nodes.len()],
            below: vec![Vec::new(); graph.nodes.len()],
            row_of_layer,
            row_of_node,
            rows: graph.rows.clone(),
        };
        for (edge, arc) in ranks.arcs.iter().enumerate() {
            if let Some(arc) = arc {
                proper.add(edge, arc.upper, arc.lower);
            }
        }
        proper.put_in_order(graph);
        proper
    }

    fn add(&mut self, edge: usize, upper: usize, lower: usize) {
        let (first, last) = (self.vertices[upper].layer, self.vertices[lower].layer);
        let mut at = upper;
        for layer in first + 1..=last {
            let next = if layer == last {
                lower
            } else {
                self.vertices.push(Vertex {
                    layer,
                    place: 0,
                    is_bend: true,
                });
                self.above.push(Vec::new());
                self.below.push(Vec::new());
                self.vertices.len() - 1
            };
            self.below[at].push(self.segments.len());
            self.above[next].push(self.segments.len());
            self.segments.push(Segment {
                upper: at,
                lower: next,
                edge,
            });
            at = next;
        }
    }

    fn put_in_order(&mut self, graph: &Graph) {
        let mut others: Vec<usize> = (0..graph.nodes.len()).collect();
        others.sort_by_key(|node| (self.vertices[*node].layer, graph.nodes[*node].hint, *node));
        let in_rows = graph.rows.iter().flat_map(|row| row.nodes.iter().copied());
        let mut seen = vec![false; self.vertices.len()];
        for start in in_rows.clone().chain(others) {
            let mut stack = vec![start];
            while let Some(vertex) = stack.pop() {
                let in_row = vertex < graph.nodes.len() && self.row_of_node[vertex].is_some();
                if seen[vertex] || in_row && vertex != start {
                    continue;
                }
                seen[vertex] = true;
                self.layers[self.vertices[vertex].layer].push(vertex);
                let mut lower: Vec<usize> = self.below[vertex]
                    .iter()
                    .map(|segment| self.segments[*segment].lower)
                    .collect();
                lower.sort_by_key(|lower| std::cmp::Reverse((self.hint(graph, *lower), *lower)));
                stack.extend(lower);
            }
        }
        for layer in 0..self.layers.len() {
            self.number(layer);
        }
    }

    /// Where a vertex belongs: a bend where its line ends.
    fn hint(&self, graph: &Graph, vertex: usize) -> i64 {
        let mut at = vertex;
        while self.vertices[at].is_bend {
            at = self.segments[self.below[at][0]].lower;
        }
        graph.nodes[at].hint
    }

    /// Writes down the places of a layer's vertices.
    pub(super) fn number(&mut self, layer: usize) {
        for (place, vertex) in self.layers[layer].iter().enumerate() {
            self.vertices[*vertex].place = place;
        }
    }

    pub(super) fn place(&self, vertex: usize) -> usize {
        self.vertices[vertex].place
    }

    /// The row of a vertex; none of a bend, or a node in no row.
    pub(super) fn row(&self, vertex: usize) -> Option<&Row> {
        let row = self.row_of_node.get(vertex).copied().flatten()?;
        self.rows.get(row)
    }

    /// Whether a vertex is an end at the left edge of the page.
    pub(super) fn is_left_end(&self, vertex: usize) -> bool {
        self.row(vertex)
            .is_some_and(|row| row.left_end && row.nodes.first() == Some(&vertex))
    }

    /// Whether a vertex is an end at the right edge of the page.
    pub(super) fn is_right_end(&self, vertex: usize) -> bool {
        self.row(vertex)
            .is_some_and(|row| row.right_end && row.nodes.last() == Some(&vertex))
    }

    /// The vertices that segments lead to above or below a vertex.
    pub(super) fn uppers(&self, vertex: usize) -> impl Iterator<Item = usize> {
        let above = self.above[vertex].iter();
        above.map(|segment| self.segments[*segment].upper)
    }

    pub(super) fn lowers(&self, vertex: usize) -> impl Iterator<Item = usize> {
        let below = self.below[vertex].iter();
        below.map(|segment| self.segments[*segment].lower)
    }

    /// Whether no line comes to a vertex from above or leaves it below.
    pub(super) fn is_loose(&self, vertex: usize) -> bool {
        self.above[vertex].is_empty() && self.below[vertex].is_empty()
    }
}
