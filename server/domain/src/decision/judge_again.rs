//! Components on the cars of a train that are to be judged again: somebody judged them, or took them out
//! of an assembly, without knowing what was told after. What was judged stands and moves no verdict by it;
//! whoever reads a verdict must know that it is in doubt (common practice, no source).

use crate::configuration::component::ComponentRef;
use crate::identity::{CarNumber, PositionCode};
use crate::ledger::entry::Seq;
use serde::Serialize;
use std::collections::BTreeSet;

/// A component on a car that is to be judged again.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct JudgeAgain {
    /// Where it is.
    pub position: PositionCode,
    /// Which.
    pub component: ComponentRef,
    /// The entry that told what nobody knew who judged it.
    pub raised_by: Seq,
}

/// The same in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct JudgeAgainInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// Which.
    #[serde(flatten)]
    pub again: JudgeAgain,
}

impl JudgeAgain {
    /// "=B1 (DV/230 serial 7, by what entry 12 tells)".
    fn in_words(&self) -> String {
        let Self {
            position,
            component,
            raised_by,
        } = self;
        format!("{position} ({component}, by what {raised_by} tells)")
    }
}

/// In one sentence, where there is any.
pub(super) fn in_words(
    found: &[JudgeAgainInTrain],
    of_all: impl Fn(&str, &BTreeSet<(CarNumber, String)>) -> Option<String>,
) -> Option<String> {
    let found = found.iter();
    let found = found.map(|one| (one.car_number.clone(), one.again.in_words()));
    of_all(
        "To be judged again, since it was judged or taken out of an assembly without knowing what was \
         told after; no verdict counts it:",
        &found.collect(),
    )
}

/// The same in one line, for the sheet: how many there are, and the first in the train.
pub(super) fn in_short(found: &[JudgeAgainInTrain]) -> Option<String> {
    let first = found.first()?;
    let (car, words) = (&first.car_number, first.again.in_words());
    Some(match found.len() {
        1 => format!(
            "1 component is to be judged again, and no verdict counts it: car {car} {words}."
        ),
        several => format!(
            "{several} components are to be judged again, and no verdict counts it; the first: car \
             {car} {words}."
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(car: &str, position: &str, raised_by: i64) -> JudgeAgainInTrain {
        JudgeAgainInTrain {
            car_number: car.parse().expect("a car"),
            again: JudgeAgain {
                position: position.parse().expect("a position"),
                component: ComponentRef {
                    part: "DV/230".parse().expect("a part"),
                    serial: "7".parse().expect("a serial"),
                },
                raised_by: Seq(raised_by),
            },
        }
    }

    #[test]
    fn a_sheet_tells_in_one_line_how_many_are_in_doubt_and_the_first() {
        assert_eq!(in_short(&[]), None);
        let one = on("4101", "=B1", 12);
        assert_eq!(
            in_short(std::slice::from_ref(&one)).as_deref(),
            Some(
                "1 component is to be judged again, and no verdict counts it: car 4101 =B1 (DV/230 \
                 serial 7, by what entry 12 tells)."
            )
        );
        let both = in_short(&[one, on("4102", "=B2", 13)]).expect("two are");
        assert!(
            both.starts_with("2 components are to be judged again"),
            "{both}"
        );
        assert!(both.contains("the first: car 4101 =B1"), "{both}");
    }
}
