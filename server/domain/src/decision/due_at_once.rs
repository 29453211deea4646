//! Work on the cars of a train, and on what is fitted to them, that is due at once, since something that
//! it proves was touched or failed and it was not done since. It moves no verdict: what was touched may
//! work as it should, and nobody has proved it. Whoever reads a verdict must know of it.

use crate::due::at_once::{AtOnce, AtOnceCause};
use crate::identity::{CarNumber, PositionCode, TaskCode};
use crate::ledger::entry::Seq;
use crate::time::Day;
use serde::Serialize;
use std::collections::BTreeSet;

/// A task that is due at once: of a car, since something was touched; of a component that is fitted,
/// since it failed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct DueAtOnce {
    /// The task.
    pub task: TaskCode,
    /// The day on which something was touched first, or failed.
    pub on: Day,
    /// By which entry.
    pub by: Seq,
    /// What was done or found.
    what: &'static str,
    /// Where the component is fitted that the work is done on; none for the car as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position: Option<PositionCode>,
}

/// The same in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DueAtOnceInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// Which.
    #[serde(flatten)]
    pub due: DueAtOnce,
}

impl DueAtOnce {
    /// Of a task of a car that is due at once; none where nothing was touched: that a test of the car
    /// was failed is told as such.
    pub fn of_car(task: TaskCode, found: &AtOnce) -> Option<Self> {
        let touched = found.cause.is_touched();
        touched.then(|| Self::new(task, None, found))
    }

    /// Of a task of the component that is fitted at a position, which is due at once.
    pub fn of_fitted(task: TaskCode, position: PositionCode, found: &AtOnce) -> Self {
        Self::new(task, Some(position), found)
    }

    fn new(task: TaskCode, position: Option<PositionCode>, found: &AtOnce) -> Self {
        let what = match found.cause {
            AtOnceCause::FailedTest => "a test of it was failed",
            AtOnceCause::RemovedFailed => "it was taken off as failed",
            AtOnceCause::RemovedSuspected => "it was taken off as suspected",
            AtOnceCause::Exchanged => "something was exchanged",
            AtOnceCause::Set => "a setting was made",
            AtOnceCause::CutOutEnded => "a cut-out ended",
            AtOnceCause::Coupled => "its unit was formed",
        };
        Self {
            task,
            on: found.on,
            by: found.by,
            what,
            position,
        }
    }

    /// "BT-CAR (something was exchanged on 2026-11-20, entry 12)", "=B1 OH-DV (a test of it was failed
    /// on 2026-11-20, entry 12)".
    fn in_words(&self) -> String {
        let Self {
            task,
            on,
            by,
            what,
            position,
        } = self;
        let place = position.as_ref();
        let place = place.map_or(String::new(), |position| format!("{position} "));
        format!("{place}{task} ({what} on {on}, {by})")
    }
}

/// What is due at once on the cars as a whole, in one sentence, where there is any.
pub(super) fn in_words(
    due: &[DueAtOnceInTrain],
    of_all: impl Fn(&str, &BTreeSet<(CarNumber, String)>) -> Option<String>,
) -> Option<String> {
    let due = due.iter().filter(|one| one.due.position.is_none());
    let due = due.map(|one| (one.car_number.clone(), one.due.in_words()));
    of_all(
        "Due at once, before the car runs again, since something was touched:",
        &due.collect(),
    )
}

/// The same of what is fitted to them.
pub(super) fn fitted_in_words(
    due: &[DueAtOnceInTrain],
    of_all: impl Fn(&str, &BTreeSet<(CarNumber, String)>) -> Option<String>,
) -> Option<String> {
    let fitted = fitted(due).map(|one| (one.car_number.clone(), one.due.in_words()));
    of_all(
        "Due at once on what is fitted, and no verdict counts it:",
        &fitted.collect(),
    )
}

/// The same in one line, for the sheet: how many tasks are, and the first in the train.
pub(super) fn fitted_in_short(due: &[DueAtOnceInTrain]) -> Option<String> {
    let first = fitted(due).next()?;
    let (car, words) = (&first.car_number, first.due.in_words());
    Some(match fitted(due).count() {
        1 => format!(
            "1 task is due at once on what is fitted, and no verdict counts it: car {car} {words}."
        ),
        several => format!(
            "{several} tasks are due at once on what is fitted, and no verdict counts it; the first: \
             car {car} {words}."
        ),
    })
}

/// Of all that is due at once, what is so on what is fitted.
pub(super) fn fitted(due: &[DueAtOnceInTrain]) -> impl Iterator<Item = &DueAtOnceInTrain> {
    due.iter().filter(|one| one.due.position.is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(cause: AtOnceCause) -> AtOnce {
        AtOnce {
            on: "2026-11-20".parse().expect("a day"),
            cause,
            by: Seq(12),
        }
    }

    fn due(cause: AtOnceCause) -> Option<DueAtOnce> {
        DueAtOnce::of_car("BT-CAR".parse().expect("a task"), &found(cause))
    }

    fn on_fitted(car: &str, position: &str) -> DueAtOnceInTrain {
        let task = "OH-DV".parse().expect("a task");
        let position = position.parse().expect("a position");
        DueAtOnceInTrain {
            car_number: car.parse().expect("a car"),
            due: DueAtOnce::of_fitted(task, position, &found(AtOnceCause::FailedTest)),
        }
    }

    #[test]
    fn what_was_touched_is_told_with_its_day_and_entry_and_what_failed_is_not() {
        let told = due(AtOnceCause::Exchanged).expect("it is due");
        assert_eq!(
            told.in_words(),
            "BT-CAR (something was exchanged on 2026-11-20, entry 12)"
        );
        for cause in AtOnceCause::ALL {
            assert_eq!(due(*cause).is_some(), cause.is_touched(), "{cause}");
        }
    }

    #[test]
    fn a_component_that_failed_where_it_is_fitted_is_told_with_its_place() {
        let touched = DueAtOnceInTrain {
            car_number: "4101".parse().expect("a car"),
            due: due(AtOnceCause::Set).expect("it is due"),
        };
        assert_eq!(fitted_in_short(std::slice::from_ref(&touched)), None);
        let one = on_fitted("4101", "=B1");
        assert_eq!(
            fitted_in_short(&[touched.clone(), one.clone()]).as_deref(),
            Some(
                "1 task is due at once on what is fitted, and no verdict counts it: car 4101 =B1 OH-DV \
                 (a test of it was failed on 2026-11-20, entry 12)."
            )
        );
        let all = [touched, one, on_fitted("4102", "=B2")];
        let short = fitted_in_short(&all).expect("two are");
        assert!(short.starts_with("2 tasks are due at once"), "{short}");
        assert!(short.contains("the first: car 4101 =B1"), "{short}");
        let count = |_: &str, told: &BTreeSet<(CarNumber, String)>| Some(told.len().to_string());
        assert_eq!(in_words(&all, count).as_deref(), Some("1"));
        assert_eq!(fitted_in_words(&all, count).as_deref(), Some("2"));
    }
}
