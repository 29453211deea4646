//! How a circuit is read for its drawing.

use super::connections::{Connections, Style};
use super::pipes::rows;
use crate::drawing::layered::Ways;
use domain::circuit::{Circuit, End, Place};
use proptest::prelude::*;
use serde_json::json;

/// A circuit of lines, each written "from to medium".
fn circuit(lines: &[&str]) -> Circuit {
    let line = |text: &&str| {
        let words: Vec<&str> = text.split(' ').collect();
        json!({"from": words[0], "to": words[1], "input": "in", "medium": words[2]})
    };
    let lines: Vec<_> = lines.iter().map(line).collect();
    serde_json::from_value(json!({"nodes": [], "lines": lines})).expect("a circuit")
}

fn names(connections: &Connections, nodes: &[usize]) -> Vec<String> {
    let name = |node: &usize| match &connections.places[*node] {
        Some(place) => place.to_string(),
        None => "junction".to_owned(),
    };
    nodes.iter().map(name).collect()
}

#[test]
fn air_and_demand_of_a_brake_pipe_both_ways_are_one_line() {
    let connections = Connections::of(&circuit(&[
        "=BP-QM1 =BP-HQ1 brake_pipe_air",
        "=BP-HQ1 =BP-QM1 brake_pipe_air",
        "=BP-QM1 =BP-HQ1 brake_pipe_demand",
        "=BP-HQ1 =BP-QM1 brake_pipe_demand",
        "=DC-SF1 =BP-HQ1 brake_pipe_demand",
    ]));
    let drawn: Vec<_> = connections.all.iter().map(|c| (c.ways, c.style)).collect();
    assert_eq!(
        drawn,
        [
            (Ways::Both, Style::BrakePipe),
            (Ways::One, Style::BrakePipeDemand)
        ]
    );
}

#[test]
fn a_wire_that_joins_each_to_all_has_one_junction() {
    let wire = "electrical_demand";
    let ends = ["end1:wire", "end2:wire"];
    let mut lines = Vec::new();
    for from in ["end1:wire", "end2:wire", "=DC-SF1"] {
        for to in ends.into_iter().chain(["=BS1-KF1", "=BS2-KF1"]) {
            if from != to {
                lines.push(format!("{from} {to} {wire}"));
            }
        }
    }
    // Another wire of the same controller stays apart.
    lines.push(format!("=DC-SF1 =BS1-QN1 {wire}"));
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    let connections = Connections::of(&circuit(&lines));
    let ends: Vec<Vec<String>> = connections
        .all
        .iter()
        .map(|line| names(&connections, &[line.from, line.to]))
        .collect();
    assert_eq!(ends.len(), 6, "{ends:?}");
    assert!(ends.contains(&vec!["=DC-SF1".into(), "junction".into()]));
    assert!(ends.contains(&vec!["junction".into(), "=BS2-KF1".into()]));
    assert!(ends.contains(&vec!["=DC-SF1".into(), "=BS1-QN1".into()]));
    let rows = rows(&connections, End::End2);
    assert_eq!(rows.len(), 1);
    let row = names(&connections, &rows[0].nodes);
    assert_eq!(row, ["end2:wire", "junction", "end1:wire"]);
}

#[test]
fn a_pipe_is_a_row_from_end_to_end_with_what_lies_in_it() {
    let connections = Connections::of(&circuit(&[
        "end1:main_pipe =MP-QM1 main_air",
        "=MP-QM1 end1:main_pipe main_air",
        "=MP-QM1 end2:main_pipe main_air",
        "end2:main_pipe =MP-QM1 main_air",
        "=MP-QM1 =BS-QM1 main_air",
        "end1:blind =AP-QM1 main_air",
    ]));
    let rows = rows(&connections, End::End1);
    let named: Vec<_> = rows
        .iter()
        .map(|row| (names(&connections, &row.nodes), row.left_end, row.right_end))
        .collect();
    let blind = (vec!["end1:blind".to_owned()], true, false);
    let through = ["end1:main_pipe", "=MP-QM1", "end2:main_pipe"];
    let through = (through.map(str::to_owned).to_vec(), true, true);
    assert_eq!(named, [blind, through]);
}

proptest! {
    #[test]
    fn every_line_is_in_the_drawing(lines in prop::collection::vec((0usize..8, 0usize..8, 0usize..3), 0..40)) {
        let place = |number: usize| match number {
            0 => "end1:a".to_owned(),
            1 => "end2:a".to_owned(),
            number => format!("=N-Q{number}"),
        };
        let media = ["main_air", "brake_pipe_demand", "brake_pipe_air"];
        let texts: Vec<String> = lines
            .iter()
            .map(|(from, to, medium)| format!("{} {} {}", place(*from), place(*to), media[*medium]))
            .collect();
        let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
        let circuit = circuit(&texts);
        let connections = Connections::of(&circuit);
        for (index, line) in circuit.lines.iter().enumerate() {
            let by = |c: &&super::connections::Connection| c.there.contains(&index) || c.back.contains(&index);
            let drawn: Vec<_> = connections.all.iter().filter(by).collect();
            let ends: Vec<&Option<Place>> = drawn
                .iter()
                .flat_map(|c| [&connections.places[c.from], &connections.places[c.to]])
                .collect();
            if line.from == line.to {
                prop_assert!(drawn.is_empty());
            } else {
                prop_assert!(ends.contains(&&Some(line.from.clone())));
                prop_assert!(ends.contains(&&Some(line.to.clone())));
            }
        }
        // No node is in two rows.
        let rows = rows(&connections, End::End1);
        let mut nodes: Vec<usize> = rows.into_iter().flat_map(|row| row.nodes).collect();
        let count = nodes.len();
        nodes.sort_unstable();
        nodes.dedup();
        prop_assert_eq!(count, nodes.len());
    }
}
