//! The circuit of a car as a layered drawing: symbols in the manner of ISO 1219-1, media by
//! style, letter and colour, what flows in a mode, and what is lost, struck through.

mod connections;
mod glyph;
mod marks;
mod pipes;
#[cfg(test)]
mod tests;

pub(crate) use connections::Style;
pub(crate) use glyph::Glyph;
pub(crate) use marks::{LetterMark, LineMark, PortMark, SymbolMark};

use super::layered::{Edge, Graph, Node, Point, lay_out};
use super::train_side::Cock;
use connections::Connections;
use domain::circuit::{Behaviour, End, Place};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{CarType, Position};
use domain::identity::PositionCode;
use domain::isolation::cause::Cause;
use domain::isolation::flow::CarFlow;
use std::collections::BTreeMap;

/// From the middle of a symbol to its edges.
const HALF: i32 = 15;
const HEIGHT: i32 = 30;
/// A letter of a code, rounded up, in hundredths of a pixel; and of other words.
const CODE_LETTER: usize = 725;
const WORD_LETTER: usize = 690;
/// Longer parts of a code are cut on the drawing; its words are whole.
const LABEL_MAX: usize = 16;

/// A car coupled to an end.
#[derive(Debug, Clone)]
pub(crate) struct Neighbour {
    pub(crate) number: String,
    pub(crate) href: String,
    /// The pipes and wires that it joins on.
    pub(crate) pipes: Vec<String>,
}

/// What is to be drawn.
pub(crate) struct Drawn<'a> {
    pub(crate) car_type: &'a CarType,
    pub(crate) orientation: Orientation,
    /// Towards the front of the train, which is on the left, and towards its rear.
    pub(crate) neighbours: [Option<Neighbour>; 2],
    /// What flows; none where there is no answer.
    pub(crate) flow: Option<&'a CarFlow>,
    /// A position to be marked.
    pub(crate) marked: Option<&'a PositionCode>,
    /// The positions that can be turned over.
    pub(crate) cocks: &'a BTreeMap<PositionCode, Cock>,
    /// A cause in words.
    pub(crate) cause: &'a dyn Fn(&Cause) -> String,
}

/// The drawing.
#[derive(Debug)]
pub(crate) struct CircuitDrawing {
    pub(crate) width: i32,
    pub(crate) height: i32,
    /// The least width at which its codes can be read.
    pub(crate) least_width: i32,
    /// Those at rest, those lost, and those that carry, in this order.
    pub(crate) lines: Vec<LineMark>,
    pub(crate) dots: Vec<Point>,
    pub(crate) letters: Vec<LetterMark>,
    pub(crate) symbols: Vec<SymbolMark>,
    pub(crate) ports: Vec<PortMark>,
    /// The symbols that occur, for the legend.
    pub(crate) glyphs: Vec<Glyph>,
    /// The lines that occur.
    pub(crate) styles: Vec<Style>,
}

impl CircuitDrawing {
    /// Draws a circuit; the cost is that of its layout.
    pub(crate) fn new(drawn: &Drawn<'_>) -> Self {
        let described = Described::new(drawn.car_type, drawn.orientation);
        let layout = lay_out(&described.graph);
        marks::mark(drawn, &described, &layout)
    }
}

/// What belongs at a node, and what it does; nothing at ports and junctions.
type Known<'a> = Option<(&'a Position, &'a Behaviour)>;

/// A circuit as it is laid out.
struct Described<'a> {
    connections: Connections,
    graph: Graph,
    known: Vec<Known<'a>>,
    left: End,
}

impl<'a> Described<'a> {
    fn new(car_type: &'a CarType, orientation: Orientation) -> Self {
        let left = match orientation {
            Orientation::Forward => End::End1,
            Orientation::Reversed => End::End2,
        };
        let connections = Connections::of(&car_type.circuit);
        let behaviours: BTreeMap<&PositionCode, &Behaviour> = car_type
            .circuit
            .nodes
            .iter()
            .map(|node| (&node.position, &node.behaviour))
            .collect();
        let positions: BTreeMap<&PositionCode, &Position> = car_type
            .positions
            .iter()
            .map(|position| (&position.code, position))
            .collect();
        let known = |place: &Option<Place>| match place {
            Some(Place::Position(code)) => Some((*positions.get(code)?, *behaviours.get(code)?)),
            _ => None,
        };
        let known: Vec<_> = connections.places.iter().map(known).collect();
        let mut described = Self {
            graph: Graph {
                nodes: Vec::new(),
                edges: edges(&connections),
                rows: pipes::rows(&connections, left),
            },
            connections,
            known,
            left,
        };
        described.measure();
        described
    }

    /// Gives every node its room.
    fn measure(&mut self) {
        let mut in_row = vec![false; self.connections.places.len()];
        for node in self.graph.rows.iter().flat_map(|row| &row.nodes) {
            in_row[*node] = true;
        }
        let places = self.connections.places.iter().zip(&self.known).zip(&in_row);
        let node = |((place, known), in_row): ((&Option<Place>, &Known<'_>), &bool)| match (
            place, known,
        ) {
            (None, _) => plain(4, 8),
            (Some(Place::Port { end, pipe }), _) => {
                let room = width(port_words(pipe).chars().count().max(12), WORD_LETTER) + 4;
                let mut port = plain(8, 36);
                if *end == self.left {
                    port.after = room;
                } else {
                    port.before = room;
                }
                port
            }
            (Some(Place::Position(code)), known) => {
                let parts = label(code).map(|part| part.chars().count());
                let [one, other] = parts;
                let letters = if *in_row { one + other } else { one.max(other) };
                self.symbol(*known, letters)
            }
        };
        self.graph.nodes = places.map(node).collect();
    }

    /// The room of a symbol with so many letters beside it.
    fn symbol(&self, known: Known<'_>, letters: usize) -> Node {
        let name = known.map_or("", |(position, _)| name_on_car(position));
        let before = match name.chars().count() {
            0 => 0,
            letters => width(letters, CODE_LETTER + 75) + 4,
        };
        let along = known.map_or(0, |(position, _)| i64::from(position.along_mm));
        Node {
            before,
            after: width(letters, CODE_LETTER) + 4,
            hint: if self.left == End::End1 {
                along
            } else {
                -along
            },
            joins: !matches!(known, Some((_, Behaviour::AllOf | Behaviour::AnyOf))),
            ..plain(HALF, HEIGHT)
        }
    }
}

fn plain(half: i32, height: i32) -> Node {
    Node {
        half,
        before: 0,
        after: 0,
        height,
        hint: 0,
        joins: true,
    }
}

fn edges(connections: &Connections) -> Vec<Edge> {
    let edge = |connection: &connections::Connection| Edge {
        from: connection.from,
        to: connection.to,
        ways: connection.ways,
        sort: connection.style as u8,
    };
    connections.all.iter().map(edge).collect()
}

/// How wide so many letters are.
fn width(letters: usize, each: usize) -> i32 {
    i32::try_from((letters * each).div_ceil(100)).unwrap_or(i32::MAX / 4)
}

/// A code in two parts, each short enough for the drawing.
fn label(code: &PositionCode) -> [String; 2] {
    let code = code.as_str();
    let at = code.rfind('-').filter(|at| 0 < *at).unwrap_or(code.len());
    let cut = |part: &str| match part.char_indices().nth(LABEL_MAX) {
        Some((at, _)) => format!("{}…", &part[..at]),
        None => part.to_owned(),
    };
    [cut(&code[..at]), cut(&code[at..])]
}

/// What stands on the car beside a cock; empty where nothing short does.
fn name_on_car(position: &Position) -> &str {
    let label = position.label_on_car().map(|alias| alias.name.as_str());
    label.filter(|name| name.chars().count() <= 3).unwrap_or("")
}

fn port_words(pipe: &str) -> String {
    pipe.replace('_', " ")
}
