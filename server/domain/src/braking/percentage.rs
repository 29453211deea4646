//! Brake percentage: λ = 100 · ΣB / Σm, kept as the exact ratio of two masses and rounded only
//! where somebody says how. Only brakes that work count in ΣB; every vehicle counts in Σm
//! (Bavarian EBOA, annex 22, part I, paragraph 2).

use crate::units::Kilograms;
use crate::words::word_list;
use crate::worked::Missing;
use serde::Serialize;
use std::cmp::Ordering;
use std::fmt;

word_list! {
    /// How a percentage is made whole.
    Rounding, "rounding" {
        /// The fraction is cut off: the safe way.
        Down = "down",
        /// To the nearest whole number, halves upward.
        Nearest = "nearest",
    }
}

/// A brake percentage as the exact ratio of braked weight to mass. Two are equal when their
/// ratios are.
#[derive(Debug, Clone, Copy, Serialize)]
#[serde(into = "Shown")]
pub struct Percentage {
    braked_weight: Kilograms,
    mass: Kilograms,
}

/// A percentage as answers give it.
#[derive(Serialize)]
struct Shown {
    braked_weight: Kilograms,
    mass: Kilograms,
    percent: f64,
    whole_percent: u32,
}

impl From<Percentage> for Shown {
    fn from(percentage: Percentage) -> Self {
        Self {
            braked_weight: percentage.braked_weight,
            mass: percentage.mass,
            percent: percentage.percent(),
            whole_percent: percentage.whole(Rounding::Down),
        }
    }
}

impl Percentage {
    /// The percentage of that braked weight and that mass. No answer without a mass above nil
    /// and a braked weight of nil or more.
    pub fn new(braked_weight: Kilograms, mass: Kilograms) -> Result<Self, Missing> {
        if mass <= Kilograms(0) {
            return Err(Missing::one("a mass above nil", "brake percentage"));
        }
        if braked_weight < Kilograms(0) {
            let what = "a braked weight of nil or more";
            return Err(Missing::one(what, "brake percentage"));
        }
        Ok(Self {
            braked_weight,
            mass,
        })
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

    /// The sum of braked weights.
    pub const fn braked_weight(self) -> Kilograms {
        self.braked_weight
    }

    /// The sum of the masses braked by it.
    pub const fn mass(self) -> Kilograms {
        self.mass
    }

    /// The percentage as a real number, for formulas.
    pub fn percent(self) -> f64 {
        100.0 * self.braked_weight.0 as f64 / self.mass.0 as f64
    }

    /// The percentage made whole, at most `u32::MAX`. Rounded down a train never brakes better
    /// than it says.
    pub fn whole(self, rounding: Rounding) -> u32 {
        let (braked, mass) = (i128::from(self.braked_weight.0), i128::from(self.mass.0));
        let whole = match rounding {
            Rounding::Down => 100 * braked / mass,
            Rounding::Nearest => (200 * braked + mass) / (2 * mass),
        };
        u32::try_from(whole).unwrap_or(u32::MAX)
    }

    /// Whether at least so many whole per cent are reached, exactly.
    pub fn reaches(self, percent: i64) -> bool {
        100 * i128::from(self.braked_weight.0) >= i128::from(percent) * i128::from(self.mass.0)
    }

    /// Hundredths of a per cent, rounded down, as shown to people.
    pub fn hundredths(self) -> i64 {
        let hundredths = 10_000 * i128::from(self.braked_weight.0) / i128::from(self.mass.0);
        i64::try_from(hundredths).unwrap_or(i64::MAX)
    }
}

impl Ord for Percentage {
    fn cmp(&self, other: &Self) -> Ordering {
        let crossed =
            |one: &Self, two: &Self| i128::from(one.braked_weight.0) * i128::from(two.mass.0);
        crossed(self, other).cmp(&crossed(other, self))
    }
}

impl PartialOrd for Percentage {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Percentage {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Percentage {}

impl fmt::Display for Percentage {
    /// With two decimals, rounded down.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hundredths = self.hundredths();
        write!(f, "{}.{:02} %", hundredths / 100, hundredths % 100)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(braked_weight: i64, mass: i64) -> Percentage {
        Percentage::new(Kilograms(braked_weight), Kilograms(mass)).expect("a percentage")
    }

    #[test]
    fn a_percentage_needs_a_mass_and_no_negative_braked_weight() {
        for (braked_weight, mass) in [(1, 0), (1, -1), (-1, 1)] {
            assert!(Percentage::new(Kilograms(braked_weight), Kilograms(mass)).is_err());
        }
    }

    #[test]
    fn percentages_compare_exactly_where_real_numbers_cannot() {
        let big = 1_i64 << 62;
        assert!(of(big - 1, big) < of(big, big));
        assert_eq!(of(big - 1, big).whole(Rounding::Down), 99);
        assert!(!of(big - 1, big).reaches(100) && of(big, big).reaches(100));
        assert_eq!(of(1, 3), of(2, 6));
    }

    #[test]
    fn the_greatest_numbers_do_not_overflow() {
        assert_eq!(of(i64::MAX, 1).whole(Rounding::Down), u32::MAX);
        assert_eq!(of(i64::MAX, 1).hundredths(), i64::MAX);
        assert!(of(i64::MAX, 1).reaches(i64::MAX));
    }

    #[test]
    fn an_answer_gives_the_ratio_and_whole_per_cent_rounded_down() {
        let json = serde_json::to_value(of(304_000, 196_000)).expect("an answer");
        assert_eq!(json["whole_percent"], 155);
        assert_eq!(json["mass"], 196_000);
    }
}
