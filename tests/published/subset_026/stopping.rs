//! Stopping distances put together from the model.
//!
//! Source: SUBSET-026-3, 3.13 and A.3.

use super::tables::{
    DEFAULT_SPEEDS, DEFAULT_VALUES, HIGHEST, NOMINAL, NOMINAL_SPEEDS, SMALLEST, SMALLEST_SPEEDS,
};
use super::{emergency, formation, passenger_train};
use crate::published::close;
use domain::braking::percentage::{Percentage, Rounding};
use domain::braking::stopping_distance::by_method::ByMethod;
use domain::braking::stopping_distance::conversion_model::distance::stopping_distance;
use domain::braking::stopping_distance::conversion_model::search::{
    highest_speed_within, smallest_percentage_within,
};
use domain::braking::stopping_distance::conversion_model::{
    Brake, Conditions, Model, ModelPosition, ModelTrain,
};
use domain::braking::stopping_distance::{Method, Stop};
use domain::units::{Distance, Gradient, Kilograms, Speed};
use proptest::prelude::*;

fn metres(train: &ModelTrain, conditions: Conditions, from: f64) -> f64 {
    let found = stopping_distance(train, conditions, Speed(from)).unwrap();
    match found.value.stop {
        Stop::After(distance) => distance.0,
        Stop::Never => f64::INFINITY,
    }
}

#[test]
fn the_nominal_model_reproduces_every_computed_distance() {
    for (gradient, percentage, distances) in NOMINAL {
        for (speed, expected) in NOMINAL_SPEEDS.into_iter().zip(distances) {
            let conditions = emergency(Model::Nominal, gradient);
            let found = metres(&passenger_train(percentage), conditions, speed);
            close(found, expected, 0.05);
        }
    }
}

#[test]
fn the_default_national_values_reproduce_every_computed_distance() {
    for (gradient, percentage, distances) in DEFAULT_VALUES {
        for (speed, expected) in DEFAULT_SPEEDS.into_iter().zip(distances) {
            let conditions = emergency(Model::DefaultValues, gradient);
            let found = metres(&passenger_train(percentage), conditions, speed);
            close(found, expected, 0.05);
        }
    }
}

#[test]
fn a_weak_train_on_a_steep_fall_does_not_stop_by_the_default_values() {
    for speed in DEFAULT_SPEEDS {
        let conditions = emergency(Model::DefaultValues, -20.0);
        let found = stopping_distance(&passenger_train(30), conditions, Speed(speed)).unwrap();
        assert_eq!(found.value.stop, Stop::Never);
    }
}

#[test]
fn an_absurd_distance_is_given_with_a_caution() {
    let conditions = emergency(Model::Nominal, -20.0);
    let found = stopping_distance(&passenger_train(30), conditions, Speed(200.0)).unwrap();
    close(
        metres(&passenger_train(30), conditions, 200.0),
        57_598.9,
        0.05,
    );
    assert!(found.steps.iter().any(|step| step.what == "caution"));
    let usual = stopping_distance(&passenger_train(100), conditions, Speed(100.0)).unwrap();
    assert!(usual.steps.iter().all(|step| step.what != "caution"));
}

#[test]
fn the_smallest_percentage_for_a_distance_is_the_computed_one() {
    for (limit, gradient, percentages) in SMALLEST {
        for (speed, expected) in SMALLEST_SPEEDS.into_iter().zip(percentages) {
            let found = smallest_percentage_within(
                formation(ModelPosition::PassengerP, 400.0),
                emergency(Model::Nominal, gradient),
                Speed(speed),
                Distance(limit),
            );
            let expected = Some(expected).filter(|percentage| *percentage > 0);
            assert_eq!(found.unwrap().value, expected, "{limit} {gradient} {speed}");
        }
    }
    let steep = |speed| {
        smallest_percentage_within(
            formation(ModelPosition::PassengerP, 400.0),
            emergency(Model::Nominal, -20.0),
            Speed(speed),
            Distance(700.0),
        )
    };
    assert_eq!(steep(80.0).unwrap().value, Some(72));
    assert_eq!(steep(120.0).unwrap().value, Some(155));
}

#[test]
fn the_highest_speed_for_a_distance_is_the_computed_one() {
    let highest = |percentage, gradient, limit| {
        let conditions = emergency(Model::Nominal, gradient);
        let train = passenger_train(percentage);
        let found = highest_speed_within(&train, conditions, Distance(limit)).unwrap();
        found.value.map(|speed| speed.0)
    };
    for (percentage, by_gradient) in HIGHEST {
        for (gradient, speeds) in [0.0, -10.0, -20.0].into_iter().zip(by_gradient) {
            for (limit, expected) in [700.0, 1000.0, 1500.0].into_iter().zip(speeds) {
                let expected = Some(f64::from(expected));
                assert_eq!(highest(percentage, gradient, limit), expected);
                let by = ByMethod::Model(passenger_train(percentage), Model::Nominal);
                let within = (Distance(limit), Speed(200.0));
                let permitted = by.permitted(Gradient(gradient), within).unwrap();
                assert_eq!(permitted.map(|speed| speed.0), expected);
            }
        }
    }
    for (percentage, expected) in [(155, 155.0), (137, 145.0), (113, 135.0), (80, 120.0)] {
        assert_eq!(highest(percentage, 0.0, 1000.0), Some(expected));
    }
    assert_eq!(highest(30, 0.0, 5.0), None);
}

/// Constructed example: freight train, 65 %, 600 m, from 100 km/h on the level.
#[test]
fn a_freight_train_stops_later_in_g_than_in_p() {
    for (position, expected) in [
        (ModelPosition::FreightG, 1068.0),
        (ModelPosition::FreightP, 918.5),
    ] {
        let train = ModelTrain::new(65, formation(position, 600.0), Speed(100.0)).unwrap();
        close(
            metres(&train, emergency(Model::Nominal, 0.0), 100.0),
            expected,
            0.05,
        );
    }
}

/// Constructed example: four cars of 52, 46, 46 and 52 t with 82, 70, 70 and 82 t braked weight,
/// and what is left of it. Distances from 100, 120, 140, 160 km/h on the level and from 160 at
/// -10 per mille.
#[test]
fn isolations_lengthen_the_stop_as_computed() {
    for (braked_t, mass_t, exact, distances) in [
        (304, 196, 155.102, [451.0, 615.9, 805.8, 1062.9, 1138.9]),
        (269, 196, 137.245, [489.1, 670.8, 884.9, 1190.6, 1293.4]),
        (222, 196, 113.265, [557.2, 768.9, 1059.2, 1426.8, 1591.2]),
        (234, 196, 119.388, [537.8, 741.0, 1008.7, 1358.9, 1503.9]),
        (526, 392, 134.184, [496.3, 681.3, 903.0, 1215.5, 1324.0]),
    ] {
        let (braked, mass) = (Kilograms(braked_t * 1000), Kilograms(mass_t * 1000));
        let percentage = Percentage::new(braked, mass).unwrap();
        close(percentage.percent(), exact, 5e-4);
        let train = passenger_train(percentage.whole(Rounding::Down));
        let cases = [
            (100.0, 0.0),
            (120.0, 0.0),
            (140.0, 0.0),
            (160.0, 0.0),
            (160.0, -10.0),
        ];
        for ((speed, gradient), expected) in cases.into_iter().zip(distances) {
            let found = metres(&train, emergency(Model::Nominal, gradient), speed);
            close(found, expected, 0.05);
        }
    }
}

/// The same example with the service brake, 100 m long: between 155 and 135 % nothing changes.
#[test]
fn the_service_brake_does_not_notice_an_isolation_above_135_percent() {
    let service = Conditions {
        model: Model::Nominal,
        brake: Brake::FullService,
        gradient: Gradient(0.0),
    };
    let from_160 = |percentage| {
        let short = formation(ModelPosition::PassengerP, 100.0);
        let train = ModelTrain::new(percentage, short, Speed(160.0)).unwrap();
        metres(&train, service, 160.0)
    };
    close(from_160(155), 1188.4, 0.05);
    close(from_160(137), 1188.4, 0.05);
    close(from_160(113), 1408.2, 0.05);
}

#[test]
fn a_result_bears_its_model_and_its_steps() {
    for (model, method) in [
        (Model::Nominal, Method::ConversionNominal),
        (Model::DefaultValues, Method::ConversionDefaultValues),
    ] {
        let conditions = emergency(model, -10.0);
        let found = stopping_distance(&passenger_train(80), conditions, Speed(120.0)).unwrap();
        assert_eq!(found.value.method, method);
        // Lowest step, build-up, gradient, two parts of the stop, and the sum.
        assert_eq!(found.steps.len(), 6, "{:?}", found.steps);
    }
}

proptest! {
    #[test]
    fn more_percent_never_stops_later(
        percentage in 30_u32..250, speed in 1.0_f64..200.0, gradient in -30.0_f64..10.0,
    ) {
        for model in [Model::Nominal, Model::DefaultValues] {
            let conditions = emergency(model, gradient);
            let weaker = metres(&passenger_train(percentage), conditions, speed);
            let stronger = metres(&passenger_train(percentage + 1), conditions, speed);
            prop_assert!(stronger <= weaker + 1e-9);
        }
    }

    #[test]
    fn more_speed_or_a_steeper_fall_stops_later(
        percentage in 30_u32..=250, speed in 1.0_f64..199.0, gradient in -30.0_f64..10.0,
    ) {
        let train = passenger_train(percentage);
        let here = metres(&train, emergency(Model::Nominal, gradient), speed);
        let faster = metres(&train, emergency(Model::Nominal, gradient), speed + 1.0);
        let steeper = metres(&train, emergency(Model::Nominal, gradient - 1.0), speed);
        prop_assert!(faster > here || here.is_infinite());
        prop_assert!(steeper > here || here.is_infinite());
    }
}
