//! What several of these answers are made of.

use domain::configuration::component::PositionRef;
use domain::isolation::closing::Spot;
use domain::isolation::losses::Losses;
use serde::Serialize;
use utoipa::ToSchema;

/// A position of a car.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct SpotBody {
    /// The car.
    #[schema(example = "4101")]
    car: String,
    /// The position.
    #[schema(example = "=BS1-QM1")]
    position: String,
}

impl From<&Spot> for SpotBody {
    fn from(spot: &Spot) -> Self {
        Self {
            car: spot.car_number.to_string(),
            position: spot.position.to_string(),
        }
    }
}

impl From<&PositionRef> for SpotBody {
    fn from(at: &PositionRef) -> Self {
        Self {
            car: at.car.to_string(),
            position: at.position.to_string(),
        }
    }
}

/// What is lost beyond what was lost before.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct LossesBody {
    /// Braked weight lost in emergency braking at once, in kilograms.
    at_once_kg: i64,
    /// The same once stored air is used up.
    later_kg: i64,
    /// What else is lost once stored air is used up.
    functions: Vec<FunctionBody>,
}

/// How much of a function is lost.
#[derive(Debug, Serialize, ToSchema)]
struct FunctionBody {
    /// The function: `holding`, `load_signal` or another.
    #[schema(example = "holding")]
    function: &'static str,
    /// How many of what it counts.
    lost: u32,
}

impl From<&Losses> for LossesBody {
    fn from(losses: &Losses) -> Self {
        let functions = losses.functions.iter().map(|loss| FunctionBody {
            function: loss.function.name(),
            lost: loss.lost,
        });
        Self {
            at_once_kg: losses.at_once.0,
            later_kg: losses.later.0,
            functions: functions.collect(),
        }
    }
}
