//! A circuit as text, for people to write and compare: a line for what each position does, and a
//! line for what leads where.
//!
//! ```text
//! =BS-CM1 is reservoir 100
//! =MP-QM1 is cock venting
//! =DC-SF1 is source in service, emergency
//! =BS1-KF1 is all_of
//! =BS1-MB1 is air_applied
//! =PB1-MB1 is spring_applied 12000
//! end1:main_pipe <-> =MP-WH1 carries main_air
//! =BS-CM1 -> =BS1-KF1 as supply carries main_air
//! =DC-SF1 -> end1:service_wire carries electrical_demand in service
//! ```
//!
//! Volumes are in litres, holding forces in newtons. `<->` is two lines, one each way. A line that
//! names no input joins the one called `in`; one that names no modes is open in all. What follows
//! a `#` is a remark and is not kept.

mod parse;
mod write;

use super::fault::{CircuitFault, LineName};
use super::{Circuit, Line};
use crate::identity::PositionCode;
use std::collections::{BTreeSet, HashMap};
use thiserror::Error;

/// The most lines that a text may have.
pub const LINES_MAX: usize = 5_000;

/// A circuit that was read from text, with where in the text everything stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CircuitText {
    /// The circuit.
    pub circuit: Circuit,
    /// The line of text of each node.
    nodes: HashMap<PositionCode, usize>,
    /// The line of text of each line of the circuit.
    lines: Vec<usize>,
}

/// A line of a text that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("line {line}: “{found}”; expected {expected}")]
pub struct TextFault {
    /// Its number, from 1.
    pub line: usize,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: String,
}

impl CircuitText {
    /// Reads a text, or says of every line that cannot be read what was expected. Linear.
    pub fn read(text: &str) -> Result<Self, Vec<TextFault>> {
        parse::read(text)
    }

    /// The line of text of a node.
    pub fn line_of_node(&self, position: &PositionCode) -> Option<usize> {
        self.nodes.get(position).copied()
    }

    /// The line of text of a line of the circuit.
    pub fn line_of(&self, line: &LineName) -> Option<usize> {
        self.lines.get(line.number.checked_sub(1)?).copied()
    }

    /// The line of text where a fault lies, where it lies in one.
    fn line_of_fault(&self, fault: &CircuitFault) -> Option<usize> {
        match (fault.line(), fault.node()) {
            (Some(line), _) => self.line_of(line),
            (None, Some(position)) => self.line_of_node(position),
            (None, None) => None,
        }
    }

    /// A fault in words, by the line of text where it lies and not by the number that the line has
    /// in the description.
    pub fn told(&self, fault: &CircuitFault) -> String {
        let words = fault.to_string();
        match (self.line_of_fault(fault), fault.line()) {
            (Some(number), Some(line)) => {
                let in_text = format!("line {number}: {} to {}", line.from, line.to);
                words.replacen(&line.to_string(), &in_text, 1)
            }
            (Some(number), None) => format!("line {number}: {words}"),
            (None, _) => words,
        }
    }
}

impl Circuit {
    /// The circuit as text that reads back as the same, but for the order of its lines: those of
    /// a pipe that flows both ways stand together.
    pub fn to_text(&self) -> String {
        write::write(self)
    }

    /// The lines of text that only one of two circuits has: this one's, the other's.
    pub fn differences(&self, other: &Self) -> (Vec<String>, Vec<String>) {
        let lines = |circuit: &Self| -> Vec<String> {
            let text = circuit.to_text();
            let said = text
                .lines()
                .filter(|line| !line.is_empty() && !line.starts_with('#'));
            said.map(str::to_owned).collect()
        };
        let (own, others) = (lines(self), lines(other));
        let only = |these: &[String], those: &[String]| {
            let those: BTreeSet<&String> = those.iter().collect();
            let only = these.iter().filter(|line| !those.contains(line));
            only.cloned().collect()
        };
        (only(&own, &others), only(&others, &own))
    }
}

/// The input that a line joins where it names none.
const USUAL_INPUT: &str = "in";

fn is_reverse(one: &Line, other: &Line) -> bool {
    one.from == other.to
        && one.to == other.from
        && (&one.input, one.medium, &one.modes) == (&other.input, other.medium, &other.modes)
}
