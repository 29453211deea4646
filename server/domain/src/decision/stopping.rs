//! Stopping distances before and after the cut-outs, by each method that needs no more than the
//! brake percentage. They differ by half for one train, each right in its own frame; they stand
//! side by side and are never mixed.

use super::Question;
use crate::braking::percentage::{Percentage, Rounding};
use crate::braking::stopping_distance::braked_weight_relation::{self, CONSTANTS};
use crate::braking::stopping_distance::conversion_model::distance::stopping_distance;
use crate::braking::stopping_distance::conversion_model::{
    Brake, Conditions, Formation, Model, ModelPosition, ModelTrain,
};
use crate::braking::stopping_distance::{Method, StoppingDistance};
use crate::isolation::brake_percentage::BrakePercentage;
use crate::units::{Gradient, Speed};
use crate::worked::{Missing, Worked};
use serde::Serialize;

/// The stopping distance by one method, before and after the cut-outs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StoppingPair {
    /// The method.
    pub method: Method,
    /// With everything as it should be.
    #[serde(with = "crate::worked::answer")]
    pub before: Result<Worked<StoppingDistance>, Missing>,
    /// As it is.
    #[serde(with = "crate::worked::answer")]
    pub after: Result<Worked<StoppingDistance>, Missing>,
}

/// All methods, in the order of their margins.
pub(super) fn pairs(
    question: &Question,
    percentage: &Result<Worked<BrakePercentage>, Missing>,
) -> Vec<StoppingPair> {
    let methods = [
        Method::BrakedWeightRelation,
        Method::ConversionNominal,
        Method::ConversionDefaultValues,
    ];
    let pair = |method| {
        let by = |of: fn(&BrakePercentage) -> Percentage| {
            let worked = percentage.as_ref().map_err(Clone::clone)?;
            by_method(method, question, of(&worked.value))
        };
        StoppingPair {
            method,
            before: by(|p| p.before),
            after: by(|p| p.after),
        }
    };
    methods.into_iter().map(pair).collect()
}

fn by_method(
    method: Method,
    question: &Question,
    percentage: Percentage,
) -> Result<Worked<StoppingDistance>, Missing> {
    let way = &question.way;
    let speed = way
        .speed
        .ok_or_else(|| Missing::one("speed to stop from", "the question"))?;
    let gradient = way
        .gradient
        .ok_or_else(|| Missing::one("gradient", "the question"))?;
    let model = match method {
        Method::BrakedWeightRelation => return by_relation(percentage, speed, gradient),
        Method::ConversionNominal => Model::Nominal,
        _ => Model::DefaultValues,
    };
    let whole = percentage.whole(Rounding::Down);
    let speed_max = question
        .speed_max()
        .map_or(speed, |max| if max < speed { speed } else { max });
    let train = ModelTrain::new(whole, formation(question), speed_max)?;
    stopping_distance(
        &train,
        Conditions {
            model,
            brake: Brake::Emergency,
            gradient,
        },
        speed,
    )
}

/// The relation is one of level track.
fn by_relation(
    percentage: Percentage,
    speed: Speed,
    gradient: Gradient,
) -> Result<Worked<StoppingDistance>, Missing> {
    if gradient != Gradient(0.0) {
        let of = "braked-weight relation of UIC 544-1, which is one of level track";
        return Err(Missing::one(
            format!("a gradient of 0 ‰, not {gradient}"),
            of,
        ));
    }
    braked_weight_relation::stopping_distance(&CONSTANTS, percentage.percent(), speed)
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
