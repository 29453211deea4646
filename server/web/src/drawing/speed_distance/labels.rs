//! The words beside the curves: where no curve runs, each with a thin line to what it names. A train
//! that brakes loses little speed at first, so that the corner at the upper right is free, and the
//! corner at the lower left for what only marks where the train stands.

use super::{Axes, BOTTOM, HEIGHT, LEFT, RIGHT, TOP};
use crate::drawing::WIDTH;
use domain::braking::stopping_distance::course::{Course, CoursePoint};
use domain::units::{Distance, Speed};

/// Words, with the line that leads to what they name.
#[derive(Debug)]
pub(crate) struct Label {
    pub(crate) x: String,
    pub(crate) y: String,
    pub(crate) words: String,
    /// The line, as a path.
    pub(crate) leader: String,
    /// Where it meets a curve.
    pub(crate) dot: Option<(String, String)>,
}

/// What is to be labelled.
pub(super) struct Marked<'a> {
    /// Where its train stands, on the drawing.
    pub(super) stand: f64,
    pub(super) course: Option<&'a Course>,
    pub(super) words: String,
}

/// From one line of words to the next.
const LINE: f64 = 18.0;
/// Above the middle of the words is their line.
const MIDDLE: f64 = 5.0;
/// Width of a character, at most.
const CHARACTER: f64 = 8.2;

/// The label of each, in their order.
pub(super) fn labels(axes: &Axes, all: &[Marked<'_>]) -> Vec<Label> {
    // The outer curve on top, so that lines cross few curves.
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|one, other| all[*other].stand.total_cmp(&all[*one].stand));
    let row_of = |at: usize| {
        let alike = |other: &&usize| all[**other].course.is_some() == all[at].course.is_some();
        let above = order.iter().take_while(|other| **other != at);
        above.filter(alike).count()
    };
    let marks = all.iter().filter(|one| one.course.is_none()).count();
    let left = right_of_curves(axes, all);
    let label = |(at, one): (usize, &Marked<'_>)| match one.course {
        Some(course) => on_curve(axes, course, one, (left, row_height(row_of(at)))),
        None => at_mark(one, marks - row_of(at)),
    };
    all.iter().enumerate().map(label).collect()
}

/// The middle of a row of words, counted from the top.
fn row_height(row: usize) -> f64 {
    TOP + LINE * (2.0 + row as f64)
}

/// Where the words begin that stand right of all curves, as near as the lowest row of them allows.
fn right_of_curves(axes: &Axes, all: &[Marked<'_>]) -> f64 {
    let courses: Vec<&Course> = all.iter().filter_map(|one| one.course).collect();
    let lowest = axes.speed_at(row_height(courses.len()));
    let reach = courses
        .iter()
        .filter_map(|course| at_speed(course.points(), lowest));
    let reach = reach.map(|at| axes.x(at)).fold(LEFT, f64::max);
    let curves = all.iter().filter(|one| one.course.is_some());
    let widest = curves.map(|one| width(&one.words)).fold(0.0, f64::max);
    (reach + 3.0 * LINE).min(f64::from(WIDTH) - RIGHT - widest)
}

/// Words right of the curves, at their height.
fn on_curve(axes: &Axes, course: &Course, one: &Marked<'_>, (left, y): (f64, f64)) -> Label {
    let top = course.points().first().map_or(0.0, |point| point.speed.0);
    let speed = Speed(axes.speed_at(y).0.min(0.95 * top));
    let x = at_speed(course.points(), speed).map_or(one.stand, |at| axes.x(at));
    let (from, meets) = (left - 6.0, axes.y(speed));
    Label {
        x: format!("{left:.1}"),
        y: format!("{:.1}", y + MIDDLE),
        words: one.words.clone(),
        leader: format!("M{from:.1} {y:.1} L{x:.1} {meets:.1}"),
        dot: Some((format!("{x:.1}"), format!("{meets:.1}"))),
    }
}

/// Words at the left, in the row counted from the bottom, from 1. What stands farther has the upper
/// row, so that lines do not cross.
fn at_mark(one: &Marked<'_>, row: usize) -> Label {
    let axis = f64::from(HEIGHT) - BOTTOM;
    let (left, y) = (LEFT + 12.0, axis - LINE * row as f64);
    let (from, stand) = (left + width(&one.words), one.stand);
    Label {
        x: format!("{left:.1}"),
        y: format!("{:.1}", y + MIDDLE),
        words: one.words.clone(),
        leader: format!("M{from:.1} {y:.1} H{stand:.1} V{axis:.1}"),
        dot: None,
    }
}

fn width(words: &str) -> f64 {
    CHARACTER * words.chars().count() as f64
}

/// Where a course passes a speed on its way down.
pub(super) fn at_speed(points: &[CoursePoint], speed: Speed) -> Option<Distance> {
    let parts = points.windows(2).rev();
    let mut parts = parts.filter_map(|part| match part {
        [from, to] if to.speed <= speed && speed <= from.speed => Some((from, to)),
        _ => None,
    });
    let (from, to) = parts.next()?;
    let (v0, v1, v) = (from.speed.0, to.speed.0, speed.0);
    let lost = v0 * v0 - v1 * v1;
    let share = if lost > 0.0 {
        (v0 * v0 - v * v) / lost
    } else {
        1.0
    };
    Some(Distance(from.at.0 + share * (to.at.0 - from.at.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_farther_is_told_above_so_that_lines_do_not_cross() {
        let axes = Axes {
            distance: 1000.0,
            speed: 100.0,
        };
        let mark = |stand, words: &str| Marked {
            stand,
            course: None,
            words: words.to_owned(),
        };
        let found = labels(&axes, &[mark(500.0, "before"), mark(700.0, "after")]);
        let height = |label: &Label| label.y.parse::<f64>().expect("a number");
        assert!(height(&found[1]) + LINE <= height(&found[0]) + 1e-9);
        assert!(found[1].leader.ends_with("H700.0 V374.0"), "{found:?}");
    }
}
