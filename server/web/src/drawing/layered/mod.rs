//! A network drawn in layers: flow runs down the page, pipes that run through from end to end
//! lie across it as rows, and every line is routed at right angles on a track of its own. Knows
//! nothing of brakes; the steps are those of Sugiyama, Tagawa and Toda (1981): layers, bends
//! where a line crosses a layer, fewer crossings by barycentres, coordinates; then channel
//! routing by the left-edge method.
//!
//! The same network always gives the same drawing. Time: layers and coordinates near linear in
//! nodes and bends; orders take [`order::SWEEPS`] sweeps of n log n for n lines of a layer;
//! tracks are quadratic in the lines of a channel. Bends are at most lines times layers.

mod across;
mod order;
mod pins;
mod proper;
mod ranks;
mod routes;
#[cfg(test)]
mod tests;
mod tracks;

use pins::Pins;
use proper::Proper;
use ranks::Ranks;

/// A symbol. Its middle is where lines come in above and leave below.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Node {
    /// From the middle to either edge of the symbol. Made wider where more lines meet.
    pub(crate) half: i32,
    /// Room for words beyond the left edge.
    pub(crate) before: i32,
    /// Room for words beyond the right edge.
    pub(crate) after: i32,
    /// The height of the symbol.
    pub(crate) height: i32,
    /// Where it belongs from left to right, as a first guess.
    pub(crate) hint: i64,
    /// Whether lines that rise into it from below may be joined: it has one input only.
    pub(crate) joins: bool,
}

/// Whether a line carries one way or both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ways {
    One,
    Both,
}

/// A line between two different nodes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Edge {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) ways: Ways,
    /// Lines of one sort that leave one node do so as one, and branch.
    pub(crate) sort: u8,
}

/// Nodes side by side, joined from left to right by lines between neighbours. The first or last
/// may be an end, which is drawn at the edge of the page.
#[derive(Debug, Clone, Default)]
pub(crate) struct Row {
    pub(crate) nodes: Vec<usize>,
    pub(crate) left_end: bool,
    pub(crate) right_end: bool,
}

/// What is to be drawn. No node is in two rows.
#[derive(Debug, Clone, Default)]
pub(crate) struct Graph {
    pub(crate) nodes: Vec<Node>,
    pub(crate) edges: Vec<Edge>,
    pub(crate) rows: Vec<Row>,
}

/// A point in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Point {
    pub(crate) x: i32,
    pub(crate) y: i32,
}

/// A node in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Placed {
    /// The middle of the symbol.
    pub(crate) at: Point,
    /// From the middle to either edge.
    pub(crate) half: i32,
    /// Whether it lies in a row.
    pub(crate) in_row: bool,
    /// How far the lines that meet its upper edge stand from the middle.
    pub(crate) above: Vec<i32>,
    /// The same of its lower edge.
    pub(crate) below: Vec<i32>,
}

/// Lines that leave one place as one, and branch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Net {
    /// Its lines.
    pub(crate) edges: Vec<usize>,
    /// The node that it leaves; none where it goes on from a bend.
    pub(crate) node: Option<usize>,
    /// Where it leaves its layer.
    pub(crate) at: Point,
    /// Where it branches.
    pub(crate) dots: Vec<Point>,
}

/// The drawing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Layout {
    pub(crate) width: i32,
    pub(crate) height: i32,
    pub(crate) nodes: Vec<Placed>,
    /// Each line from its beginning to its end, in right angles.
    pub(crate) paths: Vec<Vec<Point>>,
    pub(crate) nets: Vec<Net>,
}

/// Draws a network.
pub(crate) fn lay_out(graph: &Graph) -> Layout {
    let ranks = Ranks::of(graph);
    let mut proper = Proper::new(graph, &ranks);
    order::reduce_crossings(graph, &mut proper);
    let pins = Pins::new(graph, &ranks, &proper);
    let xs = across::coordinates(graph, &proper, &pins);
    routes::draw(graph, &proper, &pins, &xs)
}
