//! Brake percentage conversion model. Source: ERA, SUBSET-026-3, chapter 3 with appendix A.3
//! (baseline 4 text), clauses at each test. The coefficients are the document's; the numbers
//! here are computed from its formulas.

mod model;
mod stopping;
mod tables;

use domain::braking::stopping_distance::conversion_model::{
    Brake, Conditions, Formation, Model, ModelPosition, ModelTrain,
};
use domain::units::{Distance, Gradient, Speed};

fn formation(position: ModelPosition, length_m: f64) -> Formation {
    let length = Distance(length_m);
    Formation { position, length }
}

fn passenger_train(percentage: u32) -> ModelTrain {
    let short = formation(ModelPosition::PassengerP, 400.0);
    ModelTrain::new(percentage, short, Speed(200.0)).unwrap()
}

fn emergency(model: Model, gradient: f64) -> Conditions {
    Conditions {
        model,
        brake: Brake::Emergency,
        gradient: Gradient(gradient),
    }
}
