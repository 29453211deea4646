//! Obligations: work on a car after which a task of the car is due at once, whatever its
//! intervals say, since it touched what the task proves. They are part of the task, so that two
//! brake engineers agree on them as on its limits.

use crate::configuration::car_type::PositionKind;
use crate::due::at_once::AtOnceCause;
use crate::time::Day;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Work that touches what a task proves, by the kind of place that is touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Touching {
    /// What is at such a place, or inside the assembly there, was fitted, taken off, moved or
    /// swapped.
    Exchanged(PositionKind),
    /// A setting was made at such a place, or inside the assembly there.
    Set(PositionKind),
    /// A cut-out at such a place, or inside the assembly there, ended, unless by a test that the
    /// task itself counts.
    CutOutEnded(PositionKind),
    /// The unit of the car was formed.
    Coupled,
}

impl Touching {
    /// Why the task is due at once then.
    pub fn cause(self) -> AtOnceCause {
        match self {
            Self::Exchanged(_) => AtOnceCause::Exchanged,
            Self::Set(_) => AtOnceCause::Set,
            Self::CutOutEnded(_) => AtOnceCause::CutOutEnded,
            Self::Coupled => AtOnceCause::Coupled,
        }
    }

    fn kind(self) -> Option<PositionKind> {
        match self {
            Self::Exchanged(kind) | Self::Set(kind) | Self::CutOutEnded(kind) => Some(kind),
            Self::Coupled => None,
        }
    }
}

/// One line of what makes a task due at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Obligation {
    /// After what.
    pub after: Touching,
    /// From which day on: what was done before opens nothing.
    pub from: Day,
}

impl fmt::Display for Obligation {
    /// As files have it: "exchanged `control_panel` 2026-11-10".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.after.cause().name())?;
        if let Some(kind) = self.after.kind() {
            write!(f, " {}", kind.name())?;
        }
        write!(f, " {}", self.from)
    }
}

impl FromStr for Obligation {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "exchanged, set or cut_out_ended with a kind of position and a day, or coupled and a day";
        let refused = || Unreadable::new("obligation", text, expected);
        let words: Vec<&str> = text.split_whitespace().collect();
        let (after, from) = match words.as_slice() {
            ["exchanged", kind, from] => (Touching::Exchanged(kind.parse()?), from),
            ["set", kind, from] => (Touching::Set(kind.parse()?), from),
            ["cut_out_ended", kind, from] => (Touching::CutOutEnded(kind.parse()?), from),
            ["coupled", from] => (Touching::Coupled, from),
            _ => return Err(refused()),
        };
        let from = from.parse()?;
        Ok(Self { after, from })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_obligation_is_read_as_it_is_written() {
        let texts = [
            "exchanged control_panel 2026-11-10",
            "set overflow_valve 2026-11-10",
            "cut_out_ended isolating_cock 2026-11-10",
            "coupled 2026-11-10",
        ];
        for text in texts {
            let read: Obligation = text.parse().expect("an obligation");
            assert_eq!(read.to_string(), text);
            let kept = serde_json::to_string(&read).expect("JSON");
            let again: Obligation = serde_json::from_str(&kept).expect("the same");
            assert_eq!(again, read);
        }
    }

    #[test]
    fn what_is_no_obligation_says_what_was_expected() {
        for text in [
            "",
            "exchanged 2026-11-10",
            "coupled hose 2026-11-10",
            "mended hose 2026-11-10",
        ] {
            let refused = text.parse::<Obligation>().expect_err("no obligation");
            assert!(refused.expected.starts_with("exchanged, set"), "{refused}");
        }
        let refused = "exchanged hoses 2026-11-10".parse::<Obligation>();
        assert!(refused.expect_err("no kind").expected.contains("hose"));
    }
}
