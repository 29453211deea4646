//! Brake percentage: λ = 100 · ΣB / Σm, kept as the exact ratio of two masses and rounded only
//! where somebody says how. Only brakes that work count in ΣB; every vehicle counts in Σm
//! (Bavarian EBOA, annex 22, part I, paragraph 2).

use crate::units::Kilograms;
use crate::words::word_list;
use crate::worked::Missing;
use serde::Serialize;

word_list! {
    /// How a percentage is made whole.
    Rounding, "rounding" {
        /// The fraction is cut off: the safe way.
        Down = "down",
        /// To the nearest whole number, halves upward.
        Nearest = "nearest",
    }
}

/// A brake percentage as the exact ratio of braked weight to mass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BrakePercentage {
    braked: Kilograms,
    mass: Kilograms,
}

impl BrakePercentage {
    /// The percentage of that braked weight and that mass. No answer without a mass above nil
    /// and a braked weight of nil or more.
    pub fn new(braked: Kilograms, mass: Kilograms) -> Result<Self, Missing> {
        if mass <= Kilograms(0) {
            return Err(Missing::one("a mass above nil", "brake percentage"));
        }
        if braked < Kilograms(0) {
            let what = "a braked weight of nil or more";
            return Err(Missing::one(what, "brake percentage"));
        }
        Ok(Self { braked, mass })
    }

    /// The percentage of vehicles given as (braked weight that works, mass).
    pub fn of(vehicles: impl IntoIterator<Item = (Kilograms, Kilograms)>) -> Result<Self, Missing> {
        let nothing = Some((0_i64, 0_i64));
        let sums = vehicles.into_iter().fold(nothing, |sum, (braked, mass)| {
            let (all_braked, all_mass) = sum?;
            Some((
                all_braked.checked_add(braked.0)?,
                all_mass.checked_add(mass.0)?,
            ))
        });
        let missing = || Missing::one("masses that can be added", "brake percentage");
        let (braked, mass) = sums.ok_or_else(missing)?;
        Self::new(Kilograms(braked), Kilograms(mass))
    }

    /// The braked weight.
    pub const fn braked(self) -> Kilograms {
        self.braked
    }

    /// The mass braked by it.
    pub const fn mass(self) -> Kilograms {
        self.mass
    }

    /// The percentage with its fraction.
    pub fn exact(self) -> f64 {
        100.0 * self.braked.0 as f64 / self.mass.0 as f64
    }

    /// The percentage made whole, at most `u32::MAX`.
    pub fn whole(self, rounding: Rounding) -> u32 {
        let (braked, mass) = (i128::from(self.braked.0), i128::from(self.mass.0));
        let whole = match rounding {
            Rounding::Down => 100 * braked / mass,
            Rounding::Nearest => (200 * braked + mass) / (2 * mass),
        };
        u32::try_from(whole).unwrap_or(u32::MAX)
    }
}
