//! What is drawn where: lines, symbols with their words, and the ends of the car.

mod lines;
mod symbols;

use super::connections::Style;
use super::glyph::{Glyph, Stands};
use super::{CircuitDrawing, Described, Drawn, Neighbour, port_words};
use crate::drawing::layered::{Layout, Point};
use domain::circuit::{Behaviour, Place};
use domain::configuration::car_type::Position;
use domain::isolation::CutOutState;
use domain::isolation::cause::CauseKind;
use domain::isolation::flow::{Flowing, PlaceFlow};
use std::collections::BTreeSet;

/// The height of the letters of a code, and the least at which they can be read, in pixels.
const LETTER: i32 = 12;
const LEAST_LETTER: i32 = 11;

/// A line.
#[derive(Debug)]
pub(crate) struct LineMark {
    pub(crate) style: &'static str,
    /// `flows`, `lost`, `rest` or `unknown`.
    pub(crate) state: &'static str,
    /// Its course.
    pub(crate) d: String,
    pub(crate) title: String,
    /// Where its arrow ends, and how far that is turned from downwards.
    pub(crate) tip: Option<(Point, i32)>,
    /// Where it is crossed out.
    pub(crate) cross: Option<Point>,
}

/// The letter of a medium.
#[derive(Debug)]
pub(crate) struct LetterMark {
    pub(crate) at: Point,
    pub(crate) letter: &'static str,
    pub(crate) style: &'static str,
}

/// A position, or a junction.
#[derive(Debug)]
pub(crate) struct SymbolMark {
    pub(crate) at: Point,
    pub(crate) glyph: &'static str,
    /// How far the symbol is turned.
    pub(crate) turn: i32,
    /// Short lines that join the symbol to what meets it.
    pub(crate) leads: String,
    /// From its middle to the edge of the symbol.
    pub(crate) half: i32,
    /// From its middle to the left of its words, and how wide it is with them: what can be hit.
    pub(crate) reach: (i32, i32),
    /// `flows`, `drags`, `lost`, `rest` or `unknown`.
    pub(crate) state: &'static str,
    /// Its code in two lines; of a row in one, and the second is empty.
    pub(crate) code: [String; 2],
    pub(crate) in_row: bool,
    /// What stands on the car.
    pub(crate) name: String,
    pub(crate) title: String,
    /// What turns it over.
    pub(crate) href: Option<String>,
    /// The class and the mark of a cock that is not as it should be.
    pub(crate) cock: &'static str,
    pub(crate) badge: &'static str,
    pub(crate) struck: bool,
    /// Whether it is what the page was asked about.
    pub(crate) marked: bool,
}

/// An end of the car.
#[derive(Debug)]
pub(crate) struct PortMark {
    pub(crate) at: Point,
    pub(crate) on_left: bool,
    pub(crate) state: &'static str,
    pub(crate) pipe: String,
    pub(crate) letter: &'static str,
    pub(crate) style: &'static str,
    pub(crate) title: String,
    /// The number and page of the car that it is joined to.
    pub(crate) to: Option<(String, String)>,
}

/// Everything in its place.
pub(super) fn mark(
    drawn: &Drawn<'_>,
    described: &Described<'_>,
    layout: &Layout,
) -> CircuitDrawing {
    let marking = Marking {
        drawn,
        described,
        layout,
    };
    let connections = &described.connections.all;
    let mut lines: Vec<LineMark> = (0..connections.len())
        .map(|line| marking.line(line))
        .collect();
    let weight = |line: &LineMark| match line.state {
        "flows" => 2,
        "lost" => 1,
        _ => 0,
    };
    lines.sort_by_key(weight);
    let mut glyphs = BTreeSet::new();
    for (position, behaviour) in described.known.iter().flatten() {
        glyphs.insert(marking.glyph(position, behaviour));
    }
    let styles: BTreeSet<Style> = connections.iter().map(|line| line.style).collect();
    let nodes = 0..layout.nodes.len();
    CircuitDrawing {
        width: layout.width,
        height: layout.height,
        least_width: layout.width * LEAST_LETTER / LETTER,
        lines,
        dots: layout
            .nets
            .iter()
            .flat_map(|net| net.dots.clone())
            .collect(),
        letters: layout
            .nets
            .iter()
            .filter_map(|net| marking.letter(net))
            .collect(),
        symbols: nodes
            .clone()
            .filter_map(|node| marking.symbol(node))
            .collect(),
        ports: nodes.filter_map(|node| marking.port(node)).collect(),
        glyphs: glyphs.into_iter().collect(),
        styles: styles.into_iter().collect(),
    }
}

struct Marking<'a> {
    drawn: &'a Drawn<'a>,
    described: &'a Described<'a>,
    layout: &'a Layout,
}

impl Marking<'_> {
    fn flow_at(&self, node: usize) -> Option<&PlaceFlow> {
        let place = self.described.connections.places[node].as_ref()?;
        self.drawn.flow?.places.get(place)
    }

    fn name(&self, node: usize) -> String {
        match &self.described.connections.places[node] {
            Some(Place::Position(code)) => code.to_string(),
            Some(Place::Port { end, pipe }) => format!("{end}, {}", port_words(pipe)),
            None => "the junction".to_owned(),
        }
    }

    fn why(&self, node: usize) -> String {
        let causes = self.flow_at(node).map_or(&[][..], |flow| &flow.why);
        let words: Vec<String> = causes
            .iter()
            .map(|cause| (self.drawn.cause)(cause))
            .collect();
        match words.as_slice() {
            [] => String::new(),
            words => format!("; because {}", words.join(", and ")),
        }
    }

    fn glyph(&self, position: &Position, behaviour: &Behaviour) -> Glyph {
        let place = Place::Position(position.code.clone());
        let flow = self.drawn.flow.and_then(|flow| flow.places.get(&place));
        let stops = |kind: &CauseKind| match kind {
            CauseKind::CutOut(state) => *state != CutOutState::Bypassed,
            _ => false,
        };
        let closed = flow.is_some_and(|flow| flow.matter.iter().any(stops));
        let stands = if closed { Stands::Closed } else { Stands::Open };
        Glyph::of(position.kind, behaviour, stands)
    }

    fn port(&self, node: usize) -> Option<PortMark> {
        let Some(Place::Port { end, pipe }) = &self.described.connections.places[node] else {
            return None;
        };
        let on_left = *end == self.described.left;
        let neighbour = self.drawn.neighbours[usize::from(!on_left)].as_ref();
        let joined = neighbour.filter(|car: &&Neighbour| car.pipes.contains(pipe));
        let connections = self.described.connections.all.iter();
        let styles = connections.filter(|line| line.from == node || line.to == node);
        let style = styles
            .map(|line| line.style)
            .min()
            .unwrap_or(Style::MainAir);
        let flowing = self.flow_at(node).map(|flow| flow.flowing);
        let to = joined.map_or("not joined to another car".to_owned(), |car| {
            format!("joined to car {}", car.number)
        });
        Some(PortMark {
            at: self.layout.nodes[node].at,
            on_left,
            state: state(flowing),
            pipe: port_words(pipe),
            letter: style.letter(),
            style: style.class(),
            title: format!(
                "{}, {to}: {}{}",
                self.name(node),
                words(flowing, "delivers"),
                self.why(node)
            ),
            to: joined.map(|car| (car.number.clone(), car.href.clone())),
        })
    }
}

fn state(flowing: Option<Flowing>) -> &'static str {
    match flowing {
        Some(Flowing::Flows) => "flows",
        Some(Flowing::Lost) => "lost",
        Some(Flowing::Drags) => "drags",
        Some(Flowing::AtRest) => "rest",
        None => "unknown",
    }
}

fn words(flowing: Option<Flowing>, does: &'static str) -> &'static str {
    match flowing {
        Some(Flowing::Flows) => does,
        Some(Flowing::Lost) => "lost",
        Some(Flowing::Drags) => "dragging",
        Some(Flowing::AtRest) => "at rest in this mode",
        None => "no answer",
    }
}
