//! Forces of a disc brake at the rail, in the terms of EN 14531-1; the formulas are from memory,
//! since the standard's text was not at hand. Enough for a mean deceleration and the adhesion it
//! uses.

use super::GRAVITY_M_S2;
use crate::units::{Deceleration, GaugePressure, Kilograms, Kilonewtons};

/// One disc with its caliper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiscBrake {
    /// Cylinder pressure.
    pub pressure: GaugePressure,
    /// Piston area in cm².
    pub area_cm2: f64,
    /// Efficiency of the cylinder, 0 to 1.
    pub cylinder_efficiency: f64,
    /// Force of the return spring in newtons.
    pub spring_n: f64,
    /// Lever ratio of the caliper.
    pub lever_ratio: f64,
    /// Efficiency of the caliper, 0 to 1.
    pub caliper_efficiency: f64,
    /// Friction coefficient of the pads.
    pub friction: f64,
    /// Radius at which the pads act, in metres.
    pub friction_radius_m: f64,
    /// Radius of the wheel, in metres.
    pub wheel_radius_m: f64,
}

/// Pascals in a bar times square metres in a square centimetre.
const NEWTONS_A_BAR_CM2: f64 = 10.0;

impl DiscBrake {
    /// Force of the cylinder in newtons: p·A·η − spring.
    pub fn cylinder_force_n(&self) -> f64 {
        let piston = self.pressure.0 * self.area_cm2 * NEWTONS_A_BAR_CM2;
        piston * self.cylinder_efficiency - self.spring_n
    }

    /// Force of one pad in newtons.
    pub fn pad_force_n(&self) -> f64 {
        self.cylinder_force_n() * self.lever_ratio * self.caliper_efficiency
    }

    /// Retarding force of the disc at the rail: both pads, friction, and the ratio of radii.
    pub fn force_at_rail(&self) -> Kilonewtons {
        let radii = self.friction_radius_m / self.wheel_radius_m;
        Kilonewtons(2.0 * self.pad_force_n() * self.friction * radii / 1000.0)
    }
}

/// The deceleration that a force gives a mass whose rotating parts add `rotating_share` of it
/// (0.06 for 6 %).
pub fn deceleration(force: Kilonewtons, mass: Kilograms, rotating_share: f64) -> Deceleration {
    Deceleration(force.0 / (mass.tonnes() * (1.0 + rotating_share)))
}

/// The adhesion that a force uses on the mass resting on its wheels: F/(m·g), the inertia of the
/// wheels not deducted.
pub fn adhesion_used(force: Kilonewtons, mass: Kilograms) -> f64 {
    force.0 / (mass.tonnes() * GRAVITY_M_S2)
}
