//! Force of a tread brake at the rail, in the terms of EN 14531-1; the formula is from memory,
//! since the standard's text was not at hand.

use super::rigging::Rigging;
use crate::units::Kilonewtons;

/// A wheel, or several, braked by blocks on the tread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TreadBrake {
    /// The rigging: its pressing force is that of all blocks together.
    pub rigging: Rigging,
    /// Mean friction coefficient of the blocks over a stop.
    pub friction: f64,
}

impl TreadBrake {
    /// Retarding force at the rail: the blocks act where the wheel meets it, whatever its
    /// radius.
    pub fn force_at_rail(&self) -> Kilonewtons {
        Kilonewtons(self.rigging.pressing_force_n() * self.friction / 1000.0)
    }
}
