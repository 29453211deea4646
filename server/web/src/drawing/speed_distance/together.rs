//! Curves that lie so close together that the drawing shows one line: the legend says which.

use super::labels::at_speed;
use super::{Axes, Side};
use domain::braking::stopping_distance::course::CoursePoint;
use domain::units::{Distance, Speed};

/// How far apart, on the drawing, lines must be to be seen as two: half of a thick one and of a thin.
const APART: f64 = 3.0;
/// At how many speeds two curves are compared.
const SPEEDS: u32 = 16;

/// What is drawn as one line or mark, group by group, in words.
pub(super) fn together(axes: &Axes, sides: &[Side<'_>]) -> Vec<String> {
    let mut groups: Vec<Vec<&Side<'_>>> = Vec::new();
    for side in sides {
        let alike = |first: &&Side<'_>| are_one(axes, first, side);
        let mut firsts = groups.iter().map(|group| group.first().is_some_and(alike));
        match firsts.position(|is_alike| is_alike) {
            Some(at) => groups[at].push(side),
            None => groups.push(vec![side]),
        }
    }
    let several = groups.iter().filter(|group| 1 < group.len());
    let words = several.map(|group| group.iter().map(|side| side.words()).collect::<Vec<_>>());
    words.map(|group| group.join("; ")).collect()
}

fn are_one(axes: &Axes, one: &Side<'_>, other: &Side<'_>) -> bool {
    let lines = match (&one.course, &other.course) {
        (None, None) => true,
        (Some(one), Some(other)) => run_together(axes, one.points(), other.points()),
        (Some(_), None) | (None, Some(_)) => false,
    };
    lines && are_near(axes, one.stand, other.stand)
}

fn are_near(axes: &Axes, one: Distance, other: Distance) -> bool {
    (axes.x(one) - axes.x(other)).abs() < APART
}

/// Whether two curves are close together at every speed that both have.
fn run_together(axes: &Axes, one: &[CoursePoint], other: &[CoursePoint]) -> bool {
    let highest = |points: &[CoursePoint]| points.iter().map(|p| p.speed.0).fold(0.0, f64::max);
    let top = highest(one).min(highest(other));
    (0..SPEEDS).all(|step| {
        let speed = Speed(top * f64::from(step) / f64::from(SPEEDS));
        match (at_speed(one, speed), at_speed(other, speed)) {
            (Some(one), Some(other)) => are_near(axes, one, other),
            (one, other) => one.is_none() && other.is_none(),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_are_one_line_where_they_are_close_at_every_speed() {
        // 1,154 units of the drawing for so many metres: one metre is 1.154 units.
        let axes = Axes {
            distance: 1000.0,
            speed: 100.0,
        };
        let course = |points: &[(f64, f64)]| -> Vec<CoursePoint> {
            let point = |(at, speed): &(f64, f64)| CoursePoint {
                at: Distance(*at),
                speed: Speed(*speed),
            };
            points.iter().map(point).collect()
        };
        let one = course(&[(0.0, 90.0), (100.0, 90.0), (700.0, 0.0)]);
        let near = course(&[(0.0, 90.0), (101.0, 90.0), (702.0, 0.0)]);
        let farther = course(&[(0.0, 90.0), (100.0, 90.0), (704.0, 0.0)]);
        // Both stand at the same place, which alone says nothing.
        let crossing = course(&[(0.0, 90.0), (10.0, 90.0), (700.0, 0.0)]);
        assert!(run_together(&axes, &one, &near));
        assert!(!run_together(&axes, &one, &farther));
        assert!(!run_together(&axes, &one, &crossing));
    }
}
