//! Pipes that are described as no pipe can be: what makes another medium of what it passes on, what
//! runs through the car and carries something one way only.

use super::{Remark, code};
use crate::circuit::compiled::{CompiledCircuit, CompiledNode};
use crate::circuit::sets::Media;
use crate::circuit::{End, Medium};
use crate::configuration::car_type::PositionKind;

/// What passes on exactly what reaches it, open or not at all.
const PASSING: [PositionKind; 6] = [
    PositionKind::CheckValve,
    PositionKind::Filter,
    PositionKind::IsolatingCock,
    PositionKind::EndCock,
    PositionKind::DrainCock,
    PositionKind::Hose,
];

/// Check valves, filters, cocks and hoses out of which comes what no line brings to them. What is
/// stored behind would be counted at the pressure of the wrong pipe. Nodes times lines.
pub(super) fn changing(circuit: &CompiledCircuit) -> Vec<Remark> {
    let changes = |(at, node): (usize, &CompiledNode)| {
        let kind = node.kind.filter(|kind| PASSING.contains(kind))?;
        let lines = || circuit.lines().iter();
        let into = lines().filter(|line| line.to == at);
        let taken = into.fold(Media::NONE, |all, line| all.and(line.media));
        let out = lines().filter(|line| line.from == at);
        let given = out.fold(Media::NONE, |all, line| all.and(line.media));
        let made = given.without(taken);
        (!made.is_empty()).then(|| {
            Some(Remark::ChangesMedium {
                position: code(node)?.clone(),
                kind,
                taken: named(taken),
                given: named(made),
            })
        })?
    };
    let nodes = circuit.nodes().iter().enumerate();
    nodes.filter_map(changes).collect()
}

fn named(media: Media) -> String {
    let names: Vec<String> = media.each().map(|medium| medium.to_string()).collect();
    names.join(" and ")
}

/// Pipes and wires with a port at both ends that carry something from one end to the other and not
/// back. A brake behind such a place neither charges nor brakes where the car stands the other way
/// round. For each pipe and medium nodes and lines.
pub(super) fn one_way(circuit: &CompiledCircuit) -> Vec<Remark> {
    let mut remarks = Vec::new();
    for (pipe, at_one) in circuit.ports(End::End1) {
        let mut others = circuit.ports(End::End2);
        let Some((_, at_two)) = others.find(|(other, _)| *other == pipe) else {
            continue;
        };
        for medium in Medium::ALL {
            let there = passes(circuit, *medium, (at_one, at_two));
            let back = passes(circuit, *medium, (at_two, at_one));
            let (from, to) = match (there, back) {
                (true, false) => (End::End1, End::End2),
                (false, true) => (End::End2, End::End1),
                _ => continue,
            };
            remarks.push(Remark::OneWay {
                pipe: pipe.to_owned(),
                medium: *medium,
                from,
                to,
            });
        }
    }
    remarks
}

/// Whether a medium passes from one node to another through pipes alone.
fn passes(circuit: &CompiledCircuit, medium: Medium, (from, to): (usize, usize)) -> bool {
    let carried = Media::of(medium);
    let mut seen = vec![false; circuit.nodes().len()];
    let mut open = vec![from];
    while let Some(node) = open.pop() {
        if node == to {
            return true;
        }
        if std::mem::replace(&mut seen[node], true) || !circuit.nodes()[node].role.is_pipe() {
            continue;
        }
        let out = circuit.lines().iter().filter(|line| line.from == node);
        let carrying = out.filter(|line| !line.media.within(carried).is_empty());
        open.extend(carrying.map(|line| line.to));
    }
    false
}
