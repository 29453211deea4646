//! What was touched on a car, in words that name what was exchanged first.

use crate::identity::{PositionCode, TestRecordId};
use crate::ledger::entry::Seq;
use crate::time::Instant;
use std::fmt;

/// What was done on a car.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum WorkDone {
    /// A component came to a place or left it.
    Exchanged(PositionCode),
    /// One came to a place or left it inside another: the place of that, and its own.
    ExchangedInside(PositionCode, PositionCode),
    /// A setting was made at a place.
    Set(PositionCode),
    /// A cut-out of a place ended by a test.
    CutOutEnded(PositionCode, TestRecordId),
    /// Its unit was formed.
    Coupled,
}

impl WorkDone {
    pub(super) fn place(&self) -> Option<&PositionCode> {
        match self {
            Self::Exchanged(place)
            | Self::ExchangedInside(_, place)
            | Self::Set(place)
            | Self::CutOutEnded(place, _) => Some(place),
            Self::Coupled => None,
        }
    }
}

impl fmt::Display for WorkDone {
    /// In words: "=BS1-KF1 exchanged".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exchanged(place) => write!(f, "{place} exchanged"),
            Self::ExchangedInside(outer, place) => {
                write!(f, "{outer} exchanged, with {place} inside it")
            }
            Self::Set(place) => write!(f, "a setting made at {place}"),
            Self::CutOutEnded(place, _) => write!(f, "the cut-out of {place} ended"),
            Self::Coupled => f.write_str("its unit formed"),
        }
    }
}

/// Something on a car that was touched. In the order of time; what an entry touched together stands
/// in the order of its places.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Touch {
    /// When.
    pub at: Instant,
    /// The entry that says so.
    pub by: Seq,
    /// What was done.
    pub work: WorkDone,
}

/// Puts what was touched on a car in order. Where an assembly was exchanged as a whole, what is said of
/// the places inside it names that. Linear in what was touched, but for what an entry touched together.
pub fn put_in_order(touches: &mut [Touch]) {
    touches.sort();
    for together in touches.chunk_by_mut(|one, next| (one.at, one.by) == (next.at, next.by)) {
        let places = together.iter().filter_map(|touch| match &touch.work {
            WorkDone::Exchanged(place) => Some(place.clone()),
            _ => None,
        });
        let places: Vec<PositionCode> = places.collect();
        for touch in together {
            if let WorkDone::Exchanged(place) = &touch.work {
                // The outermost has the shortest code of those that it is inside of.
                let around = places.iter().filter(|outer| place.is_inside(outer));
                if let Some(outer) = around.min_by_key(|outer| outer.as_str().len()) {
                    touch.work = WorkDone::ExchangedInside(outer.clone(), place.clone());
                }
            }
        }
    }
    touches.sort();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_exchanged_as_a_whole_is_named_before_what_is_inside_it() {
        let code = |text: &str| -> PositionCode { text.parse().expect("a code") };
        let exchanged = |text: &str, by: i64| Touch {
            at: "2026-03-01T09:00Z".parse().expect("a moment"),
            by: Seq(by),
            work: WorkDone::Exchanged(code(text)),
        };
        let mut touches = [
            exchanged("=BS1-KF1-KP1", 2),
            exchanged("=BS1-KF1-KP1", 1),
            exchanged("=BS1-KF1", 1),
            exchanged("=BS1-KF1-KP1-V1", 1),
            exchanged("=BS1-KF10", 1),
        ];
        put_in_order(&mut touches);
        let told = touches.each_ref().map(|touch| touch.work.to_string());
        assert_eq!(
            told,
            [
                "=BS1-KF1 exchanged",
                "=BS1-KF10 exchanged",
                "=BS1-KF1 exchanged, with =BS1-KF1-KP1 inside it",
                "=BS1-KF1 exchanged, with =BS1-KF1-KP1-V1 inside it",
                "=BS1-KF1-KP1 exchanged",
            ]
        );
    }

    #[test]
    fn work_says_what_it_touched() {
        let place: PositionCode = "=BS1-KF1".parse().expect("a code");
        let words = |work: &WorkDone| work.to_string();
        assert_eq!(
            words(&WorkDone::Exchanged(place.clone())),
            "=BS1-KF1 exchanged"
        );
        assert_eq!(words(&WorkDone::Set(place)), "a setting made at =BS1-KF1");
    }
}
