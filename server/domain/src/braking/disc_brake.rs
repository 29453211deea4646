//! Force of a disc brake at the rail, in the terms of EN 14531-1; the formulas are from memory,
//! since the standard's text was not at hand.

use super::GRAVITY_M_S2;
use super::rigging::Rigging;
use crate::units::{Deceleration, Kilograms, Kilonewtons};

/// One disc with its caliper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiscBrake {
    /// The caliper: its pressing force is that of each of two pads.
    pub rigging: Rigging,
    /// Friction coefficient of the pads.
    pub friction: f64,
    /// Radius at which the pads act, in metres.
    pub friction_radius_m: f64,
    /// Radius of the wheel, in metres, above nil.
    pub wheel_radius_m: f64,
}

impl DiscBrake {
    /// Retarding force of the disc at the rail: both pads, friction, and the ratio of radii.
    pub fn force_at_rail(&self) -> Kilonewtons {
        let radii = self.friction_radius_m / self.wheel_radius_m;
        Kilonewtons(2.0 * self.rigging.pressing_force_n() * self.friction * radii / 1000.0)
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
