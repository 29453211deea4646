//! A task: work with an interval, due at the first of its limits.

use crate::identity::{CarTypeName, PartNumber, Revision, TaskCode};
use crate::units::{Amount, Meter};
use crate::words::word_list;
use serde::{Deserialize, Serialize};

word_list! {
    /// What kind of work.
    TaskKind, "task kind" {
        /// A test with measured values.
        Test = "test",
        /// An inspection.
        Inspection = "inspection",
        /// An intermediate overhaul.
        IntermediateOverhaul = "intermediate_overhaul",
        /// An overhaul.
        Overhaul = "overhaul",
        /// The end of a component's life. It has no late tolerance and is never reset.
        LifeLimit = "life_limit",
    }
}

word_list! {
    /// What the next interval counts from when work was done.
    CountsFrom, "counts from" {
        /// The day or amount at which the work was done.
        Done = "done",
        /// The point at which it was due, when it was done within tolerance; else as done.
        DuePoint = "due_point",
    }
}

word_list! {
    /// What starts the clock of a calendar limit before the task was ever done.
    ClockStart, "clock start" {
        /// The component's last overhaul, or its making where it had none.
        Overhaul = "overhaul",
        /// The first fitting after that.
        Fitting = "fitting",
    }
}

/// What a task is done on.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AppliesTo {
    /// Every component of a part.
    Part(PartNumber),
    /// Every car of a type.
    CarType(CarTypeName),
}

/// How long until the work is due again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Interval {
    /// Calendar days, 1 to 36,500.
    Days(u32),
    /// Calendar months, 1 to 1,200, clipped to the end of the month.
    Months(u32),
    /// Use by a meter.
    Usage(Meter, Amount),
}

/// One bound of a task, with how early and how late the work may be done. Tolerances are in
/// days for calendar intervals and in the meter's unit for use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Limit {
    /// How long until due.
    pub interval: Interval,
    /// How much before the due point the work may be done and still count for it: days, or
    /// thousandths of the meter's unit.
    pub early: i64,
    /// How much after the due point the work may still be done: days, or thousandths of the
    /// meter's unit.
    pub late: i64,
}

/// Work with an interval.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Task {
    /// Its code.
    pub code: TaskCode,
    /// Its revision.
    pub revision: Revision,
    /// What is done, in words.
    pub title: String,
    /// What kind of work.
    pub kind: TaskKind,
    /// What it is done on.
    pub applies_to: AppliesTo,
    /// Its limits; the first that is reached makes it due. One to four.
    pub limits: Vec<Limit>,
    /// What the next interval counts from.
    pub counts_from: CountsFrom,
    /// What starts a calendar limit before the task was ever done.
    pub clock_start: ClockStart,
    /// Tasks that count as done with this one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub satisfies: Vec<TaskCode>,
    /// Where the interval comes from: law, maker, own justification.
    pub source: String,
}
