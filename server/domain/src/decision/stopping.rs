//! Stopping distances before and after the cut-outs, each method by itself. They differ by half
//! for one train, each right in its own frame; they stand side by side and are never mixed.

use super::{Question, Way, forces};
use crate::braking::forces::retarding::Retarding;
use crate::braking::percentage::{Percentage, Rounding};
use crate::braking::stopping_distance::by_method::ByMethod;
use crate::braking::stopping_distance::conversion_model::{
    Formation, Model, ModelPosition, ModelTrain,
};
use crate::braking::stopping_distance::course::Course;
use crate::braking::stopping_distance::{Method, StoppingDistance};
use crate::circuit::train::TrainCircuit;
use crate::isolation::brake_percentage::{BrakePercentage, Braked};
use crate::units::Speed;
use crate::worked::{Missing, Step, Worked};
use serde::Serialize;

/// How the train stops by one method.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stopping {
    /// Its brakes as the method knows them.
    #[serde(with = "crate::worked::answer")]
    pub by: Result<ByMethod, Missing>,
    /// The distance from the speed and on the gradient asked for.
    #[serde(with = "crate::worked::answer")]
    pub distance: Result<Worked<StoppingDistance>, Missing>,
}

/// How the train stops by one method, before and after the cut-outs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StoppingPair {
    /// The method.
    pub method: Method,
    /// With everything as it should be.
    pub before: Stopping,
    /// As it is.
    pub after: Stopping,
}

/// What a method says from a lower speed than was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct FromLower {
    /// The speed.
    pub from: Speed,
    /// With everything as it should be.
    pub before: Worked<StoppingDistance>,
    /// As it is.
    pub after: Worked<StoppingDistance>,
}

impl StoppingPair {
    /// Where the method has no answer from the speed asked for: what it says from each lower speed
    /// from which it has one, the highest first. It says nothing about the speed asked for.
    pub fn from_lower_speeds(&self, way: &Way) -> Vec<FromLower> {
        let answered = self.before.distance.is_ok() && self.after.distance.is_ok();
        let (Some(speed), Some(gradient)) = (way.speed, way.gradient) else {
            return Vec::new();
        };
        let (Ok(before), Ok(after)) = (&self.before.by, &self.after.by) else {
            return Vec::new();
        };
        let lower = before.speeds_below(speed).filter(|_| !answered);
        let found = lower.filter_map(|from| {
            Some(FromLower {
                from,
                before: before.stopping_distance(gradient, from).ok()?,
                after: after.stopping_distance(gradient, from).ok()?,
            })
        });
        found.collect()
    }
}

/// The methods of [`StoppingPair`], in the order of their margins; forces stand by themselves.
pub const METHODS: [Method; 4] = [
    Method::BrakedWeightRelation,
    Method::ConversionNominal,
    Method::ConversionDefaultValues,
    Method::Forces,
];

/// The brakes of a train as one side of a comparison has them.
#[derive(Clone, Copy)]
pub(super) struct Side<'a> {
    /// Their percentage.
    pub(super) percentage: Result<Percentage, &'a Missing>,
    /// What retards the train.
    pub(super) retarding: Result<&'a (Retarding, Vec<Step>), &'a Missing>,
}

/// All methods.
pub(super) fn pairs(question: &Question, [before, after]: [Side<'_>; 2]) -> Vec<StoppingPair> {
    let pair = |method: &Method| StoppingPair {
        method: *method,
        before: Stopping::new(question, before.by(*method, question)),
        after: Stopping::new(question, after.by(*method, question)),
    };
    METHODS.iter().map(pair).collect()
}

/// How the train stops once stored air is used up, by each method by which that is something else.
pub(super) fn later(
    question: &Question,
    circuit: &TrainCircuit,
    now: &[StoppingPair],
    (percentage, braked): (&Result<Worked<BrakePercentage>, Missing>, &Braked),
) -> Vec<StoppingPair> {
    let retarding = forces::retarding(question, circuit, braked);
    let then = Side {
        percentage: percentage.as_ref().map(|worked| worked.value.after),
        retarding: retarding.as_ref(),
    };
    let pair = |now: &StoppingPair| {
        let by = then.by(now.method, question);
        (by != now.after.by).then(|| StoppingPair {
            method: now.method,
            before: now.before.clone(),
            after: Stopping::new(question, by),
        })
    };
    now.iter().filter_map(pair).collect()
}

impl Side<'_> {
    fn by(&self, method: Method, question: &Question) -> Result<ByMethod, Missing> {
        if method == Method::Forces {
            let (retarding, steps) = self.retarding.map_err(Clone::clone)?;
            return Ok(ByMethod::Forces(retarding.clone(), steps.clone()));
        }
        let percentage = self.percentage.map_err(Clone::clone)?;
        by_percentage(method, question, percentage)
    }
}

impl Stopping {
    fn new(question: &Question, by: Result<ByMethod, Missing>) -> Self {
        let way = &question.way;
        let lacking = |what: &str| Missing::one(what, "the question");
        let distance = || {
            let by = by.as_ref().map_err(Clone::clone)?;
            let speed = way.speed.ok_or_else(|| lacking("speed to stop from"))?;
            let gradient = way.gradient.ok_or_else(|| lacking("gradient"))?;
            by.stopping_distance(gradient, speed)
        };
        let distance = distance();
        Self { by, distance }
    }

    /// How the speed falls over the distance asked for; none where there is no distance, and by
    /// a method that gives nothing but the distance.
    pub fn course(&self, way: &Way) -> Option<Course> {
        self.distance.as_ref().ok()?;
        self.by.as_ref().ok()?.course(way.gradient?, way.speed?)
    }
}

fn by_percentage(
    method: Method,
    question: &Question,
    percentage: Percentage,
) -> Result<ByMethod, Missing> {
    let model = match method {
        Method::BrakedWeightRelation => return Ok(ByMethod::Relation(percentage.percent())),
        Method::ConversionNominal => Model::Nominal,
        _ => Model::DefaultValues,
    };
    let whole = percentage.whole(Rounding::Down);
    let asked = question.way.speed.unwrap_or(Speed(0.0));
    let speed_max = question
        .speed_max()
        .map_or(asked, |max| if max < asked { asked } else { max });
    let train = ModelTrain::new(whole, formation(question), speed_max)?;
    Ok(ByMethod::Model(train, model))
}

/// The train as the conversion model knows it.
pub(super) fn formation(question: &Question) -> Formation {
    let position = if question.is_passenger() {
        ModelPosition::PassengerP
    } else {
        ModelPosition::FreightG
    };
    Formation {
        position,
        length: question.length(),
    }
}
