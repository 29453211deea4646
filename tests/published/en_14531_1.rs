//! Mean-value calculation in the manner of EN 14531-1. The standard's text was not at hand:
//! constructed examples, computed by its formulas as known from memory; step against ramp checked
//! by a second derivation.
//!
//! Source: EN 14531-1, its formulas from memory.

use crate::published::close;
use domain::braking::disc_brake::{DiscBrake, adhesion_used, deceleration};
use domain::braking::forces::retarding::{Joining, Retarding};
use domain::braking::forces::{equivalent_response, force_at_rail};
use domain::braking::rigging::Rigging;
use domain::braking::stopping_distance::Stop;
use domain::braking::stopping_distance::mean_value::{BuildUp, distance};
use domain::configuration::brake_forces::{ActsOn, ActuatorGroup, CylinderPressure};
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::units::{
    Deceleration, GaugePressure, Gradient, Kilograms, Kilonewtons, Seconds, Speed, Thousandths,
};

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
    close(ramp, 570.961_90, 5e-6);
    close(step, 571.428_57, 5e-6);
    close(step - ramp, 0.70 * 16.0 / 24.0, 1e-9);
}

#[test]
fn the_disc_brake_example_gives_every_line() {
    let rigging = Rigging {
        pressure: GaugePressure(3.0),
        area_cm2: 324.0,
        cylinder_efficiency: 0.95,
        spring_n: 500.0,
        ratio: 2.5,
        adjuster_n: 0.0,
        efficiency: 0.95,
    };
    let disc = DiscBrake {
        rigging,
        friction: 0.35,
        friction_radius_m: 0.25,
        wheel_radius_m: 0.45,
    };
    let mass = Kilograms(196_000);
    close(rigging.cylinder_force_n(), 8734.0, 1e-6);
    close(rigging.pressing_force_n(), 20_743.25, 1e-6);
    close(disc.force_at_rail().0, 8.066_82, 5e-6);
    let all = Kilonewtons(24.0 * disc.force_at_rail().0);
    close(all.0, 193.604, 5e-4);
    close(adhesion_used(all, mass), 0.100_69, 5e-6);
    for (discs, a, from_100, from_160) in [
        (24.0, 0.931_862, 497.35, 1193.21),
        (22.0, 0.854_207, 534.98, 1289.56),
    ] {
        let force = Kilonewtons(discs * disc.force_at_rail().0);
        let found = deceleration(force, mass, 0.06);
        close(found.0, a, 5e-7);
        for (speed, expected) in [(100.0, from_100), (160.0, from_160)] {
            let s = distance(Speed(speed), Speed(0.0), Seconds(3.0), found);
            close(s.unwrap().0, expected, 0.005);
        }
    }
}

/// The caliper of the example as a car type has it, with a response of 3 s.
fn calipers() -> (ActuatorGroup, CylinderPressure) {
    let pressure = CylinderPressure {
        brake_position: BrakePosition::R,
        load: LoadState::Normal,
        pressure_mbar: 3000,
        delay_ms: 1000,
        rise_ms: 4000,
    };
    let group = ActuatorGroup {
        name: "calipers".parse().unwrap(),
        positions: Vec::new(),
        acts_on: ActsOn::Disc {
            friction_radius_mm: 250,
        },
        piston_area_mm2: 32_400,
        cylinder_efficiency: Thousandths(950),
        spring_n: 500,
        ratio: Thousandths(2500),
        adjuster_n: 0,
        efficiency: Thousandths(950),
        friction: Thousandths(350),
        stop_energy_max_kj: None,
        cylinder_volume_ml: None,
        pressures: vec![pressure],
    };
    (group, pressure)
}

fn retarding(discs: f64) -> Retarding {
    let (group, pressure) = calipers();
    let force = Kilonewtons(discs * force_at_rail(&group, &pressure, 900).0);
    let after = equivalent_response(&pressure);
    let forces = [Joining { after, force }];
    Retarding::new(Kilograms(196_000), Kilograms(11_760), forces).unwrap()
}

fn metres(retarding: &Retarding, gradient: f64, from: f64) -> f64 {
    match retarding.stop(Gradient(gradient), Speed(from)) {
        Stop::After(distance) => distance.0,
        Stop::Never => f64::INFINITY,
    }
}

#[test]
fn the_example_stops_the_same_step_by_step_from_what_a_car_type_says() {
    for (discs, expected) in [(24.0, [497.35, 1193.21]), (22.0, [534.98, 1289.56])] {
        for (from, expected) in [100.0, 160.0].into_iter().zip(expected) {
            close(metres(&retarding(discs), 0.0, from), expected, 0.005);
        }
    }
    close(retarding(24.0).force().0, 193.604, 5e-4);
}

/// On a gradient, against an independent integration in steps of a millisecond; the pull of the
/// gradient is that of SUBSET-026-3, 3.13.4.3, g·i/(1000 + 10·M), with M = 6 %.
#[test]
fn step_by_step_agrees_with_small_steps_of_time_on_any_gradient() {
    let brakes = 193.604_f64 / (196.0 * 1.06);
    for gradient in [-40.0, -12.5, 0.0, 10.0, 40.0] {
        let pull = 9.81 * gradient / (1000.0 + 60.0);
        let (mut v, mut s, mut t) = (100.0 / 3.6, 0.0, 0.0);
        while v > 0.0 {
            let a: f64 = pull + if t < 3.0 { 0.0 } else { brakes };
            let next = v - a * 0.001;
            s += v.midpoint(next) * 0.001;
            (v, t) = (next, t + 0.001);
        }
        close(metres(&retarding(24.0), gradient, 100.0), s, 0.1);
    }
}
