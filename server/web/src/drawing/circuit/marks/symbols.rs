//! Symbols with their words.

use super::{Marking, SymbolMark, state, words};
use crate::drawing::circuit::{label, name_on_car};
use crate::drawing::layered::{Placed, Ways};
use crate::drawing::wheels::CockState;
use domain::circuit::{Behaviour, Place};
use domain::configuration::car_type::Position;
use domain::isolation::flow::Flowing;
use std::fmt::Write as _;

impl Marking<'_> {
    pub(super) fn symbol(&self, node: usize) -> Option<SymbolMark> {
        let Some(place) = &self.described.connections.places[node] else {
            return Some(self.junction(node));
        };
        let (position, behaviour) = self.described.known[node]?;
        let Place::Position(code) = place else {
            return None;
        };
        let placed = &self.layout.nodes[node];
        let room = &self.described.graph.nodes[node];
        let flow = self.flow_at(node);
        let flowing = flow.map(|flow| flow.flowing);
        let cock = self.drawn.cocks.get(code);
        let [function, product] = label(code);
        let stands = cock
            .map(|cock| cock.state)
            .filter(|state| *state != CockState::Open);
        Some(SymbolMark {
            at: placed.at,
            glyph: self.glyph(position, behaviour).id(),
            turn: self.turn(node, placed),
            leads: leads(placed, behaviour),
            half: placed.half,
            reach: (
                placed.half + room.before,
                2 * placed.half + room.before + room.after,
            ),
            state: state(flowing),
            code: if placed.in_row {
                [format!("{function}{product}"), String::new()]
            } else {
                [function, product]
            },
            in_row: placed.in_row,
            name: name_on_car(position).to_owned(),
            title: self.title(node, position, behaviour),
            href: cock.map(|cock| cock.href.clone()),
            cock: stands.map_or("", CockState::class),
            badge: stands.map_or("", CockState::badge),
            struck: matches!(flowing, Some(Flowing::Lost | Flowing::Drags))
                || flow.is_some_and(|flow| !flow.matter.is_empty()),
            marked: self.drawn.marked == Some(code),
        })
    }

    /// Everything about a position in words.
    fn title(&self, node: usize, position: &Position, behaviour: &Behaviour) -> String {
        let Position { code, title, .. } = position;
        let does = if behaviour.is_actuator() {
            "works"
        } else {
            "delivers"
        };
        let flow = self.flow_at(node);
        let flowing = words(flow.map(|flow| flow.flowing), does);
        let lacks = flow.map_or(&[][..], |flow| &flow.lacks);
        let lacks: Vec<String> = lacks.iter().map(ToString::to_string).collect();
        let lacks = match lacks.as_slice() {
            [] => String::new(),
            lacks => format!(" ({})", lacks.join(", ")),
        };
        let mut words = match self.drawn.cocks.get(code) {
            Some(cock) => format!("{}. In this mode: {flowing}", cock.title),
            None => format!("{code}, {title}: {flowing}"),
        };
        let _ = write!(words, "{lacks}{}", self.why(node));
        words
    }

    /// In a row flow runs across; what rises stands on its head.
    fn turn(&self, node: usize, placed: &Placed) -> i32 {
        if placed.in_row {
            return -90;
        }
        let lines = self
            .described
            .connections
            .all
            .iter()
            .zip(&self.layout.paths);
        let leaving = lines.filter_map(|(connection, path)| {
            let leaves = connection.ways == Ways::One && connection.from == node;
            path.first()
                .filter(|_| leaves)
                .map(|first| first.y < placed.at.y)
        });
        let leaving: Vec<bool> = leaving.collect();
        if leaving.contains(&true) && !leaving.contains(&false) {
            180
        } else {
            0
        }
    }

    fn junction(&self, node: usize) -> SymbolMark {
        let placed = &self.layout.nodes[node];
        SymbolMark {
            at: placed.at,
            glyph: "iso-junction",
            turn: 0,
            leads: String::new(),
            half: placed.half,
            reach: (placed.half, 2 * placed.half),
            state: "rest",
            code: [String::new(), String::new()],
            in_row: placed.in_row,
            name: String::new(),
            title: "junction of a wire or pipe".to_owned(),
            href: None,
            cock: "",
            badge: "",
            struck: false,
            marked: false,
        }
    }
}

/// What joins a symbol to its lines: a valve takes each by itself, all else takes them as one.
fn leads(placed: &Placed, behaviour: &Behaviour) -> String {
    if placed.in_row {
        return "M-15 0H15".to_owned();
    }
    let apart = matches!(behaviour, Behaviour::AllOf | Behaviour::AnyOf);
    let mut leads = String::new();
    for (pins, edge) in [(&placed.above, -15), (&placed.below, 15)] {
        if pins.len() < 2 || apart && edge < 0 {
            for pin in pins {
                let _ = write!(leads, "M{pin} {edge}V0");
            }
        } else if let (Some(first), Some(last)) = (pins.first(), pins.last()) {
            let _ = write!(leads, "M{first} {edge}H{last}M0 {edge}V0");
        }
    }
    leads
}
