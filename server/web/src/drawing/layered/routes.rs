//! Heights, and the lines from symbol to symbol.

use super::across::Across;
use super::pins::{NetPins, Pin, Pins};
use super::proper::Proper;
use super::tracks::{Course, Wire, courses};
use super::{Graph, Layout, Net, Placed, Point};

/// Above the first track of a channel, where lines leave symbols.
const LEAVING: i32 = 13;
/// Below the last, where arrows end.
const COMING: i32 = 13;
/// Between two tracks.
const TRACK: i32 = 8;
/// Between two layers without a track.
const BARE: i32 = 20;
/// Above the first layer and below the last.
const MARGIN: i32 = 8;

/// Draws the network.
pub(super) fn draw(graph: &Graph, proper: &Proper, pins: &Pins, across: &Across) -> Layout {
    let drafting = Drafting::new(graph, proper, pins, across);
    let paths = (0..graph.edges.len()).map(|edge| drafting.path(edge));
    let paths: Vec<Vec<Point>> = paths.collect();
    let nodes: Vec<Placed> = (0..graph.nodes.len())
        .map(|node| drafting.placed(node))
        .collect();
    let furthest = paths.iter().flatten().map(|point| point.x + MARGIN).max();
    Layout {
        width: across.width.max(furthest.unwrap_or(0)),
        height: drafting.height,
        nets: drafting.nets(),
        nodes,
        paths,
    }
}

/// The lines of a channel lie below each layer.
struct Drafting<'a> {
    graph: &'a Graph,
    proper: &'a Proper,
    pins: &'a Pins,
    across: &'a Across,
    courses: Vec<Course>,
    /// The top of each layer, and the bottom.
    layers: Vec<(i32, i32)>,
    /// The segments of each edge, from above to below.
    chains: Vec<Vec<usize>>,
    height: i32,
}

impl<'a> Drafting<'a> {
    fn new(graph: &'a Graph, proper: &'a Proper, pins: &'a Pins, across: &'a Across) -> Self {
        let mut chains = vec![Vec::new(); graph.edges.len()];
        for (index, segment) in proper.segments.iter().enumerate() {
            chains[segment.edge].push(index);
        }
        let mut drafting = Self {
            graph,
            proper,
            pins,
            across,
            courses: vec![Course::Straight; pins.nets.len()],
            layers: Vec::new(),
            chains,
            height: 0,
        };
        let mut of_layer: Vec<Vec<usize>> = vec![Vec::new(); proper.layers.len()];
        for (index, net) in pins.nets.iter().enumerate() {
            of_layer[net.layer].push(index);
        }
        let mut top = MARGIN;
        for (layer, nets) in of_layer.iter().enumerate() {
            let heights = proper.layers[layer]
                .iter()
                .filter_map(|v| graph.nodes.get(*v));
            let bottom = top + heights.map(|node| node.height).max().unwrap_or(0);
            drafting.layers.push((top, bottom));
            let wires: Vec<Wire> = nets
                .iter()
                .map(|net| drafting.wire(&pins.nets[*net]))
                .collect();
            let (courses, tracks) = courses(&wires);
            for (net, course) in nets.iter().zip(courses) {
                drafting.courses[*net] = course;
            }
            drafting.height = bottom + MARGIN;
            top = bottom;
            if 0 < tracks {
                let tracks = i32::try_from(tracks - 1).unwrap_or(0) * TRACK;
                top += LEAVING + tracks + COMING;
                drafting.height = drafting.height.max(top + MARGIN - COMING);
            } else {
                top += BARE;
            }
        }
        drafting
    }

    fn x(&self, pin: Pin) -> i32 {
        self.across.x[pin.vertex] + pin.offset
    }

    fn wire(&self, net: &NetPins) -> Wire {
        Wire {
            uppers: net.uppers.iter().map(|pin| self.x(*pin)).collect(),
            lowers: net.lowers.iter().map(|pin| self.x(*pin)).collect(),
        }
    }

    fn track(&self, layer: usize, track: usize) -> i32 {
        self.layers[layer].1 + LEAVING + i32::try_from(track).unwrap_or(0) * TRACK
    }

    fn middle(&self, node: usize) -> Point {
        let (top, bottom) = self.layers[self.proper.vertices[node].layer];
        Point {
            x: self.across.x[node],
            y: top.midpoint(bottom),
        }
    }

    fn placed(&self, node: usize) -> Placed {
        let above = self.proper.above[node].iter();
        let mut above: Vec<i32> = above.map(|segment| self.pins.top[*segment]).collect();
        let nets = self.pins.nets.iter().flat_map(|net| &net.uppers);
        let below = nets.filter(|pin| pin.vertex == node);
        let mut below: Vec<i32> = below.map(|pin| pin.offset).collect();
        above.sort_unstable();
        below.sort_unstable();
        Placed {
            at: self.middle(node),
            half: self.pins.half[node],
            in_row: self.proper.row(node).is_some(),
            above,
            below,
        }
    }

    /// The end of a line at the upper or lower edge of a symbol, or in the middle of a row;
    /// sides are -1 and 1.
    fn end(&self, node: usize, offset: i32, side: i32) -> Point {
        let Point { x, y } = self.middle(node);
        let height = match self.proper.row(node) {
            Some(_) => 0,
            None => self.graph.nodes[node].height,
        };
        Point {
            x: x + offset,
            y: y + side * height / 2,
        }
    }

    /// The line of an edge, from its beginning to its end.
    fn path(&self, edge: usize) -> Vec<Point> {
        let (from, to) = (self.graph.edges[edge].from, self.graph.edges[edge].to);
        let chain = &self.chains[edge];
        let (Some(first), Some(last)) = (chain.first(), chain.last()) else {
            return self.within_row(edge, from, to);
        };
        let (upper, lower) = (
            self.proper.segments[*first].upper,
            self.proper.segments[*last].lower,
        );
        let mut points = vec![self.end(upper, self.pins.bottom[*first], 1)];
        for segment in chain {
            let net = self.pins.net_of[*segment];
            let layer = self.pins.nets[net].layer;
            let ends = &self.proper.segments[*segment];
            let above = self.across.x[ends.upper] + self.pins.bottom[*segment];
            let below = self.across.x[ends.lower] + self.pins.top[*segment];
            self.along(layer, self.courses[net], (above, below), &mut points);
        }
        points.push(self.end(lower, self.pins.top[*last], -1));
        if lower == from {
            points.reverse();
        }
        in_line(&points)
    }

    fn along(
        &self,
        layer: usize,
        course: Course,
        (above, below): (i32, i32),
        points: &mut Vec<Point>,
    ) {
        let mut level = |track: usize, from: i32, to: i32| {
            let y = self.track(layer, track);
            points.extend([Point { x: from, y }, Point { x: to, y }]);
        };
        match course {
            Course::Straight => {}
            Course::Track(track) => level(track, above, below),
            Course::Two {
                first,
                column,
                second,
            } => {
                level(first, above, column);
                level(second, column, below);
            }
        }
    }

    fn within_row(&self, edge: usize, from: usize, to: usize) -> Vec<Point> {
        if let Some(net) = self.pins.around.get(&edge) {
            let pins = &self.pins.nets[*net];
            let offset = |node: usize| {
                let pin = pins.uppers.iter().find(|pin| pin.vertex == node);
                pin.map_or(0, |pin| pin.offset)
            };
            let (begin, end) = (self.end(from, offset(from), 1), self.end(to, offset(to), 1));
            let mut points = vec![begin];
            self.along(
                pins.layer,
                self.courses[*net],
                (begin.x, end.x),
                &mut points,
            );
            points.push(end);
            return in_line(&points);
        }
        let (one, other) = (self.middle(from), self.middle(to));
        let towards = (other.x - one.x).signum();
        vec![
            Point {
                x: one.x + towards * self.pins.half[from],
                ..one
            },
            Point {
                x: other.x - towards * self.pins.half[to],
                ..other
            },
        ]
    }

    /// The nets, with their branches.
    fn nets(&self) -> Vec<Net> {
        let nets = self.pins.nets.iter().zip(&self.courses);
        let net = |(pins, course): (&NetPins, &Course)| Net {
            edges: pins.edges.clone(),
            node: pins
                .uppers
                .first()
                .map(|pin| pin.vertex)
                .filter(|v| *v < self.graph.nodes.len()),
            at: Point {
                x: pins.uppers.first().map_or(0, |pin| self.x(*pin)),
                y: self.layers[pins.layer].1,
            },
            dots: self.dots(pins, *course),
        };
        nets.map(net).collect()
    }

    fn dots(&self, net: &NetPins, course: Course) -> Vec<Point> {
        let Wire { uppers, lowers } = self.wire(net);
        let (track, uppers) = match course {
            Course::Straight => return Vec::new(),
            Course::Track(track) => (track, uppers),
            Course::Two { column, second, .. } => (second, vec![column]),
        };
        let y = self.track(net.layer, track);
        let all = || uppers.iter().chain(&lowers).copied();
        let (left, right) = (all().min().unwrap_or(0), all().max().unwrap_or(0));
        let ways = |x: i32| {
            usize::from(left < x)
                + usize::from(x < right)
                + usize::from(uppers.contains(&x))
                + usize::from(lowers.contains(&x))
        };
        let mut branches: Vec<i32> = all().filter(|x| 3 <= ways(*x)).collect();
        branches.sort_unstable();
        branches.dedup();
        branches.into_iter().map(|x| Point { x, y }).collect()
    }
}

/// Leaves out points where a line does not turn.
fn in_line(points: &[Point]) -> Vec<Point> {
    let mut turns: Vec<Point> = Vec::with_capacity(points.len());
    for point in points {
        if turns.last() == Some(point) {
            continue;
        }
        if let [.., before, last] = turns.as_slice()
            && (before.x == last.x && last.x == point.x || before.y == last.y && last.y == point.y)
        {
            turns.pop();
        }
        turns.push(*point);
    }
    turns
}
