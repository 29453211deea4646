//! Pipes and wires that leave the car: each is a row of the drawing, from one end of the car to
//! the other, with what lies in it.

use super::connections::{Connections, Style};
use crate::drawing::layered::{Row, Ways};
use domain::circuit::{End, Place};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// The rows, main air first, with the end of the car that is on the left.
pub(super) fn rows(connections: &Connections, left: End) -> Vec<Row> {
    let mut near: Vec<Vec<usize>> = vec![Vec::new(); connections.places.len()];
    let mut style: Vec<Option<Style>> = vec![None; connections.places.len()];
    for connection in &connections.all {
        for (one, other) in [
            (connection.from, connection.to),
            (connection.to, connection.from),
        ] {
            style[one] = style[one]
                .min(Some(connection.style))
                .or(Some(connection.style));
            if connection.ways == Ways::Both {
                near[one].push(other);
            }
        }
    }
    let mut pipes: BTreeMap<(Option<Style>, &str), [Option<usize>; 2]> = BTreeMap::new();
    let mut by_name: BTreeMap<&str, [Option<usize>; 2]> = BTreeMap::new();
    for (node, place) in connections.places.iter().enumerate() {
        if let Some(Place::Port { end, pipe }) = place {
            let ports = by_name.entry(pipe).or_default();
            ports[usize::from(*end != left)] = Some(node);
        }
    }
    for (pipe, ports) in by_name {
        let style = ports.iter().flatten().filter_map(|port| style[*port]).min();
        pipes.insert((style, pipe), ports);
    }
    let mut taken: BTreeSet<usize> = pipes.values().flatten().flatten().copied().collect();
    let mut rows = Vec::new();
    for ports in pipes.into_values() {
        let through = match ports {
            [Some(left), Some(right)] => {
                through(&near, &taken, left, right).unwrap_or_else(|| vec![left, right])
            }
            [one, other] => one.into_iter().chain(other).collect(),
        };
        taken.extend(&through);
        rows.push(Row {
            nodes: through,
            left_end: ports[0].is_some(),
            right_end: ports[1].is_some(),
        });
    }
    rows
}

/// The shortest way from port to port along lines that flow both ways, past what lies in other
/// pipes. Linear in nodes and lines.
fn through(
    near: &[Vec<usize>],
    taken: &BTreeSet<usize>,
    left: usize,
    right: usize,
) -> Option<Vec<usize>> {
    let mut came: BTreeMap<usize, usize> = BTreeMap::new();
    let mut open = VecDeque::from([left]);
    while let Some(node) = open.pop_front() {
        for next in &near[node] {
            let is_free = *next == right || !taken.contains(next);
            if is_free && *next != left && !came.contains_key(next) {
                came.insert(*next, node);
                open.push_back(*next);
            }
        }
    }
    let mut way = vec![right];
    let mut at = right;
    while at != left {
        at = *came.get(&at)?;
        way.push(at);
    }
    way.reverse();
    Some(way)
}
