//! A brake percentage: an exact ratio, compared and rounded by whole numbers.

use crate::units::Kilograms;
use serde::Serialize;
use std::cmp::Ordering;
use std::fmt;

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
    whole_percent: i64,
}

impl From<Percentage> for Shown {
    fn from(percentage: Percentage) -> Self {
        Self {
            braked_weight: percentage.braked_weight,
            mass: percentage.mass,
            percent: percentage.percent(),
            whole_percent: percentage.whole(),
        }
    }
}

impl Percentage {
    /// A percentage, if there is a mass and no negative braked weight.
    pub fn new(braked_weight: Kilograms, mass: Kilograms) -> Option<Self> {
        (mass.0 > 0 && braked_weight.0 >= 0).then_some(Self {
            braked_weight,
            mass,
        })
    }

    /// The sum of braked weights.
    pub fn braked_weight(self) -> Kilograms {
        self.braked_weight
    }

    /// The sum of masses.
    pub fn mass(self) -> Kilograms {
        self.mass
    }

    /// The percentage as a real number, for formulas.
    pub fn percent(self) -> f64 {
        100.0 * self.braked_weight.0 as f64 / self.mass.0 as f64
    }

    /// Whole per cent, rounded down: a train never brakes better than it says.
    pub fn whole(self) -> i64 {
        self.rounded_down(1)
    }

    /// Whether at least so many whole per cent are reached, exactly.
    pub fn reaches(self, percent: i64) -> bool {
        100 * i128::from(self.braked_weight.0) >= i128::from(percent) * i128::from(self.mass.0)
    }

    /// Hundredths of a per cent, rounded down, as shown to people.
    pub fn hundredths(self) -> i64 {
        self.rounded_down(100)
    }

    /// So many parts of a per cent, rounded down.
    fn rounded_down(self, parts: i64) -> i64 {
        let parts = 100 * i128::from(parts) * i128::from(self.braked_weight.0);
        i64::try_from(parts / i128::from(self.mass.0)).unwrap_or(i64::MAX)
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
            assert!(Percentage::new(Kilograms(braked_weight), Kilograms(mass)).is_none());
        }
    }

    #[test]
    fn percentages_compare_exactly_where_real_numbers_cannot() {
        let big = 1_i64 << 62;
        assert!(of(big - 1, big) < of(big, big));
        assert_eq!(of(big - 1, big).whole(), 99);
        assert!(!of(big - 1, big).reaches(100) && of(big, big).reaches(100));
        assert_eq!(of(1, 3), of(2, 6));
    }

    #[test]
    fn the_greatest_numbers_do_not_overflow() {
        assert_eq!(of(i64::MAX, 1).whole(), i64::MAX);
        assert!(of(i64::MAX, 1).reaches(i64::MAX));
    }

    #[test]
    fn an_answer_gives_the_ratio_and_whole_per_cent_rounded_down() {
        let json = serde_json::to_value(of(304_000, 196_000)).expect("an answer");
        assert_eq!(json["whole_percent"], 155);
        assert_eq!(json["mass"], 196_000);
    }
}
