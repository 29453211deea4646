//! From the pressure in a cylinder to the force that presses pads or blocks, in the terms of
//! EN 14531-1. The formulas are from memory, since the standard's text was not at hand; the form
//! for block brakes agrees with what a public train dynamics program attributes to UIC 544-1.

use crate::units::GaugePressure;

/// A cylinder with its rigging.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rigging {
    /// Cylinder pressure.
    pub pressure: GaugePressure,
    /// Piston area in cm².
    pub area_cm2: f64,
    /// Efficiency of the cylinder, 0 to 1.
    pub cylinder_efficiency: f64,
    /// Force of the return spring in newtons.
    pub spring_n: f64,
    /// Ratio of the rigging.
    pub ratio: f64,
    /// What the slack adjuster takes off behind the ratio, in newtons.
    pub adjuster_n: f64,
    /// Efficiency of the rigging, 0 to 1.
    pub efficiency: f64,
}

/// Pascals in a bar times square metres in a square centimetre.
const NEWTONS_A_BAR_CM2: f64 = 10.0;

impl Rigging {
    /// Force of the cylinder in newtons: p·A·η − spring. Never below nil: a spring that is not
    /// overcome presses nothing.
    pub fn cylinder_force_n(&self) -> f64 {
        let piston = self.pressure.0 * self.area_cm2 * NEWTONS_A_BAR_CM2;
        (piston * self.cylinder_efficiency - self.spring_n).max(0.0)
    }

    /// The pressing force in newtons: (F·i − adjuster)·η, never below nil.
    pub fn pressing_force_n(&self) -> f64 {
        let levered = self.cylinder_force_n() * self.ratio - self.adjuster_n;
        levered.max(0.0) * self.efficiency
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pressure_that_does_not_overcome_spring_or_adjuster_presses_nothing() {
        let rigging = |bar, adjuster_n| Rigging {
            pressure: GaugePressure(bar),
            area_cm2: 300.0,
            cylinder_efficiency: 1.0,
            spring_n: 1500.0,
            ratio: 2.0,
            adjuster_n,
            efficiency: 0.9,
        };
        assert!(rigging(0.4, 0.0).pressing_force_n().abs() < 1e-9);
        assert!(rigging(0.6, 700.0).pressing_force_n().abs() < 1e-9);
        assert!((rigging(1.5, 600.0).pressing_force_n() - 4860.0).abs() < 1e-9);
    }
}
