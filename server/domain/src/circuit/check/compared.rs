//! What is doubtful in a circuit beside the one that it is to replace: what was needed and is gone,
//! what has become something else.

use super::{LineName, Remark, idle};
use crate::circuit::compiled::CompiledCircuit;
use crate::circuit::{Behaviour, Circuit, Line, Medium, Place};
use crate::configuration::car_type::CarType;
use crate::identity::PositionCode;
use std::collections::{BTreeMap, BTreeSet};

/// The ends and the input of a line.
type Way<'l> = (&'l Place, &'l Place, &'l str);

/// What a circuit lacks or has otherwise than another one of the same car type, by kind and code.
/// Near linear in the lines of both, and for cocks as [`super::check`].
pub fn check_against(circuit: &CompiledCircuit, before: &CarType) -> Vec<Remark> {
    let after = &circuit.car_type().circuit;
    let mut remarks = gone(circuit, (&before.circuit, after));
    remarks.extend(storing_no_more(circuit, (&before.circuit, after)));
    if let Ok(before) = CompiledCircuit::new(before) {
        remarks.extend(idle::without_brakes(circuit, &before));
    }
    let carried = media(&before.circuit);
    for (at, line) in after.lines.iter().enumerate() {
        let Some(media) = carried.get(&way(line)) else {
            continue;
        };
        if media.contains(&line.medium) {
            continue;
        }
        let names: Vec<String> = media.iter().map(ToString::to_string).collect();
        remarks.push(Remark::OtherMedium {
            line: LineName {
                number: at + 1,
                from: line.from.clone(),
                to: line.to.clone(),
            },
            medium: line.medium,
            before: names.join(" and "),
        });
    }
    remarks.sort();
    remarks
}

fn way(line: &Line) -> Way<'_> {
    (&line.from, &line.to, &line.input)
}

fn media(circuit: &Circuit) -> BTreeMap<Way<'_>, BTreeSet<Medium>> {
    let mut media: BTreeMap<Way<'_>, BTreeSet<Medium>> = BTreeMap::new();
    for line in &circuit.lines {
        media.entry(way(line)).or_default().insert(line.medium);
    }
    media
}

/// Inputs that some line of the other circuit joins, and none of this one, of positions that are
/// still in the circuit.
fn gone(circuit: &CompiledCircuit, (before, after): (&Circuit, &Circuit)) -> Vec<Remark> {
    let inputs = |circuit: &'_ Circuit| -> BTreeSet<(Place, String)> {
        let lines = circuit.lines.iter();
        let inputs = lines.map(|line| (line.to.clone(), line.input.clone()));
        inputs.collect()
    };
    let (before, after) = (inputs(before), inputs(after));
    let gone = before.difference(&after);
    gone.filter_map(|(place, input)| match place {
        Place::Position(position) => circuit.node(position).map(|_| Remark::InputGone {
            position: position.clone(),
            input: input.clone(),
        }),
        Place::Port { .. } => None,
    })
    .collect()
}

/// Reservoirs of the other circuit that are in this one and no reservoirs there.
fn storing_no_more(
    circuit: &CompiledCircuit,
    (before, after): (&Circuit, &Circuit),
) -> Vec<Remark> {
    let reservoirs = |circuit: &Circuit| -> BTreeSet<PositionCode> {
        let nodes = circuit.nodes.iter();
        let stores = nodes.filter(|node| matches!(node.behaviour, Behaviour::Reservoir { .. }));
        stores.map(|node| node.position.clone()).collect()
    };
    let (before, after) = (reservoirs(before), reservoirs(after));
    let gone = before.difference(&after);
    let still_there = gone.filter(|position| circuit.node(position).is_some());
    still_there.cloned().map(Remark::StoresNoMore).collect()
}
