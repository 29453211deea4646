//! When work is due: tasks with their limits, due points, forecast dates and states.
//!
//! The chain is: facts about a car or component give the anchors its intervals count from;
//! anchors and intervals give due points; due points, last readings and daily rates give
//! dates; dates give the state on any day. A new reading moves only the dates, so
//! [`reforecast`] begins at the due points.

pub mod anchor;
pub mod at_once;
pub mod facts;
pub mod forecast;
pub mod obligation;
pub mod place;
pub mod point;
pub mod state;
pub mod task;
pub mod visit;
pub mod working;

#[cfg(test)]
pub(crate) mod examples;

use crate::due::anchor::Anchors;
use crate::due::facts::{MeterFacts, SubjectFacts};
use crate::due::forecast::{Forecast, PassedOn};
use crate::due::point::DuePoints;
use crate::due::task::Task;
use crate::units::ByMeter;
use serde::Serialize;

/// When a task is due on a car or component.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DueRow {
    /// Where its limits lie; they stay until work is done, the component moves or the task
    /// changes.
    pub points: DuePoints,
    /// The dates.
    pub forecast: Forecast,
}

/// When a task is due on a car or component. Linear in the number of times it was done, with
/// no allocation. [`working::worked`] gives the same with its steps.
pub fn compute(task: &Task, subject: &SubjectFacts, meters: &ByMeter<MeterFacts>) -> DueRow {
    compute_read(task, subject, (meters, &|_, _| None))
}

/// The same with the days on which meters reached what they have passed.
pub fn compute_read(
    task: &Task,
    subject: &SubjectFacts,
    (meters, passed): (&ByMeter<MeterFacts>, PassedOn<'_>),
) -> DueRow {
    let points = DuePoints::of(task, &Anchors::of(task, subject), subject);
    let forecast = reforecast(&points, (meters, passed));
    DueRow { points, forecast }
}

/// The dates of due points after a new reading of the host car. Constant cost: a few dozen
/// integer operations.
pub fn reforecast(
    points: &DuePoints,
    (meters, passed): (&ByMeter<MeterFacts>, PassedOn<'_>),
) -> Forecast {
    Forecast::of(points, meters, passed)
}
