//! A train's brakes as one method knows them, so that the same questions can be asked of each:
//! where does it stop, how does its speed fall, from which speed does it stop in time. One method
//! never answers for another.

use super::braked_weight_relation::{self, CONSTANTS};
use super::conversion_model::distance::{course_of, stopping_distance};
use super::conversion_model::{Brake, Conditions, Model, ModelTrain, search};
use super::course::Course;
use super::permitted::highest_speed_from;
use super::{Stop, StoppingDistance};
use crate::braking::forces::retarding::Retarding;
use crate::units::{Distance, Gradient, Speed};
use crate::worked::{Missing, Step, Worked};
use serde::Serialize;

/// A train's brakes as one method knows them.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ByMethod {
    /// Its brake percentage, for the braked-weight relation.
    Relation(f64),
    /// A train of the conversion model.
    Model(ModelTrain, Model),
    /// Forces, with the steps that led to them.
    Forces(Retarding, Vec<Step>),
}

fn conditions(model: Model, gradient: Gradient) -> Conditions {
    Conditions {
        model,
        brake: Brake::Emergency,
        gradient,
    }
}

/// The relation is one of level track.
fn level(gradient: Gradient) -> Result<(), Missing> {
    if gradient == Gradient(0.0) {
        return Ok(());
    }
    let of = "braked-weight relation of UIC 544-1, which is one of level track";
    let what = format!("a gradient of 0 ‰, not {gradient}");
    Err(Missing::one(what, of))
}

impl ByMethod {
    /// The stopping distance in emergency braking, with its working.
    pub fn stopping_distance(
        &self,
        gradient: Gradient,
        from: Speed,
    ) -> Result<Worked<StoppingDistance>, Missing> {
        match self {
            Self::Relation(percent) => {
                level(gradient)?;
                braked_weight_relation::stopping_distance(&CONSTANTS, *percent, from)
            }
            Self::Model(train, model) => {
                stopping_distance(train, conditions(*model, gradient), from)
            }
            Self::Forces(retarding, led_to) => {
                let Worked { value, steps } = retarding.stopping_distance(gradient, from);
                let steps = led_to.iter().cloned().chain(steps).collect();
                Ok(Worked { value, steps })
            }
        }
    }

    /// The speeds below one from which the method answers, though it may not from that one: those
    /// that the relation has constants for, the highest first. None by a method that answers from
    /// any speed.
    pub fn speeds_below(&self, speed: Speed) -> impl Iterator<Item = Speed> {
        let constants = match self {
            Self::Relation(_) => CONSTANTS.as_slice(),
            Self::Model(..) | Self::Forces(..) => &[],
        };
        let speeds = constants.iter().rev().map(|constants| constants.speed);
        speeds.filter(move |one| *one < speed)
    }

    /// Whether the method says nothing from any speed above one up to another: the relation does not
    /// above the last speed that it has constants for. What it says of the first then is no limit.
    pub fn is_silent_above(&self, speed: Speed, most: Speed) -> bool {
        let mut above = CONSTANTS.iter().map(|constants| constants.speed);
        let relation = matches!(self, Self::Relation(_));
        relation && speed < most && !above.any(|one| one > speed && one <= most)
    }

    /// How the speed falls over the distance. None where the train does not stop, and none by
    /// the relation, which gives a distance and nothing on the way.
    pub fn course(&self, gradient: Gradient, from: Speed) -> Option<Course> {
        match self {
            Self::Relation(_) => None,
            Self::Model(train, model) => course_of(train, conditions(*model, gradient), from),
            Self::Forces(retarding, _) => retarding.course(gradient, from),
        }
    }

    /// The highest speed up to `most` from which the train stops within a distance, in steps of
    /// 5 km/h; by the relation, of the speeds that it has constants for, on the level only. None
    /// where it does not even from the lowest. Speeds are tried upward: see [`highest_speed_from`].
    pub fn permitted(
        &self,
        gradient: Gradient,
        within: (Distance, Speed),
    ) -> Result<Option<Speed>, Missing> {
        self.permitted_above(None, gradient, within)
    }

    /// The same where the answer on a steeper fall is known.
    pub fn permitted_above(
        &self,
        known: Option<Speed>,
        gradient: Gradient,
        (limit, most): (Distance, Speed),
    ) -> Result<Option<Speed>, Missing> {
        match self {
            Self::Relation(percent) => {
                level(gradient)?;
                let stop = |speed| {
                    braked_weight_relation::stopping_distance(&CONSTANTS, *percent, speed)
                        .map_or(Stop::Never, |worked| worked.value.stop)
                };
                let speeds = CONSTANTS.iter().map(|constants| constants.speed);
                let within = speeds.take_while(|v| *v <= most && stop(*v).is_within(limit));
                Ok(within.last())
            }
            Self::Model(train, model) => {
                let conditions = conditions(*model, gradient);
                Ok(search::permitted(train, conditions, (limit, most, known)))
            }
            Self::Forces(retarding, _) => {
                let stop = |speed| retarding.stop(gradient, speed);
                Ok(highest_speed_from(known, (limit, most), stop))
            }
        }
    }
}
