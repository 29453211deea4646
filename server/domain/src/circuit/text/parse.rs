//! From text to a circuit.

use super::{CircuitText, LINES_MAX, TextFault, USUAL_INPUT};
use crate::circuit::{Behaviour, Circuit, Line, Medium, Mode, Node, Place};
use crate::identity::PositionCode;
use crate::unreadable::Unreadable;
use std::collections::HashMap;
use std::str::FromStr;

const EXPECTED: &str = "“=CODE is …” for what a position does, or “FROM -> TO carries …” for what \
    leads where";
const DOES: &str = "pass, cock, cock venting, reservoir LITRES, source in MODES, all_of, any_of, \
    air_applied or spring_applied NEWTONS";
const CARRIES: &str = "“carries” and a medium, before it perhaps “as” and an input, after it perhaps “in” \
    and modes";
/// The longest name of an input.
const INPUT_MAX_CHARS: usize = 40;

/// What was expected instead.
type Refused = String;

pub(super) fn read(text: &str) -> Result<CircuitText, Vec<TextFault>> {
    let mut read = CircuitText {
        circuit: Circuit::default(),
        nodes: HashMap::new(),
        lines: Vec::new(),
    };
    let mut faults = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        let said = line.split('#').next().unwrap_or_default();
        let words: Vec<&str> = said.split_whitespace().collect();
        let fault = |expected| TextFault {
            line: number,
            found: said.trim().to_owned(),
            expected,
        };
        if number > LINES_MAX {
            faults.push(fault(format!("at most {LINES_MAX} lines")));
            break;
        }
        if let Err(expected) = take(&mut read, number, &words) {
            faults.push(fault(expected));
        }
    }
    if faults.is_empty() {
        Ok(read)
    } else {
        Err(faults)
    }
}

fn take(read: &mut CircuitText, number: usize, words: &[&str]) -> Result<(), Refused> {
    match words {
        [] => Ok(()),
        [position, "is", does @ ..] => {
            let position: PositionCode = known(position)?;
            let behaviour = behaviour(does)?;
            read.nodes.entry(position.clone()).or_insert(number);
            read.circuit.nodes.push(Node {
                position,
                behaviour,
            });
            Ok(())
        }
        [from, "->", to, rest @ ..] => {
            read.put(number, line(from, to, rest)?);
            Ok(())
        }
        [from, "<->", to, rest @ ..] => {
            let there = line(from, to, rest)?;
            let back = Line {
                from: there.to.clone(),
                to: there.from.clone(),
                ..there.clone()
            };
            read.put(number, there);
            read.put(number, back);
            Ok(())
        }
        _ => Err(EXPECTED.to_owned()),
    }
}

impl CircuitText {
    fn put(&mut self, number: usize, line: Line) {
        self.circuit.lines.push(line);
        self.lines.push(number);
    }
}

fn known<T: FromStr<Err = Unreadable>>(text: &str) -> Result<T, Refused> {
    text.parse()
        .map_err(|why: Unreadable| format!("in place of {text}: {}", why.expected))
}

fn behaviour(words: &[&str]) -> Result<Behaviour, Refused> {
    let number = |text: &str, of: &str| {
        text.parse()
            .map_err(|_| format!("a whole number of {of} in place of {text}"))
    };
    match words {
        ["pass"] => Ok(Behaviour::Pass),
        ["cock"] => Ok(Behaviour::Cock { venting: false }),
        ["cock", "venting"] => Ok(Behaviour::Cock { venting: true }),
        ["all_of"] => Ok(Behaviour::AllOf),
        ["any_of"] => Ok(Behaviour::AnyOf),
        ["air_applied"] => Ok(Behaviour::AirApplied),
        ["reservoir", litres] => Ok(Behaviour::Reservoir {
            volume_l: number(litres, "litres")?,
        }),
        ["spring_applied", newtons] => Ok(Behaviour::SpringApplied {
            holding_force_n: number(newtons, "newtons")?,
        }),
        ["source", "in", modes @ ..] => Ok(Behaviour::Source {
            modes: each_mode(modes)?,
        }),
        _ => Err(format!("after “is”: {DOES}")),
    }
}

fn line(from: &str, to: &str, rest: &[&str]) -> Result<Line, Refused> {
    let (input, rest) = match rest {
        ["as", input, rest @ ..] => (input_name(input)?, rest),
        _ => (USUAL_INPUT.to_owned(), rest),
    };
    let (medium, modes) = match rest {
        ["carries", medium] => (known::<Medium>(medium)?, Vec::new()),
        ["carries", medium, "in", modes @ ..] => (known::<Medium>(medium)?, each_mode(modes)?),
        _ => return Err(CARRIES.to_owned()),
    };
    Ok(Line {
        from: known::<Place>(from)?,
        to: known::<Place>(to)?,
        input,
        medium,
        modes,
    })
}

fn input_name(text: &str) -> Result<String, Refused> {
    let short = text.len() <= INPUT_MAX_CHARS;
    let lower = text
        .bytes()
        .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    if short && lower {
        Ok(text.to_owned())
    } else {
        Err(format!(
            "in place of {text}: an input in lower case letters, digits and underscores, as pilot"
        ))
    }
}

/// Modes separated by commas.
fn each_mode(words: &[&str]) -> Result<Vec<Mode>, Refused> {
    words
        .join(" ")
        .split(',')
        .map(|mode| known(mode.trim()))
        .collect()
}
