//! From a circuit to its text.

use super::{USUAL_INPUT, is_reverse};
use crate::circuit::{Behaviour, Circuit, Line, Mode, Node};
use std::fmt::Write as _;

pub(super) fn write(circuit: &Circuit) -> String {
    let mut text = String::from("# What each position does.\n");
    for node in &circuit.nodes {
        text.push_str(&node_line(node));
    }
    text.push_str("\n# What leads where.\n");
    let mut written = vec![false; circuit.lines.len()];
    for (at, line) in circuit.lines.iter().enumerate() {
        if written[at] {
            continue;
        }
        let back = (at + 1..circuit.lines.len())
            .find(|other| !written[*other] && is_reverse(line, &circuit.lines[*other]));
        if let Some(back) = back {
            written[back] = true;
        }
        text.push_str(&line_line(line, if back.is_some() { "<->" } else { "->" }));
    }
    text
}

fn node_line(node: &Node) -> String {
    let does = match &node.behaviour {
        Behaviour::Source { modes } => format!("source{}", in_modes(modes)),
        Behaviour::Pass => "pass".to_owned(),
        Behaviour::Cock { venting: true } => "cock venting".to_owned(),
        Behaviour::Cock { venting: false } => "cock".to_owned(),
        Behaviour::Reservoir { volume_l } => format!("reservoir {volume_l}"),
        Behaviour::AllOf => "all_of".to_owned(),
        Behaviour::AnyOf => "any_of".to_owned(),
        Behaviour::AirApplied => "air_applied".to_owned(),
        Behaviour::SpringApplied { holding_force_n } => format!("spring_applied {holding_force_n}"),
    };
    format!("{} is {does}\n", node.position)
}

fn line_line(line: &Line, arrow: &str) -> String {
    let mut text = format!("{} {arrow} {}", line.from, line.to);
    if line.input != USUAL_INPUT {
        // Writing to a string cannot fail.
        let _ = write!(text, " as {}", line.input);
    }
    let (medium, modes) = (line.medium.name(), in_modes(&line.modes));
    let _ = writeln!(text, " carries {medium}{modes}");
    text
}

fn in_modes(modes: &[Mode]) -> String {
    if modes.is_empty() {
        return String::new();
    }
    let names: Vec<&str> = modes.iter().map(|mode| mode.name()).collect();
    format!(" in {}", names.join(", "))
}
