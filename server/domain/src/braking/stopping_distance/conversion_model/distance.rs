//! The stopping distance from the model's steps: the initial speed during the build-up time, then
//! each step's deceleration together with the gradient's. The gradient's pull during the build-up
//! time is neglected, as in the figures this was checked against.

use super::build_up::{Target, build_up_time};
use super::deceleration::{Profile, by_gradient};
use super::{Conditions, ModelTrain, SPEED_MAX};
use crate::braking::stopping_distance::course::{Course as SpeedCourse, CoursePoint};
use crate::braking::stopping_distance::{Stop, StoppingDistance};
use crate::units::{Deceleration, Distance, Seconds, Speed};
use crate::worked::{Missing, Step, Worked};

/// A part of the stop within one step of the deceleration.
struct Segment {
    from: Speed,
    to: Speed,
    brakes: Deceleration,
    net: Deceleration,
}

impl Segment {
    /// Its length; `None` where the gradient is stronger than the brakes.
    fn length(&self) -> Option<Distance> {
        let (v, w) = (self.from.metres_per_second(), self.to.metres_per_second());
        (self.net.0 > 0.0).then(|| Distance((v * v - w * w) / (2.0 * self.net.0)))
    }
}

impl Segment {
    /// "160 km/h to 116 km/h at 0.834 m/s²: 561.2 m".
    fn in_words(&self) -> String {
        let Self { from, to, net, .. } = self;
        let length = self
            .length()
            .map_or_else(|| "without end".to_owned(), |length| format!("{length:.1}"));
        format!("{from:.0} to {to:.0} at {net:.3}: {length}")
    }
}

/// A stop as the model sees it.
struct Course {
    build_up: Seconds,
    segments: Vec<Segment>,
    stop: Stop,
}

fn course(train: &ModelTrain, conditions: Conditions, from: Speed) -> Course {
    let (model, brake) = (conditions.model, conditions.brake);
    let build_up = build_up_time(train.formation(), brake, Target::Stand).0 * model.time_factor();
    let gradient = by_gradient(conditions.gradient);
    let profile = Profile::of(train.percentage_for(brake));
    let mut segments = Vec::new();
    let mut lower = Speed(0.0);
    for step in profile.steps() {
        let upper = Speed(step.up_to.0.min(from.0));
        if lower < upper {
            let brakes = Deceleration(model.deceleration_factor() * step.deceleration.0);
            segments.push(Segment {
                from: upper,
                to: lower,
                brakes,
                net: Deceleration(brakes.0 + gradient.0),
            });
            lower = upper;
        }
    }
    segments.reverse();
    let braking: Option<f64> = segments.iter().map(|s| s.length().map(|l| l.0)).sum();
    let free = from.metres_per_second() * build_up;
    Course {
        build_up: Seconds(build_up),
        segments,
        stop: braking.map_or(Stop::Never, |length| Stop::After(Distance(free + length))),
    }
}

/// Whether and where the train stops, without the working. Speeds outside the model are the
/// caller's care.
pub(super) fn stop(train: &ModelTrain, conditions: Conditions, from: Speed) -> Stop {
    course(train, conditions, from).stop
}

/// How the speed falls over the distance; none where the train does not stop. Speeds outside the
/// model are the caller's care.
pub fn course_of(train: &ModelTrain, conditions: Conditions, from: Speed) -> Option<SpeedCourse> {
    let course = course(train, conditions, from);
    let mut at = from.metres_per_second() * course.build_up.0;
    let point = |at, speed| CoursePoint {
        at: Distance(at),
        speed,
    };
    let mut points = vec![point(0.0, from), point(at, from)];
    for segment in &course.segments {
        at += segment.length()?.0;
        points.push(point(at, segment.to));
    }
    Some(SpeedCourse::new(points))
}

/// The stopping distance of a train from a speed, with its working. No answer for a speed that
/// the model does not hold for.
pub fn stopping_distance(
    train: &ModelTrain,
    conditions: Conditions,
    from: Speed,
) -> Result<Worked<StoppingDistance>, Missing> {
    if !(0.0..=SPEED_MAX.0).contains(&from.0) {
        let of = "conversion model, SUBSET-026-3, 3.13.3.2";
        return Err(Missing::one("a speed from 0 to 200 km/h", of));
    }
    let course = course(train, conditions, from);
    let value = StoppingDistance {
        method: conditions.model.method(),
        from,
        stop: course.stop,
    };
    let mut steps = steps(train, conditions, &course);
    steps.push(sum(&value, &course));
    steps.extend(value.caution());
    Ok(Worked { value, steps })
}

/// The numbers of which a stopping distance is the sum, in one line: the way during the build-up time
/// and that of each step. Speeds outside the model are the caller's care.
pub fn in_one_line(train: &ModelTrain, conditions: Conditions, from: Speed) -> String {
    let course = course(train, conditions, from);
    let v = from.metres_per_second();
    let free = Distance(v * course.build_up.0);
    let first = format!("{v:.2} m/s · {:.3} = {free:.1}", course.build_up);
    let parts = course.segments.iter().map(Segment::in_words);
    let all: Vec<String> = std::iter::once(first).chain(parts).collect();
    all.join("; ")
}

fn steps(train: &ModelTrain, conditions: Conditions, course: &Course) -> Vec<Step> {
    let percentage = train.percentage_for(conditions.brake);
    let model = conditions.model;
    let limit = super::deceleration::lowest_step_up_to(percentage);
    let pull = by_gradient(conditions.gradient);
    let mut steps = vec![
        Step::published(
            "upper speed of the lowest step",
            format!("16.85 · {percentage}^0.428 = {limit:.3}"),
            "SUBSET-026-3, A.3.7",
        ),
        Step::published(
            "build-up time",
            format!(
                "{}, {} brake, {:.0}, times {} = {:.3}",
                train.formation().position,
                conditions.brake,
                train.formation().length,
                model.time_factor(),
                course.build_up
            ),
            "SUBSET-026-3, A.3.8, A.3.9; factor A.3.2",
        ),
        Step::published(
            "deceleration by the gradient",
            format!("{} gives {pull:.5}", conditions.gradient),
            "SUBSET-026-3, 3.13.4.3",
        ),
    ];
    steps.extend(
        course
            .segments
            .iter()
            .map(|s| segment(s, model.deceleration_factor())),
    );
    steps
}

fn segment(segment: &Segment, factor: f64) -> Step {
    let length = segment.length().map_or(Stop::Never, Stop::After);
    let what = format!("from {:.1} to {:.1}", segment.from, segment.to);
    let working = format!(
        "brakes {:.5} (with factor {factor:.2}), with the gradient {:.5}: {length}",
        segment.brakes, segment.net
    );
    Step::published(what, working, "SUBSET-026-3, A.3.7; factor A.3.2")
}

fn sum(result: &StoppingDistance, course: &Course) -> Step {
    let v = result.from.metres_per_second();
    let free = v * course.build_up.0;
    let what = format!("stopping distance from {:.0}", result.from);
    let working = format!(
        "{v:.3} m/s · {:.3} = {free:.1} m, and the parts above: {}; {}",
        course.build_up,
        result.stop,
        result.method.label()
    );
    let source = "SUBSET-026-3, A.3.7 to A.3.9; the sum is the register's own definition";
    Step::published(what, working, source)
}
