//! Lines with what they carry, and their letters.

use super::{LetterMark, LineMark, Marking, state, words};
use crate::drawing::circuit::connections::Connection;
use crate::drawing::layered::{Net, Point, Ways};
use domain::circuit::Medium;
use domain::isolation::flow::{CarFlow, Flowing, LineFlow};
use std::collections::BTreeMap;
use std::fmt::Write as _;

impl Marking<'_> {
    pub(super) fn line(&self, index: usize) -> LineMark {
        let connection = &self.described.connections.all[index];
        let path = &self.layout.paths[index];
        let flowing = self.drawn.flow.map(|flow| self.flowing(connection, flow));
        let (from, to) = (self.name(connection.from), self.name(connection.to));
        let (joins, state) = match connection.ways {
            Ways::One => ("to", state(flowing)),
            Ways::Both => ("and", state(flowing)),
        };
        let why = if flowing == Some(Flowing::Lost) {
            let ends = [connection.from, connection.to].map(|end| self.why(end));
            ends.into_iter()
                .find(|why| !why.is_empty())
                .unwrap_or_default()
        } else {
            String::new()
        };
        LineMark {
            style: connection.style.class(),
            state,
            d: course(path),
            title: format!(
                "{}, {from} {joins} {to}: {}{why}",
                connection.style.words(),
                words(flowing, "carries"),
            ),
            tip: (flowing == Some(Flowing::Flows))
                .then(|| self.tip(connection, path))
                .flatten(),
            cross: (flowing == Some(Flowing::Lost))
                .then(|| middle(path))
                .flatten(),
        }
    }

    /// Lost where it no longer carries one of its media at all.
    fn flowing(&self, connection: &Connection, flow: &CarFlow) -> Flowing {
        let circuit = &self.drawn.car_type.circuit;
        let mut media: BTreeMap<Medium, Vec<Flowing>> = BTreeMap::new();
        for line in connection.there.iter().chain(&connection.back) {
            if let (Some(line), Some(flow)) = (circuit.lines.get(*line), flow.lines.get(*line)) {
                media.entry(line.medium).or_default().push(flow.flowing);
            }
        }
        let of_medium = |lines: &Vec<Flowing>| {
            [Flowing::Flows, Flowing::Lost]
                .into_iter()
                .find(|flowing| lines.contains(flowing))
        };
        let all: Vec<Flowing> = media.values().filter_map(of_medium).collect();
        all.into_iter().max().unwrap_or(Flowing::AtRest)
    }

    /// The arrow, at the end to which it carries.
    fn tip(&self, connection: &Connection, path: &[Point]) -> Option<(Point, i32)> {
        let flow = self.drawn.flow?;
        let leads = |lines: &[usize]| {
            let mut lines = lines.iter().filter_map(|line| flow.lines.get(*line));
            lines.any(|line: &LineFlow| line.flowing == Flowing::Flows && line.leads)
        };
        match connection.ways {
            Ways::One => arrow(path.iter().rev()),
            Ways::Both if leads(&connection.there) => arrow(path.iter().rev()),
            Ways::Both if leads(&connection.back) => arrow(path.iter()),
            Ways::Both => None,
        }
    }

    /// The letter beside a line where it begins, or where it leaves a pipe.
    pub(super) fn letter(&self, net: &Net) -> Option<LetterMark> {
        let node = net.node?;
        let all = &self.described.connections.all;
        let style = all.get(*net.edges.first()?)?.style;
        let placed = &self.layout.nodes[node];
        let comes = |connection: &Connection| connection.to == node && connection.style == style;
        if !placed.in_row && all.iter().any(comes) {
            return None;
        }
        let on_left = net.at.x < placed.at.x;
        Some(LetterMark {
            at: Point {
                x: net.at.x + if on_left { -11 } else { 4 },
                y: net.at.y + 11,
            },
            letter: style.letter(),
            style: style.class(),
        })
    }
}

fn course(path: &[Point]) -> String {
    let mut course = String::new();
    for (place, Point { x, y }) in path.iter().enumerate() {
        let letter = if place == 0 { 'M' } else { 'L' };
        // Writing to a text cannot fail.
        let _ = write!(course, "{letter}{x} {y}");
    }
    course
}

/// The arrow at the first of some points, towards it.
fn arrow<'a>(mut towards: impl Iterator<Item = &'a Point>) -> Option<(Point, i32)> {
    let (end, before) = (*towards.next()?, *towards.next()?);
    let turn = match ((end.x - before.x).signum(), (end.y - before.y).signum()) {
        (_, 1) => 0,
        (-1, 0) => 90,
        (0, -1) => 180,
        _ => -90,
    };
    Some((end, turn))
}

/// The middle of the last piece of a line, where it is its own.
fn middle(path: &[Point]) -> Option<Point> {
    let [.., before, end] = path else { return None };
    Some(Point {
        x: before.x.midpoint(end.x),
        y: before.y.midpoint(end.y),
    })
}
