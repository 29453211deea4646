//! Chance that is the same each time: a published generator with a fixed stream, so that the
//! same number gives the same fleet on every machine and with every release.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// What a stream of chance is for. Each thing has its own, so that one more car or one more
/// trouble leaves all others as they were.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    /// A unit, by its place in the fleet.
    Unit(u32),
    /// A car, by its place in the fleet.
    Car(u32),
    /// The isolations of a unit.
    Isolations(u32),
    /// What is inside an assembly, by its number among those that were filled.
    Contents(u32),
    /// A substitute on a car, by the car's place in the fleet.
    Substitute(u32),
}

/// A stream of chance.
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    pub(super) fn new(seed: u64, of: Of) -> Self {
        let mut stream = ChaCha8Rng::seed_from_u64(seed);
        let (kind, number) = match of {
            Of::Unit(number) => (1, number),
            Of::Car(number) => (2, number),
            Of::Isolations(number) => (3, number),
            Of::Contents(number) => (4, number),
            Of::Substitute(number) => (5, number),
        };
        stream.set_stream(kind << 32 | u64::from(number));
        Self(stream)
    }

    /// A whole number from 0 to below `count`, which is not 0.
    fn below(&mut self, count: u64) -> u64 {
        let wide = u128::from(self.0.next_u64()) * u128::from(count);
        u64::try_from(wide >> 64).unwrap_or(0)
    }

    /// A whole number of a range with both ends; the low end if the range is empty.
    pub(super) fn between(&mut self, low: i64, high: i64) -> i64 {
        let count = u64::try_from(high.saturating_sub(low).saturating_add(1)).unwrap_or(1);
        low + i64::try_from(self.below(count.max(1))).unwrap_or(0)
    }

    /// Whether something comes true that does so in so many of a thousand cases.
    pub(super) fn per_mille(&mut self, share: i64) -> bool {
        self.between(0, 999) < share
    }

    /// One of several things.
    pub(super) fn pick<'a, T>(&mut self, things: &'a [T]) -> Option<&'a T> {
        let last = i64::try_from(things.len()).ok()? - 1;
        let place = self.between(0, last);
        things.get(usize::try_from(place).ok()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stream_is_the_same_each_time_and_another_for_another_car() {
        let numbers = |seed, of| -> Vec<i64> {
            let mut chance = Chance::new(seed, of);
            (0..8).map(|_| chance.between(0, 999)).collect()
        };
        let fixed = [762, 846, 481, 197, 674, 188, 699, 641];
        assert_eq!(numbers(7, Of::Car(3)), fixed);
        assert_ne!(numbers(7, Of::Car(3)), numbers(7, Of::Car(4)));
        assert_ne!(numbers(7, Of::Car(3)), numbers(8, Of::Car(3)));
        assert_ne!(numbers(7, Of::Car(3)), numbers(7, Of::Unit(3)));
    }

    #[test]
    fn numbers_stay_in_their_range_and_reach_both_ends() {
        let mut chance = Chance::new(1, Of::Car(1));
        let drawn: Vec<i64> = (0..200).map(|_| chance.between(-2, 2)).collect();
        assert_eq!(drawn.iter().min(), Some(&-2));
        assert_eq!(drawn.iter().max(), Some(&2));
        assert_eq!(chance.between(5, 4), 5);
    }
}
