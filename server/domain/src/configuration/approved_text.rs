//! What is approved where, as text that a brake engineer reads and writes: one line a position
//! with its code, a colon and the parts, each with the modification states asked for in brackets,
//! and behind bars the settings.
//!
//! ```text
//! =BS1-K1: DV/210 [B C], DV/220
//! =BS1-F1: SV/7 | opening pressure@8.5 bar@8.3 to 8.7 | orientation@upright@inverted
//! =BS1-Q1:
//! ```
//!
//! A position that has no line keeps what is approved there and its settings; an empty line
//! approves nothing and asks for none.

use super::car_type::CarType;
use super::part::StatesApproved;
use crate::identity::{ModificationState, PartNumber, PositionCode};
use crate::unreadable::Unreadable;
use std::collections::BTreeSet;

/// The most characters of such a text.
pub const TEXT_MAX_CHARS: usize = 40_000;

/// What is wrong with a line, and its number from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongLine {
    /// The number of the line.
    pub line: usize,
    /// What is wrong.
    pub why: Unreadable,
}

impl std::fmt::Display for WrongLine {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}: {}", self.line, self.why)
    }
}

/// What is approved and set at each position of a car type, in the order of the drawing.
pub fn to_text(design: &CarType) -> String {
    let mut text = String::new();
    for position in &design.positions {
        let parts = position.approved.iter().map(|part| {
            let states = super::part::states_of(&position.states, part);
            let states = states.map(|states| {
                let states: Vec<&str> = states.iter().map(ModificationState::as_str).collect();
                format!(" [{}]", states.join(" "))
            });
            format!("{part}{}", states.unwrap_or_default())
        });
        let parts: Vec<String> = parts.collect();
        let line = format!("{}: {}", position.code, parts.join(", "));
        text.push_str(line.trim_end());
        for setting in &position.settings {
            text.push_str(" | ");
            text.push_str(&setting.to_string());
        }
        text.push('\n');
    }
    text
}

/// The car type with what a text approves, or all lines that cannot be read.
pub fn with_text(design: &CarType, text: &str) -> Result<CarType, Vec<WrongLine>> {
    let mut approved = design.clone();
    let (mut wrong, mut seen) = (Vec::new(), BTreeSet::new());
    if TEXT_MAX_CHARS < text.chars().count() {
        let expected = format!("at most {TEXT_MAX_CHARS} characters");
        let why = Unreadable::new("text", text, expected);
        return Err(vec![WrongLine { line: 1, why }]);
    }
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let read = read_line(&mut approved, &mut seen, line);
        wrong.extend(read.err().map(|why| WrongLine {
            line: number + 1,
            why,
        }));
    }
    if wrong.is_empty() {
        Ok(approved)
    } else {
        Err(wrong)
    }
}

fn read_line(
    design: &mut CarType,
    seen: &mut BTreeSet<PositionCode>,
    line: &str,
) -> Result<(), Unreadable> {
    let expected = "a position code, a colon and parts, as =BS1-K1: DV/210 [B C], DV/220";
    let refuse = || Unreadable::new("line", line, expected);
    let (code, parts) = line.split_once(':').ok_or_else(refuse)?;
    let code: PositionCode = code.trim().parse()?;
    let mut positions = design.positions.iter_mut();
    let position = positions.find(|position| position.code == code);
    let unknown = || Unreadable::new("position", code.as_str(), "a position of the car type");
    let position = position.ok_or_else(unknown)?;
    if !seen.insert(code.clone()) {
        return Err(Unreadable::new("position", code.as_str(), "each once"));
    }
    position.approved.clear();
    position.states.clear();
    position.settings.clear();
    let (parts, settings) = parts.split_once('|').unwrap_or((parts, ""));
    for setting in settings.split('|').map(str::trim) {
        if !setting.is_empty() {
            position.settings.push(setting.parse()?);
        }
    }
    let parts = parts.split(',').map(str::trim);
    for part in parts.filter(|part| !part.is_empty()) {
        let (number, states) = match part.split_once('[') {
            None => (part, None),
            Some((number, states)) => {
                let states = states.strip_suffix(']').ok_or_else(refuse)?;
                (number.trim(), Some(states))
            }
        };
        let number: PartNumber = number.parse()?;
        if position.approved.contains(&number) {
            return Err(Unreadable::new("part", number.as_str(), "each once"));
        }
        if let Some(states) = states {
            let states = states.split_whitespace().map(str::parse);
            position.states.push(StatesApproved {
                part: number.clone(),
                states: states.collect::<Result<_, _>>()?,
            });
        }
        position.approved.push(number);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::design_compared::changes;

    fn design() -> CarType {
        let body = r#"{"name":"Motor car","revision":"A","fleet":"Sedge","title":"invented",
            "vehicle_kind":"car","length_mm":24000,"speed_max_km_h":140,"daily_km_max":1000,
            "bogies":[],"masses":[],"circuit":{"nodes":[],"lines":[]},"braked_weights":[],
            "positions":[
            {"code":"=B1-K1","title":"valve","kind":"distributor_valve","along_mm":1,"approved":["DV/210"]},
            {"code":"=B1-Q1","title":"cock","kind":"isolating_cock","along_mm":2,"approved":[]}]}"#;
        serde_json::from_str(body).expect("a car type")
    }

    fn told(before: &CarType, now: &CarType) -> Vec<String> {
        let told = changes(before, now).into_iter();
        told.map(|(code, change)| format!("{code}: {change}"))
            .collect()
    }

    #[test]
    fn what_is_approved_comes_back_from_its_text() {
        let old = design();
        assert_eq!(to_text(&old), "=B1-K1: DV/210\n=B1-Q1:\n");
        let text = "# a remark\n=B1-K1: DV/220 [B C], DV/210\n";
        let new = with_text(&old, text).expect("a text");
        assert_eq!(to_text(&new), "=B1-K1: DV/220 [B C], DV/210\n=B1-Q1:\n");
        assert_eq!(with_text(&old, &to_text(&new)).expect("a text"), new);
        assert_eq!(
            told(&old, &new),
            [
                "=B1-K1: DV/220 is approved and was not",
                "=B1-K1: modification state of DV/220: B or C is approved and was none",
            ]
        );
    }

    #[test]
    fn settings_stand_behind_the_parts_and_their_changes_are_told() {
        let text = "=B1-K1: DV/210 | opening pressure@8.5 bar@8.3 to 8.7 | software@revision 2.4@revision 2.3\n=B1-Q1: | orientation@upright\n";
        let old = with_text(&design(), text).expect("a text");
        assert_eq!(to_text(&old), text);
        let other = "=B1-K1: DV/210 | opening pressure@8.4 bar@8.3 to 8.6";
        let new = with_text(&old, other).expect("a text");
        assert_eq!(
            told(&old, &new),
            [
                "=B1-K1: setting opening pressure: 8.4 bar of 8.3 to 8.6 bar is wanted and was 8.5 bar of 8.3 to 8.7 bar",
                "=B1-K1: setting software: nothing is wanted and was revision 2.4 of revision 2.4 or revision 2.3",
            ]
        );
        assert!(with_text(&design(), "=B1-K1: DV/210 | pressure").is_err());
    }

    #[test]
    fn differences_name_positions_parts_and_states() {
        let old = with_text(&design(), "=B1-K1: DV/210, DV/220 [A]").expect("a text");
        let mut new = with_text(&old, "=B1-K1: DV/220 [B]").expect("a text");
        assert_eq!(told(&old, &old), Vec::<String>::new());
        new.positions[1].code = "=B1-Q2".parse().expect("a code");
        assert_eq!(
            told(&old, &new),
            [
                "=B1-K1: DV/210 is not approved and was",
                "=B1-K1: modification state of DV/220: B is approved and was A",
                "=B1-Q1: the position is gone",
                "=B1-Q2: the position is new",
            ]
        );
    }

    #[test]
    fn every_wrong_line_is_named() {
        let text = "=B1-K1 DV/210\n=B9: X\n=B1-K1: A, A\n=B1-Q1: A [B\n=B1-Q1:\n=B1-Q1:";
        let wrong = with_text(&design(), text).expect_err("wrong lines");
        let lines: Vec<usize> = wrong.iter().map(|wrong| wrong.line).collect();
        assert_eq!(lines, [1, 2, 3, 4, 5, 6]);
    }
}
