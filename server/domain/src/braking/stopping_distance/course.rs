//! How the speed falls over the distance of a stop.

use crate::units::{Distance, Speed};
use serde::Serialize;

/// Where a train is at which speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CoursePoint {
    /// How far it has come since the command.
    pub at: Distance,
    /// Its speed there.
    pub speed: Speed,
}

/// Speed over distance. Between two points the acceleration is even, so that the distance is a
/// parabola over the speed and a drawing of it can be exact.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course(Vec<CoursePoint>);

impl Course {
    /// The course through these points, the first at the command and the last at the stand.
    pub(crate) fn new(points: Vec<CoursePoint>) -> Self {
        Self(points)
    }

    /// The points, in the order they are passed.
    pub fn points(&self) -> &[CoursePoint] {
        &self.0
    }

    /// Where the train stands.
    pub fn length(&self) -> Distance {
        self.0.last().map_or(Distance(0.0), |point| point.at)
    }

    /// The highest speed on the way.
    pub fn highest(&self) -> Speed {
        let speeds = self.0.iter().map(|point| point.speed.0);
        Speed(speeds.fold(0.0, f64::max))
    }
}
