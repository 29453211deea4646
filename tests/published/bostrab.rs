//! Least mean deceleration and greatest distance. Source: `BOStrab` (German ordinance on tramways),
//! annex 2, tables 1 (one brake failed) and 2 (danger braking), federal law gazette 1987.

use crate::published::close;
use domain::braking::stopping_distance::mean_value::deceleration_over;
use domain::units::{Distance, Speed};

/// Speed in km/h, deceleration in m/s², distance in m.
const PAIRS: [(f64, f64, f64); 15] = [
    (20.0, 0.77, 20.0),
    (30.0, 0.87, 40.0),
    (40.0, 0.95, 65.0),
    (50.0, 1.03, 94.0),
    (60.0, 1.06, 131.0),
    (70.0, 1.07, 177.0),
    (80.0, 1.07, 230.0),
    (90.0, 1.08, 290.0),
    (100.0, 1.09, 355.0),
    (20.0, 1.71, 9.0),
    (30.0, 2.04, 17.0),
    (40.0, 2.29, 27.0),
    (50.0, 2.47, 39.0),
    (60.0, 2.57, 54.0),
    (70.0, 2.73, 69.0),
];

fn deceleration(speed: f64, distance: f64) -> f64 {
    let found = deceleration_over(Speed(speed), Distance(distance));
    found.unwrap().0
}

#[test]
fn every_printed_distance_gives_the_printed_deceleration() {
    for (speed, expected, distance) in PAIRS {
        // 0.005 for the print's rounding on top of the one pair that is off by 0.01.
        close(deceleration(speed, distance), expected, 0.015);
    }
    let exact = PAIRS.iter().filter(|(speed, expected, distance)| {
        (deceleration(*speed, *distance) - *expected).abs() <= 0.005
    });
    assert_eq!(exact.count(), 14);
}

/// A republication prints 6 m in place of 69 m at 70 km/h.
#[test]
fn a_misprinted_distance_is_found_by_recomputing() {
    assert!((deceleration(70.0, 6.0) - 2.73).abs() > 1.0);
}
