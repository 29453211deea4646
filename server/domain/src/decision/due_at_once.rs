//! Work on the cars of a train that is due at once, since something that it proves was touched and it
//! was not done since. It moves no verdict: what was touched may work as it should, and nobody has
//! proved it. Whoever reads a verdict must know of it.

use crate::due::at_once::{AtOnce, AtOnceCause};
use crate::identity::{CarNumber, TaskCode};
use crate::ledger::entry::Seq;
use crate::time::Day;
use serde::Serialize;
use std::collections::BTreeSet;

/// A task of a car that is due at once since something was touched.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct DueAtOnce {
    /// The task.
    pub task: TaskCode,
    /// The day on which something was touched first.
    pub on: Day,
    /// By which entry.
    pub by: Seq,
    /// What was done.
    what: &'static str,
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
    /// Of a task that is due at once; none where nothing was touched: what was failed is told as such.
    pub fn of(task: TaskCode, found: &AtOnce) -> Option<Self> {
        let what = match found.cause {
            AtOnceCause::FailedTest
            | AtOnceCause::RemovedFailed
            | AtOnceCause::RemovedSuspected => return None,
            AtOnceCause::Exchanged => "something was exchanged",
            AtOnceCause::Set => "a setting was made",
            AtOnceCause::CutOutEnded => "a cut-out ended",
            AtOnceCause::Coupled => "its unit was formed",
        };
        Some(Self {
            task,
            on: found.on,
            by: found.by,
            what,
        })
    }

    /// "BT-CAR (something was exchanged on 2026-11-20, entry 12)".
    fn in_words(&self) -> String {
        let Self { task, on, by, what } = self;
        format!("{task} ({what} on {on}, {by})")
    }
}

/// In one sentence, where there is any.
pub(super) fn in_words(
    due: &[DueAtOnceInTrain],
    of_all: impl Fn(&str, &BTreeSet<(CarNumber, String)>) -> Option<String>,
) -> Option<String> {
    let due = due.iter();
    let due = due.map(|one| (one.car_number.clone(), one.due.in_words()));
    of_all(
        "Due at once, before the car runs again, since something was touched:",
        &due.collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn due(cause: AtOnceCause) -> Option<DueAtOnce> {
        let found = AtOnce {
            on: "2026-11-20".parse().expect("a day"),
            cause,
            by: Seq(12),
        };
        DueAtOnce::of("BT-CAR".parse().expect("a task"), &found)
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
}
