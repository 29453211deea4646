//! Where lines meet a symbol: each net that leaves it below and each line that comes in above
//! has a pin of its own.

use super::proper::Proper;
use super::ranks::Ranks;
use super::{Graph, Ways};
use std::collections::BTreeMap;

/// Between two pins.
pub(super) const PITCH: i32 = 9;
/// From the outermost pin to the edge of a symbol.
const EDGE: i32 = 5;

/// One end of a net.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pin {
    pub(super) vertex: usize,
    /// How far it stands from the middle of its vertex.
    pub(super) offset: i32,
}

/// What leaves one vertex as one line, between two layers; or a line from one node of a row to
/// another that is not beside it.
#[derive(Debug, Clone)]
pub(super) struct NetPins {
    /// The layer below which it runs.
    pub(super) layer: usize,
    /// One; or the two nodes of a row.
    pub(super) uppers: Vec<Pin>,
    /// The lower end of each segment.
    pub(super) lowers: Vec<Pin>,
    /// The segments, in the order of their lower ends.
    pub(super) segments: Vec<usize>,
    /// The edges in it.
    pub(super) edges: Vec<usize>,
}

/// The pins of all vertices.
pub(super) struct Pins {
    pub(super) nets: Vec<NetPins>,
    /// The net of each segment.
    pub(super) net_of: Vec<usize>,
    /// The edges within rows that lie between neighbours, and so are drawn straight.
    pub(super) straight: Vec<usize>,
    /// The net of each edge from one node of a row to another that is not beside it.
    pub(super) around: BTreeMap<usize, usize>,
    /// From the middle of each node to either edge of its symbol.
    pub(super) half: Vec<i32>,
    /// The offset of each segment where it comes to its lower vertex.
    pub(super) top: Vec<i32>,
    /// The offset of each segment where it leaves its upper vertex.
    pub(super) bottom: Vec<i32>,
}

impl Pins {
    pub(super) fn new(graph: &Graph, ranks: &Ranks, proper: &Proper) -> Self {
        let mut pins = Self {
            nets: Vec::new(),
            net_of: vec![0; proper.segments.len()],
            straight: Vec::new(),
            around: BTreeMap::new(),
            half: graph.nodes.iter().map(|node| node.half).collect(),
            top: vec![0; proper.segments.len()],
            bottom: vec![0; proper.segments.len()],
        };
        for vertex in 0..proper.vertices.len() {
            pins.nets_below(graph, proper, vertex);
        }
        pins.within_rows(graph, ranks, proper);
        pins.spread_below(proper);
        for vertex in 0..proper.vertices.len() {
            pins.spread_above(proper, vertex);
        }
        pins
    }

    /// Gathers what leaves a vertex below into nets: lines of one sort, and those that rise into
    /// it where it has one input only.
    fn nets_below(&mut self, graph: &Graph, proper: &Proper, vertex: usize) {
        let mut nets: BTreeMap<(u8, bool, usize), Vec<usize>> = BTreeMap::new();
        for segment in &proper.below[vertex] {
            let edge = &graph.edges[proper.segments[*segment].edge];
            let rises = edge.ways == Ways::One && edge.to == vertex;
            let joined = vertex >= graph.nodes.len() || !rises || graph.nodes[vertex].joins;
            let alone = if joined { usize::MAX } else { *segment };
            nets.entry((edge.sort, rises, alone))
                .or_default()
                .push(*segment);
        }
        for mut segments in nets.into_values() {
            segments.sort_by_key(|segment| proper.place(proper.segments[*segment].lower));
            for segment in &segments {
                self.net_of[*segment] = self.nets.len();
            }
            self.nets.push(NetPins {
                layer: proper.vertices[vertex].layer,
                uppers: vec![Pin { vertex, offset: 0 }],
                lowers: segments
                    .iter()
                    .map(|segment| Pin {
                        vertex: proper.segments[*segment].lower,
                        offset: 0,
                    })
                    .collect(),
                edges: segments.iter().map(|s| proper.segments[*s].edge).collect(),
                segments,
            });
        }
    }

    /// Tells the lines between neighbours of a row from those that must go around below it.
    fn within_rows(&mut self, graph: &Graph, ranks: &Ranks, proper: &Proper) {
        let mut taken: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for (index, edge) in graph.edges.iter().enumerate() {
            let (Some(row), None) = (proper.row(edge.from), ranks.arcs[index]) else {
                continue;
            };
            let place = |node: usize| row.nodes.iter().position(|other| *other == node);
            let (Some(from), Some(to)) = (place(edge.from), place(edge.to)) else {
                continue;
            };
            let (left, right) = (from.min(to), from.max(to));
            if left + 1 == right && !taken.contains_key(&(left, row.nodes[left])) {
                taken.insert((left, row.nodes[left]), index);
                self.straight.push(index);
                continue;
            }
            self.around.insert(index, self.nets.len());
            let pin = |place: usize| Pin {
                vertex: row.nodes[place],
                offset: 0,
            };
            self.nets.push(NetPins {
                layer: proper.vertices[edge.from].layer,
                uppers: vec![pin(left), pin(right)],
                lowers: Vec::new(),
                segments: Vec::new(),
                edges: vec![index],
            });
        }
    }

    /// Spreads the nets of each vertex over its lower edge, those to the left on the left.
    fn spread_below(&mut self, proper: &Proper) {
        let mut of_vertex: BTreeMap<usize, Vec<(f64, usize, usize)>> = BTreeMap::new();
        for (index, net) in self.nets.iter().enumerate() {
            for (end, pin) in net.uppers.iter().enumerate() {
                let leans = match (net.lowers.len(), end) {
                    (0, 0) => f64::INFINITY,
                    (0, _) => f64::NEG_INFINITY,
                    (count, _) => {
                        let places = net.lowers.iter().map(|pin| proper.place(pin.vertex));
                        places.sum::<usize>() as f64 / count as f64
                    }
                };
                of_vertex
                    .entry(pin.vertex)
                    .or_default()
                    .push((leans, index, end));
            }
        }
        for (vertex, mut ends) in of_vertex {
            ends.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
            let count = ends.len();
            for (place, (_, net, end)) in ends.into_iter().enumerate() {
                let offset = offset(place, count);
                self.nets[net].uppers[end].offset = offset;
                for segment in &self.nets[net].segments {
                    self.bottom[*segment] = offset;
                }
            }
            self.widen(vertex, count);
        }
    }

    /// Spreads the lines that come to a vertex from above over its upper edge.
    fn spread_above(&mut self, proper: &Proper, vertex: usize) {
        let mut segments = proper.above[vertex].clone();
        segments.sort_by_key(|segment| {
            let upper = proper.segments[*segment].upper;
            (proper.place(upper), self.bottom[*segment], *segment)
        });
        let count = segments.len();
        for (place, segment) in segments.into_iter().enumerate() {
            self.top[segment] = offset(place, count);
            let net = &mut self.nets[self.net_of[segment]];
            let lowers = net.lowers.iter_mut().zip(&net.segments);
            for (pin, _) in lowers.filter(|(_, other)| **other == segment) {
                pin.offset = offset(place, count);
            }
        }
        self.widen(vertex, count);
    }

    fn widen(&mut self, vertex: usize, pins: usize) {
        if let Some(half) = self.half.get_mut(vertex) {
            let least = offset(pins.saturating_sub(1), pins) + EDGE;
            *half = (*half).max(least);
        }
    }
}

/// How far one of several pins stands from the middle.
fn offset(place: usize, count: usize) -> i32 {
    let at = i32::try_from(2 * place).unwrap_or(0);
    let last = i32::try_from(count.saturating_sub(1)).unwrap_or(0);
    (at - last) * PITCH / 2
}
