//! Speed over distance and the speeds still permitted by gradient, as programs get them.

use super::decided::MissingBody;
use domain::braking::stopping_distance::course::Course;
use domain::decision::permitted::{PermittedRow, permitted_table};
use domain::decision::{Decision, StoppingPair, Way};
use domain::units::Speed;
use domain::worked::Missing;
use serde::Serialize;
use utoipa::ToSchema;

/// How the speed falls over the distance by one method.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct CourseBody {
    /// The method.
    method: &'static str,
    /// With nothing cut out: pairs of metres from the command and km/h, between which the
    /// acceleration is even. Null where the train does not stop, there is no answer, or the
    /// method gives the distance alone.
    before: Option<Vec<[f64; 2]>>,
    /// As it is.
    after: Option<Vec<[f64; 2]>>,
}

impl CourseBody {
    pub(super) fn all(pairs: &[&StoppingPair], way: &Way) -> Vec<Self> {
        let body = |pair: &&StoppingPair| Self {
            method: pair.method.name(),
            before: pair.before.course(way).as_ref().map(points),
            after: pair.after.course(way).as_ref().map(points),
        };
        pairs.iter().map(body).collect()
    }
}

fn points(course: &Course) -> Vec<[f64; 2]> {
    let points = course.points().iter();
    points.map(|point| [point.at.0, point.speed.0]).collect()
}

/// The highest speeds from which the train stops within the signalling distance.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct PermittedBody {
    /// The signalling distance in metres.
    within_m: Option<f64>,
    /// One for each gradient and method, from the steepest fall.
    speeds: Vec<PermittedSpeedBody>,
    /// Why there is no table.
    missing: Vec<MissingBody>,
}

/// The highest speed on a gradient by one method, in steps of 5 km/h. It is no permission.
#[derive(Debug, Serialize, ToSchema)]
struct PermittedSpeedBody {
    /// In per mille; negative where it falls.
    gradient: f64,
    /// The method.
    method: &'static str,
    /// With nothing cut out, in km/h: 0 where it does not stop in time from any speed tried, null
    /// where the method has no answer.
    before_km_h: Option<f64>,
    /// As it is.
    after_km_h: Option<f64>,
    /// Whether the method says nothing of higher speeds, so that it may be more than
    /// `before_km_h`.
    before_at_least: bool,
    /// The same of `after_km_h`.
    after_at_least: bool,
}

impl PermittedBody {
    pub(super) fn of(pairs: &[&StoppingPair], decision: &Decision) -> Self {
        match permitted_table(pairs, &decision.way, decision.speed_max) {
            Ok(table) => Self {
                within_m: Some(table.within.0),
                speeds: table
                    .rows
                    .iter()
                    .flat_map(|row| of_row(row, pairs))
                    .collect(),
                missing: Vec::new(),
            },
            Err(missing) => Self {
                within_m: None,
                speeds: Vec::new(),
                missing: MissingBody::all(&missing),
            },
        }
    }
}

fn of_row(row: &PermittedRow, pairs: &[&StoppingPair]) -> Vec<PermittedSpeedBody> {
    let speed = |found: &Result<Option<Speed>, Missing>| {
        let found = found.as_ref().ok()?;
        Some(found.map_or(0.0, |speed| speed.0))
    };
    let by_method = row.by_method.iter().zip(pairs);
    by_method
        .map(|(found, pair)| PermittedSpeedBody {
            gradient: row.gradient.0,
            method: pair.method.name(),
            before_km_h: speed(&found.before),
            after_km_h: speed(&found.after),
            before_at_least: found.at_least[0],
            after_at_least: found.at_least[1],
        })
        .collect()
}
