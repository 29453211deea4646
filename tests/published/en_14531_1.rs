//! Mean-value calculation in the manner of EN 14531-1. The standard's text was not at hand:
//! constructed examples, computed by its formulas as known from memory; step against ramp checked
//! by a second derivation.
//!
//! Source: EN 14531-1, its formulas from memory.

use crate::published::close;
use domain::braking::disc_brake::{DiscBrake, adhesion_used, deceleration};
use domain::braking::stopping_distance::mean_value::{BuildUp, distance};
use domain::units::{Deceleration, GaugePressure, Kilograms, Kilonewtons, Seconds, Speed};

#[test]
fn the_step_is_longer_than_the_ramp_by_a_twenty_fourth_of_a_t_squared() {
    let build_up = BuildUp {
        delay: Seconds(3.0),
        rise: Seconds(4.0),
    };
    let (from, a) = (Speed(90.0), Deceleration(0.70));
    let ramp = build_up.exact_distance(from, a).unwrap().0;
    let step = distance(from, Speed(0.0), build_up.equivalent_response(), a);
    let step = step.unwrap().0;
    close(ramp, 570.961_90, 1e-5);
    close(step, 571.428_57, 1e-5);
    close(step - ramp, 0.70 * 16.0 / 24.0, 1e-5);
}

#[test]
fn the_disc_brake_example_gives_every_line() {
    let disc = DiscBrake {
        pressure: GaugePressure(3.0),
        area_cm2: 324.0,
        cylinder_efficiency: 0.95,
        spring_n: 500.0,
        lever_ratio: 2.5,
        caliper_efficiency: 0.95,
        friction: 0.35,
        friction_radius_m: 0.25,
        wheel_radius_m: 0.45,
    };
    let mass = Kilograms(196_000);
    let per_mille = |found: f64, expected: f64| close(found, expected, expected * 1e-3);
    per_mille(disc.cylinder_force_n(), 8734.0);
    per_mille(disc.pad_force_n(), 20_743.25);
    per_mille(disc.force_at_rail().0, 8.066_82);
    let all = Kilonewtons(24.0 * disc.force_at_rail().0);
    per_mille(all.0, 193.604);
    per_mille(adhesion_used(all, mass), 0.100_69);
    for (discs, a, from_100, from_160) in [
        (24.0, 0.931_862, 497.35, 1193.21),
        (22.0, 0.854_207, 534.98, 1289.56),
    ] {
        let force = Kilonewtons(discs * disc.force_at_rail().0);
        let found = deceleration(force, mass, 0.06);
        per_mille(found.0, a);
        for (speed, expected) in [(100.0, from_100), (160.0, from_160)] {
            let s = distance(Speed(speed), Speed(0.0), Seconds(3.0), found);
            per_mille(s.unwrap().0, expected);
        }
    }
}
