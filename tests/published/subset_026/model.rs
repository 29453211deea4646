//! Steps, times, gradient and margins of the model.
//!
//! Source: SUBSET-026-3, 3.13 and A.3.

use super::{formation, passenger_train};
use crate::published::close;
use domain::braking::stopping_distance::conversion_model::build_up::{
    Target, build_up_time, emergency_effort_times,
};
use domain::braking::stopping_distance::conversion_model::deceleration::{
    Profile, by_gradient, lowest_step_up_to,
};
use domain::braking::stopping_distance::conversion_model::margin::Intervention;
use domain::braking::stopping_distance::conversion_model::{
    Brake, Model, ModelPosition, ModelTrain,
};
use domain::units::{Gradient, Speed};

fn at(percentage: u32, speed: f64) -> f64 {
    Profile::of(percentage).at(Speed(speed)).unwrap().0
}

/// A.3.7: `V_lim` = 16.85 · λ^0.428.
#[test]
fn the_lowest_step_ends_where_the_formula_says() {
    for (percentage, expected) in [
        (30, 72.245),
        (100, 120.948),
        (135, 137.525),
        (200, 162.720),
        (250, 179.027),
    ] {
        close(lowest_step_up_to(percentage).0, expected, 5e-4);
    }
}

/// A.3.7: 0.0075 · λ + 0.076 in the lowest step.
#[test]
fn the_lowest_step_has_the_linear_deceleration() {
    for (percentage, expected) in [(30, 0.301), (100, 0.826), (200, 1.576)] {
        close(at(percentage, 20.0), expected, 1e-9);
    }
}

/// A.3.7 and 3.13.2.2.3.1.3: a step holds up to and including its upper speed.
#[test]
fn a_step_holds_up_to_and_including_its_upper_speed() {
    let border = lowest_step_up_to(100).0;
    for (speed, expected) in [
        (120.0, 0.826),
        (border, 0.826),
        (121.0, 0.617_1),
        (150.0, 0.617_1),
        (151.0, 0.591_5),
        (181.0, 0.581_73),
    ] {
        close(at(100, speed), expected, 1e-9);
    }
}

/// A.3.7, second polynomial; a coefficient of 5.13e-3 in place of 5.14e-3 would give 0.65112.
#[test]
fn the_second_polynomial_has_the_printed_coefficient() {
    for (speed, expected) in [(110.0, 0.651_92), (120.0, 0.651_92), (121.0, 0.498_01)] {
        close(at(80, speed), expected, 5e-6);
    }
}

/// A.3.7: the deceleration is not monotonic in speed.
#[test]
fn a_weak_train_brakes_harder_just_above_100_km_h_than_at_100() {
    close(at(30, 100.0), 0.245_79, 1e-9);
    close(at(30, 101.0), 0.287_485, 1e-9);
}

/// A.3.7: a polynomial whose upper speed lies below the lowest step's is ignored.
#[test]
fn no_deceleration_is_negative_and_ignored_steps_are_left_out() {
    for percentage in 30..=250 {
        let profile = Profile::of(percentage);
        assert!(profile.steps().iter().all(|step| step.deceleration.0 > 0.0));
    }
    for percentage in [180, 200] {
        // Lowest step, then the fourth and fifth polynomials only.
        assert_eq!(Profile::of(percentage).steps().len(), 3);
    }
}

/// A.3.7: the service brake counts at most 135 %.
#[test]
fn the_service_brake_counts_at_most_135_percent() {
    let counted = passenger_train(155).percentage_for(Brake::FullService);
    assert_eq!(counted, 135);
    close(at(counted, 100.0), 1.088_5, 1e-9);
    assert_eq!(passenger_train(155).percentage_for(Brake::Emergency), 155);
}

/// 3.13.3.2: where the model holds.
#[test]
fn outside_its_limits_the_model_gives_no_answer() {
    use ModelPosition::{FreightG, FreightP, PassengerP};
    let train = |percentage, speed, position, length| {
        ModelTrain::new(percentage, formation(position, length), Speed(speed))
    };
    for (percentage, speed, position, length) in [
        (30, 200.0, PassengerP, 900.0),
        (250, 200.0, FreightP, 1500.0),
        (250, 200.0, FreightG, 1500.0),
    ] {
        assert!(train(percentage, speed, position, length).is_ok());
    }
    for (percentage, speed, position, length) in [
        (29, 200.0, PassengerP, 400.0),
        (251, 200.0, PassengerP, 400.0),
        (100, 201.0, PassengerP, 400.0),
        (100, 200.0, PassengerP, 901.0),
        (100, 200.0, FreightG, 1501.0),
        (100, f64::NAN, PassengerP, 400.0),
        (100, 200.0, PassengerP, -1.0),
    ] {
        assert!(train(percentage, speed, position, length).is_err());
    }
}

fn time(position: ModelPosition, length: f64, brake: Brake, target: Target) -> f64 {
    build_up_time(formation(position, length), brake, target).0
}

/// A.3.8: emergency brake.
#[test]
fn emergency_build_up_times_are_those_of_the_formula() {
    use ModelPosition::{FreightG, FreightP, PassengerP};
    for (position, length, expected) in [
        (PassengerP, 100.0, 5.02),
        (PassengerP, 200.0, 5.02),
        (PassengerP, 400.0, 5.02),
        (PassengerP, 500.0, 6.55),
        (PassengerP, 700.0, 10.63),
        (PassengerP, 900.0, 16.07),
        (FreightP, 100.0, 5.02),
        (FreightP, 900.0, 16.07),
        (FreightP, 901.0, 16.4514),
        (FreightP, 1000.0, 18.60),
        (FreightP, 1200.0, 23.12),
        (FreightP, 1500.0, 30.35),
        (FreightG, 100.0, 12.05),
        (FreightG, 200.0, 12.20),
        (FreightG, 400.0, 12.80),
        (FreightG, 900.0, 16.05),
        (FreightG, 901.0, 16.4514),
        (FreightG, 1500.0, 30.35),
    ] {
        let found = time(position, length, Brake::Emergency, Target::Stand);
        close(found, expected, 5e-5);
    }
}

/// A.3.9: full service brake; freight G counts at least 400 m.
#[test]
fn service_build_up_times_are_those_of_the_formula() {
    use ModelPosition::{FreightG, FreightP, PassengerP};
    for (position, length, expected) in [
        (PassengerP, 100.0, 4.60),
        (PassengerP, 200.0, 6.40),
        (PassengerP, 400.0, 10.60),
        (PassengerP, 900.0, 24.60),
        (FreightP, 100.0, 5.77),
        (FreightP, 200.0, 8.54),
        (FreightP, 900.0, 27.93),
        (FreightP, 1000.0, 31.70),
        (FreightP, 1200.0, 40.26),
        (FreightP, 1500.0, 55.80),
        (FreightG, 200.0, 14.08),
        (FreightG, 500.0, 16.85),
        (FreightG, 1500.0, 55.80),
    ] {
        let found = time(position, length, Brake::FullService, Target::Stand);
        close(found, expected, 5e-5);
    }
}

/// A.3.8: towards a lower speed the time is longer by a fifth (P) or by 16 % (G).
#[test]
fn braking_to_a_lower_speed_takes_longer_to_build_up() {
    use ModelPosition::{FreightG, PassengerP};
    for (position, length, expected) in [
        (PassengerP, 100.0, 6.024),
        (PassengerP, 500.0, 7.860),
        (PassengerP, 700.0, 12.756),
        (PassengerP, 900.0, 19.284),
        (FreightG, 100.0, 13.978),
    ] {
        let found = time(position, length, Brake::Emergency, Target::LowerSpeed);
        close(found, expected, 5e-5);
    }
}

/// 3.13.4.3 with g = 9.81 and the rotating masses of A.3.1. Figure 35 of the document was
/// evidently computed with 9.80; the formula is normative.
#[test]
fn the_gradient_accelerates_by_the_formula_not_the_figure() {
    for (gradient, expected, tolerance) in [
        (-10.0, -0.096_176_5, 5e-8),
        (-20.0, -0.192_352_9, 5e-8),
        (10.0, 0.085_304_3, 5e-8),
        (-9.0, -0.086_56, 5e-6),
        (-18.0, -0.173_12, 5e-6),
        (-8.0, -0.076_94, 5e-6),
        (7.0, 0.059_71, 5e-6),
    ] {
        close(by_gradient(Gradient(gradient)).0, expected, tolerance);
    }
}

/// A.3.1 and 3.13.9.2.
#[test]
fn speed_margins_rise_evenly_between_their_two_speeds() {
    for (speed, emergency, service, warning) in [
        (80.0, 7.5, 5.5, 4.0),
        (110.0, 7.5, 5.5, 4.0),
        (120.0, 8.25, 5.95, 4.0 + 1.0 / 3.0),
        (160.0, 11.25, 7.75, 5.0),
        (250.0, 15.0, 10.0, 5.0),
    ] {
        for (intervention, expected) in [
            (Intervention::EmergencyBrake, emergency),
            (Intervention::ServiceBrake, service),
            (Intervention::Warning, warning),
        ] {
            close(intervention.margin(Speed(speed)).0, expected, 1e-9);
        }
    }
}

/// A.3.12 with the factor 1.1 of A.3.2.
#[test]
fn the_effort_is_full_at_twice_the_build_up_time_less_the_reaction() {
    let short = formation(ModelPosition::PassengerP, 400.0);
    let times = emergency_effort_times(short, Model::DefaultValues);
    close(times.begins.0, 1.562, 1e-9);
    close(times.full.0, 9.482, 1e-9);
}
