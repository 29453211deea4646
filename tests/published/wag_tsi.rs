//! Braked weight and distance in law. Source: Regulation (EU) 321/2013 (WAG TSI), annex, an older
//! consolidated text: table C.3 with note 2 (response time 2 s), and 4.2.4.3.3 (drag braking).
//! The constants of the relation are from memory; these triples are what confirms them.

use crate::published::close;
use domain::braking::forces::derived::braked_weight;
use domain::braking::heat::{drag_power, duration, energy};
use domain::braking::stopping_distance::Stop;
use domain::braking::stopping_distance::braked_weight_relation::{
    CONSTANTS, distance_of_deceleration, percentage, stopping_distance,
};
use domain::units::{Deceleration, Distance, Gradient, Kilograms, Kilonewtons, Speed};

/// Speed in km/h, distance in m, percentage, deceleration in m/s².
const TRIPLES: [(f64, f64, f64, f64); 4] = [
    (100.0, 700.0, 65.0, 0.60),
    (100.0, 480.0, 100.0, 0.91),
    (100.0, 390.0, 125.0, 1.15),
    (120.0, 700.0, 100.0, 0.88),
];

/// Table C.3: S = v·te + v²/(2a) with te = 2 s.
#[test]
fn every_deceleration_gives_the_printed_distance() {
    for (speed, distance, _, a) in TRIPLES {
        let found = distance_of_deceleration(Speed(speed), Deceleration(a)).unwrap();
        close(found.0, distance, distance * 0.005);
    }
}

/// Table C.3: λ = C/S − D.
#[test]
fn every_distance_gives_the_printed_percentage() {
    for (speed, distance, lambda, _) in TRIPLES {
        let found = percentage(&CONSTANTS, Distance(distance), Speed(speed)).unwrap();
        close(found.value, lambda, 0.5);
        let back = stopping_distance(&CONSTANTS, found.value, Speed(speed)).unwrap();
        let Stop::After(metres) = back.value.stop else {
            panic!("the train stops")
        };
        close(metres.0, distance, 1e-9);
    }
}

/// Table C.3: a force that gives the printed deceleration is worth the printed percentage, 100 t
/// making it the braked weight in tonnes. The register takes 120 km/h, and 100 km/h for what runs
/// slower.
#[test]
fn every_force_is_worth_the_printed_braked_weight() {
    for (speed, _, lambda, a) in TRIPLES {
        let masses = (Kilograms(100_000), Kilograms(0));
        let found = braked_weight(Kilonewtons(100.0 * a), masses, Speed(speed)).unwrap();
        // Half a point of the constants, as much again for decelerations printed in hundredths.
        close(found.value.tonnes(), lambda, 0.9);
        let rotating = (Kilograms(90_000), Kilograms(10_000));
        let same = braked_weight(Kilonewtons(100.0 * a), rotating, Speed(speed)).unwrap();
        close(same.value.tonnes(), 0.9 * found.value.tonnes(), 0.002);
    }
    let nothing = braked_weight(
        Kilonewtons(0.0),
        (Kilograms(1000), Kilograms(0)),
        Speed(120.0),
    );
    assert!(nothing.is_err());
}

#[test]
fn a_speed_without_constants_has_no_answer() {
    let missing = stopping_distance(&CONSTANTS, 100.0, Speed(140.0)).unwrap_err();
    assert!(missing.to_string().contains("no constants"), "{missing}");
    assert!(percentage(&CONSTANTS, Distance(1000.0), Speed(140.0)).is_err());
    assert!(stopping_distance(&CONSTANTS, 0.0, Speed(100.0)).is_err());
    assert!(percentage(&CONSTANTS, Distance(0.0), Speed(100.0)).is_err());
}

/// 4.2.4.3.3: 45 kW at a wheel for 34 minutes, 22.5 t axle, 21 per mille, 70 km/h, 40 km.
#[test]
fn the_reference_slope_heats_45_kw_a_wheel_for_34_minutes() {
    let axle = drag_power(Kilograms(22_500), Gradient(-21.0), Speed(70.0));
    close(axle.0 / 2.0, 45.065, 5e-4);
    close(axle.0 / 2.0, 45.0, 0.5);
    let time = duration(Distance(40_000.0), Speed(70.0)).unwrap();
    close(time.0 / 60.0, 34.0, 0.5);
    close(energy(axle, time).0 / 2.0, 92.70, 0.005);
}
