//! A train that forces retard on a gradient, from the command to the stand: step by step from
//! the response of one group of brakes to that of the next, with even acceleration between, so
//! that each step is exact. The gradient acts from the command on: downhill a train gains speed
//! until its brakes act. Running resistance is not counted, which is on the safe side.

use super::SOURCE;
use crate::braking::GRAVITY_M_S2;
use crate::braking::stopping_distance::course::{Course, CoursePoint};
use crate::braking::stopping_distance::{Method, Stop, StoppingDistance};
use crate::units::{Deceleration, Distance, Gradient, Kilograms, Kilonewtons, Seconds, Speed};
use crate::worked::{Missing, Step, Worked};
use serde::Serialize;

/// A force that joins in after a time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Joining {
    /// How long after the command.
    pub after: Seconds,
    /// The force at the rail.
    pub force: Kilonewtons,
}

/// What retards a train.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Retarding {
    mass: Kilograms,
    rotating: Kilograms,
    joining: Vec<Joining>,
}

/// A part of the stop with even acceleration.
#[derive(Debug, Clone, Copy)]
struct Phase {
    from: Speed,
    to: Speed,
    brakes: Kilonewtons,
    net: Deceleration,
    length: Distance,
}

/// A stop, part by part.
struct Run {
    phases: Vec<Phase>,
    stop: Stop,
}

impl Retarding {
    /// A train of that mass, whose rotating parts add `rotating` to it, and the forces on it, in
    /// any order. No answer without a mass above nil.
    pub fn new(
        mass: Kilograms,
        rotating: Kilograms,
        forces: impl IntoIterator<Item = Joining>,
    ) -> Result<Self, Missing> {
        if mass <= Kilograms(0) || rotating < Kilograms(0) {
            return Err(Missing::one("a mass above nil", "braking from forces"));
        }
        let mut joining: Vec<Joining> = forces.into_iter().collect();
        joining.sort_by(|one, other| one.after.0.total_cmp(&other.after.0));
        joining.dedup_by(|later, kept| {
            let at_once = later.after == kept.after;
            if at_once {
                kept.force.0 += later.force.0;
            }
            at_once
        });
        Ok(Self {
            mass,
            rotating,
            joining,
        })
    }

    /// The static mass.
    pub const fn mass(&self) -> Kilograms {
        self.mass
    }

    /// The mass that is to be slowed: static and rotating.
    pub fn dynamic_mass(&self) -> Kilograms {
        self.mass + self.rotating
    }

    /// All forces together.
    pub fn force(&self) -> Kilonewtons {
        Kilonewtons(self.joining.iter().map(|joining| joining.force.0).sum())
    }

    /// The same train, each force changed in one proportion so that all are `force` together. One
    /// without any force stays without.
    #[must_use]
    pub fn scaled_to(&self, force: Kilonewtons) -> Self {
        let own = self.force().0;
        let factor = if own > 0.0 { force.0 / own } else { 1.0 };
        let mut scaled = self.clone();
        for joining in &mut scaled.joining {
            joining.force.0 *= factor;
        }
        scaled
    }

    /// What slows the train under a force: that force and the pull of the gradient.
    fn net(&self, brakes: Kilonewtons, gradient: Gradient) -> Deceleration {
        let pull = self.mass.tonnes() * GRAVITY_M_S2 * gradient.0 / 1000.0;
        Deceleration((brakes.0 + pull) / self.dynamic_mass().tonnes())
    }

    /// Linear in the forces that join in at different times.
    fn run(&self, gradient: Gradient, from: Speed) -> Run {
        let mut phases: Vec<Phase> = Vec::with_capacity(self.joining.len() + 1);
        let (mut speed, mut brakes, mut now) = (from, Kilonewtons(0.0), Seconds(0.0));
        for joining in &self.joining {
            let net = self.net(brakes, gradient);
            let lasts = Seconds(joining.after.0 - now.0);
            let phase = phase_of(speed, (brakes, net), lasts);
            speed = phase.to;
            phases.extend((phase.length.0 > 0.0).then_some(phase));
            brakes.0 += joining.force.0;
            now = joining.after;
        }
        let net = self.net(brakes, gradient);
        if speed.0 > 0.0 && net.0 <= 0.0 {
            let stop = Stop::Never;
            return Run { phases, stop };
        }
        if speed.0 > 0.0 {
            phases.push(phase_of(speed, (brakes, net), Seconds(f64::INFINITY)));
        }
        let length = phases.iter().map(|phase| phase.length.0).sum();
        Run {
            phases,
            stop: Stop::After(Distance(length)),
        }
    }

    /// Whether and where the train stops, without the working.
    pub fn stop(&self, gradient: Gradient, from: Speed) -> Stop {
        self.run(gradient, from).stop
    }

    /// How the speed falls over the distance; none where the train does not stop.
    pub fn course(&self, gradient: Gradient, from: Speed) -> Option<Course> {
        let Run { phases, stop } = self.run(gradient, from);
        let points = phases.iter().map(|phase| (phase.length, phase.to));
        (stop != Stop::Never).then(|| Course::of_parts(from, points))
    }

    /// The stopping distance with its working.
    pub fn stopping_distance(&self, gradient: Gradient, from: Speed) -> Worked<StoppingDistance> {
        let run = self.run(gradient, from);
        let value = StoppingDistance {
            method: Method::Forces,
            from,
            stop: run.stop,
        };
        let mut steps = vec![self.mass_step()];
        steps.extend(run.phases.iter().map(|phase| phase_step(phase, gradient)));
        let what = format!("stopping distance from {from:.0}");
        let working = match run.stop {
            Stop::After(distance) => format!("the parts above: {distance}"),
            Stop::Never => format!(
                "with all {:.1} acting on {gradient} the train is slowed by {:.4}: it does not stop",
                self.force(),
                self.net(self.force(), gradient)
            ),
        };
        steps.push(Step::published(what, working, SOURCE));
        steps.extend(value.caution());
        Worked { value, steps }
    }

    fn mass_step(&self) -> Step {
        let working = format!(
            "{} + {} of rotating parts = {}",
            self.mass,
            self.rotating,
            self.dynamic_mass()
        );
        Step::published("mass to be slowed", working, SOURCE)
    }
}

/// A part of the stop that lasts so long, or until the train stands.
fn phase_of(from: Speed, (brakes, net): (Kilonewtons, Deceleration), lasts: Seconds) -> Phase {
    let (v, a) = (from.metres_per_second(), net.0);
    let (to, length) = if v <= a * lasts.0 {
        (0.0, if v > 0.0 { v * v / (2.0 * a) } else { 0.0 })
    } else {
        (v - a * lasts.0, v * lasts.0 - a * lasts.0 * lasts.0 / 2.0)
    };
    Phase {
        from,
        to: Speed(3.6 * to),
        brakes,
        net,
        length: Distance(length),
    }
}

fn phase_step(phase: &Phase, gradient: Gradient) -> Step {
    let what = format!("from {:.1} to {:.1}", phase.from, phase.to);
    let working = format!(
        "brakes {:.1}; with the gradient of {gradient} slowed by {:.4}: {}",
        phase.brakes, phase.net, phase.length
    );
    Step::published(what, working, SOURCE)
}

impl Course {
    /// A course from the lengths of its parts and the speed at the end of each.
    fn of_parts(from: Speed, parts: impl Iterator<Item = (Distance, Speed)>) -> Self {
        let begin = CoursePoint {
            at: Distance(0.0),
            speed: from,
        };
        let mut points = vec![begin];
        let mut at = 0.0;
        for (Distance(length), speed) in parts {
            at += length;
            let at = Distance(at);
            points.push(CoursePoint { at, speed });
        }
        Self::new(points)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVEL: Gradient = Gradient(0.0);

    fn joining(after: f64, force: f64) -> Joining {
        Joining {
            after: Seconds(after),
            force: Kilonewtons(force),
        }
    }

    /// 100 t whose rotating parts add nothing.
    fn train(forces: &[Joining]) -> Retarding {
        let forces = forces.iter().copied();
        Retarding::new(Kilograms(100_000), Kilograms(0), forces).expect("a train")
    }

    fn metres(train: &Retarding, gradient: Gradient, from: f64) -> f64 {
        match train.stop(gradient, Speed(from)) {
            Stop::After(distance) => distance.0,
            Stop::Never => f64::INFINITY,
        }
    }

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-6, "{found}, not {expected}");
    }

    #[test]
    fn one_force_stops_as_the_mean_value_formula_says() {
        // 90 km/h, 1 m/s²: 25 · 2 + 25² / 2.
        close(metres(&train(&[joining(2.0, 100.0)]), LEVEL, 90.0), 362.5);
    }

    #[test]
    fn forces_join_in_one_after_the_other_whatever_their_order() {
        // 25 m/s for 1 s; 1 m/s² for 2 s to 23 m/s; then 2 m/s².
        let expected = 25.0 + 48.0 + 23.0 * 23.0 / 4.0;
        let (early, late) = (joining(1.0, 100.0), joining(3.0, 100.0));
        close(metres(&train(&[early, late]), LEVEL, 90.0), expected);
        close(metres(&train(&[late, early]), LEVEL, 90.0), expected);
    }

    #[test]
    fn a_train_downhill_gains_speed_until_its_brakes_act() {
        // −20 ‰ pull with 0.1962 m/s²; after 2 s the train runs 25.3924 m/s.
        let pull = 0.02 * GRAVITY_M_S2;
        let (v, before) = (25.0 + 2.0 * pull, 50.0 + 2.0 * pull);
        let expected = before + v * v / (2.0 * (1.0 - pull));
        let down = train(&[joining(2.0, 100.0)]);
        close(metres(&down, Gradient(-20.0), 90.0), expected);
        let course = down.course(Gradient(-20.0), Speed(90.0)).expect("a stop");
        close(course.highest().0, 3.6 * v);
        close(course.length().0, expected);
    }

    #[test]
    fn a_train_that_the_gradient_pulls_harder_than_it_brakes_does_not_stop() {
        let weak = train(&[joining(2.0, 19.0)]);
        assert_eq!(weak.stop(Gradient(-20.0), Speed(30.0)), Stop::Never);
        assert_eq!(weak.course(Gradient(-20.0), Speed(30.0)), None);
        assert_eq!(train(&[]).stop(LEVEL, Speed(30.0)), Stop::Never);
        let worked = weak.stopping_distance(Gradient(-20.0), Speed(30.0));
        let last = worked.steps.last().expect("a step");
        assert!(last.working.contains("does not stop"), "{last:?}");
    }

    #[test]
    fn a_train_may_stop_uphill_before_its_brakes_act() {
        // 5 m/s against 0.4905 m/s².
        let slow = train(&[joining(20.0, 100.0)]);
        let expected = 25.0 / (2.0 * 0.05 * GRAVITY_M_S2);
        close(metres(&slow, Gradient(50.0), 18.0), expected);
        close(metres(&slow, Gradient(50.0), 0.0), 0.0);
    }

    #[test]
    fn a_train_without_a_mass_has_no_answer() {
        assert!(Retarding::new(Kilograms(0), Kilograms(0), []).is_err());
        assert!(Retarding::new(Kilograms(1000), Kilograms(-1), []).is_err());
    }
}
