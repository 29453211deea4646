//! The methods side by side. Sources: Regulation (EU) 321/2013, table C.3 (480 m); SUBSET-026-3,
//! A.3.7 to A.3.9 and A.3.2, computed (606.5 and 894.8 m).

use crate::published::close;
use domain::braking::stopping_distance::braked_weight_relation::{self, CONSTANTS};
use domain::braking::stopping_distance::conversion_model::distance::stopping_distance;
use domain::braking::stopping_distance::conversion_model::{
    Brake, Conditions, Formation, Model, ModelPosition, ModelTrain,
};
use domain::braking::stopping_distance::{Method, Stop, StoppingDistance};
use domain::units::{Distance, Gradient, Speed};

#[test]
fn three_methods_give_three_labelled_distances_for_one_train() {
    let from = Speed(100.0);
    let formation = Formation {
        position: ModelPosition::PassengerP,
        length: Distance(400.0),
    };
    let train = ModelTrain::new(100, formation, from).unwrap();
    let conversion = |model| {
        let conditions = Conditions {
            model,
            brake: Brake::Emergency,
            gradient: Gradient(0.0),
        };
        stopping_distance(&train, conditions, from).unwrap().value
    };
    let relation = braked_weight_relation::stopping_distance(&CONSTANTS, 100.0, from);
    let found: [(StoppingDistance, Method, f64); 3] = [
        (relation.unwrap().value, Method::BrakedWeightRelation, 480.4),
        (conversion(Model::Nominal), Method::ConversionNominal, 606.5),
        (
            conversion(Model::DefaultValues),
            Method::ConversionDefaultValues,
            894.8,
        ),
    ];
    let mut labels = Vec::new();
    for (result, method, expected) in found {
        let Stop::After(distance) = result.stop else {
            panic!("the train stops")
        };
        close(distance.0, expected, 0.05);
        assert_eq!(result.method, method);
        labels.push(result.method.label());
    }
    labels.dedup();
    assert_eq!(labels.len(), 3);
}
