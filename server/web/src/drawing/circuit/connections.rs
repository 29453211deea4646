//! A circuit as it is drawn: what flows both ways between two places is one line, and a wire or
//! pipe that joins each of several places to all others is one with a junction.

use crate::drawing::layered::Ways;
use domain::circuit::{Circuit, Medium, Place};
use std::collections::{BTreeMap, BTreeSet};

/// How a line is drawn: what it carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Style {
    MainAir,
    /// Charging air of the brake pipe, and the demand that it carries.
    BrakePipe,
    /// A demand by the brake pipe alone.
    BrakePipeDemand,
    PilotPressure,
    CylinderPressure,
    SuspensionAir,
    ParkingAir,
    Electrical,
}

impl Style {
    pub(crate) fn of(media: &BTreeSet<Medium>) -> Self {
        match media.first() {
            Some(Medium::BrakePipeAir) => Self::BrakePipe,
            Some(Medium::BrakePipeDemand) => Self::BrakePipeDemand,
            Some(Medium::PilotPressure) => Self::PilotPressure,
            Some(Medium::CylinderPressure) => Self::CylinderPressure,
            Some(Medium::SuspensionAir) => Self::SuspensionAir,
            Some(Medium::ParkingAir) => Self::ParkingAir,
            Some(Medium::ElectricalDemand) => Self::Electrical,
            Some(Medium::MainAir) | None => Self::MainAir,
        }
    }

    /// The letter beside the line.
    pub(crate) fn letter(self) -> &'static str {
        match self {
            Self::MainAir => "M",
            Self::BrakePipe => "B",
            Self::BrakePipeDemand => "D",
            Self::PilotPressure => "P",
            Self::CylinderPressure => "C",
            Self::SuspensionAir => "S",
            Self::ParkingAir => "K",
            Self::Electrical => "E",
        }
    }

    /// The class by which it is drawn.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::MainAir => "main-air",
            Self::BrakePipe => "brake-pipe",
            Self::BrakePipeDemand => "brake-pipe-demand",
            Self::PilotPressure => "pilot-pressure",
            Self::CylinderPressure => "cylinder-pressure",
            Self::SuspensionAir => "suspension-air",
            Self::ParkingAir => "parking-air",
            Self::Electrical => "electrical",
        }
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::MainAir => "main air",
            Self::BrakePipe => "brake pipe: charging air and demand",
            Self::BrakePipeDemand => "brake pipe: demand alone",
            Self::PilotPressure => "pilot pressure",
            Self::CylinderPressure => "cylinder pressure",
            Self::SuspensionAir => "suspension air",
            Self::ParkingAir => "parking air",
            Self::Electrical => "electrical demand",
        }
    }
}

/// Media that share a pipe are drawn as one line.
fn pipe_of(medium: Medium) -> Medium {
    match medium {
        Medium::BrakePipeDemand => Medium::BrakePipeAir,
        other => other,
    }
}

/// A line of the drawing.
#[derive(Debug, Clone)]
pub(super) struct Connection {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) ways: Ways,
    pub(super) style: Style,
    /// The lines of the circuit that it stands for, from its beginning to its end.
    pub(super) there: Vec<usize>,
    /// Those the other way.
    pub(super) back: Vec<usize>,
}

/// A circuit as nodes and connections.
#[derive(Debug, Clone)]
pub(super) struct Connections {
    /// The place of each node; none of a junction.
    pub(super) places: Vec<Option<Place>>,
    pub(super) all: Vec<Connection>,
}

/// From where to where, and by which pipe.
type Key = (usize, usize, Medium);

impl Connections {
    /// Reads a circuit: its nodes in their order, then its ports. A line from a place to itself
    /// is left out: it changes nothing.
    pub(super) fn of(circuit: &Circuit) -> Self {
        let mut places: Vec<Option<Place>> = Vec::new();
        let mut node_of: BTreeMap<&Place, usize> = BTreeMap::new();
        let positions = circuit
            .nodes
            .iter()
            .map(|node| Place::Position(node.position.clone()));
        let positions: Vec<Place> = positions.collect();
        let ends = circuit.lines.iter().flat_map(|line| [&line.from, &line.to]);
        for place in positions.iter().chain(ends) {
            node_of.entry(place).or_insert_with(|| {
                places.push(Some(place.clone()));
                places.len() - 1
            });
        }
        let mut lines: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        for (index, line) in circuit.lines.iter().enumerate() {
            let (from, to) = (node_of[&line.from], node_of[&line.to]);
            if from != to {
                lines
                    .entry((from, to, pipe_of(line.medium)))
                    .or_default()
                    .push(index);
            }
        }
        let mut connections = Self {
            places,
            all: Vec::new(),
        };
        for pipe in Medium::ALL {
            connections.join(&mut lines, *pipe, circuit);
        }
        connections.pair(&lines, circuit);
        connections
    }

    /// Puts a junction in where places joined both ways have the same lines to all others, and
    /// takes the lines that it stands for.
    fn join(&mut self, lines: &mut BTreeMap<Key, Vec<usize>>, pipe: Medium, circuit: &Circuit) {
        let mut targets: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for (from, to, of) in lines.keys() {
            if *of == pipe {
                targets.entry(*from).or_default().insert(*to);
            }
        }
        let mut joined: BTreeSet<usize> = BTreeSet::new();
        for (one, its) in &targets {
            if joined.contains(one) {
                continue;
            }
            let alike = |other: &&usize| {
                targets.get(*other).is_some_and(|theirs| {
                    theirs.contains(one) && without(its, **other) == without(theirs, *one)
                })
            };
            let mut bus: BTreeSet<usize> = its.iter().filter(alike).copied().collect();
            bus.insert(*one);
            let fed: BTreeSet<usize> = its.difference(&bus).copied().collect();
            if bus.len() < 2 || fed.is_empty() {
                continue;
            }
            joined.extend(&bus);
            let all: BTreeSet<usize> = bus.union(&fed).copied().collect();
            let feeds_all = |(other, theirs): &(&usize, &BTreeSet<usize>)| {
                !all.contains(*other) && all.is_subset(theirs)
            };
            let drivers = targets.iter().filter(feeds_all).map(|(other, _)| *other);
            let drivers: BTreeSet<usize> = drivers.collect();
            self.junction(lines, pipe, [&bus, &fed, &drivers], circuit);
        }
    }

    fn junction(
        &mut self,
        lines: &mut BTreeMap<Key, Vec<usize>>,
        pipe: Medium,
        [bus, fed, drivers]: [&BTreeSet<usize>; 3],
        circuit: &Circuit,
    ) {
        let junction = self.places.len();
        self.places.push(None);
        let mut there: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut back: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for from in bus.union(drivers) {
            for to in bus.union(fed) {
                let taken = lines.remove(&(*from, *to, pipe)).unwrap_or_default();
                there.entry(*from).or_default().extend(&taken);
                back.entry(*to).or_default().extend(&taken);
            }
        }
        for node in bus.iter().chain(drivers).chain(fed) {
            let there = there.remove(node).unwrap_or_default();
            let back = back.remove(node).unwrap_or_default();
            let (from, to, ways) = match (there.is_empty(), back.is_empty()) {
                (false, false) => (*node, junction, Ways::Both),
                (false, true) => (*node, junction, Ways::One),
                (true, _) => (junction, *node, Ways::One),
            };
            let (there, back) = if there.is_empty() {
                (back, there)
            } else {
                (there, back)
            };
            let connection = Connection {
                from,
                to,
                ways,
                style: style(circuit, there.iter().chain(&back)),
                there,
                back,
            };
            self.all.push(connection);
        }
    }

    /// The lines that are left, those both ways as one.
    fn pair(&mut self, lines: &BTreeMap<Key, Vec<usize>>, circuit: &Circuit) {
        for ((from, to, pipe), there) in lines {
            let back = lines.get(&(*to, *from, *pipe));
            if back.is_some() && to < from {
                continue;
            }
            let back = back.cloned().unwrap_or_default();
            self.all.push(Connection {
                from: *from,
                to: *to,
                ways: if back.is_empty() {
                    Ways::One
                } else {
                    Ways::Both
                },
                style: style(circuit, there.iter().chain(&back)),
                there: there.clone(),
                back,
            });
        }
    }
}

fn without(some: &BTreeSet<usize>, one: usize) -> BTreeSet<usize> {
    some.iter().copied().filter(|other| *other != one).collect()
}

fn style<'a>(circuit: &Circuit, lines: impl Iterator<Item = &'a usize>) -> Style {
    let media = lines.filter_map(|line| Some(circuit.lines.get(*line)?.medium));
    Style::of(&media.collect())
}
