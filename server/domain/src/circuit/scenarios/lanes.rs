//! One bit for each of many scenarios, so that a train is evaluated for all of them in the time
//! of one or two: 64 for each word.

/// Enough words for whoever tries every failure.
pub(super) const MANY: usize = 8;

/// How many scenarios are evaluated together where there are many.
pub(crate) const LANES: usize = Lanes::<MANY>::COUNT;

/// A set of scenarios.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Lanes<const WORDS: usize = MANY>([u64; WORDS]);

impl<const WORDS: usize> Lanes<WORDS> {
    /// How many scenarios there are.
    pub(crate) const COUNT: usize = 64 * WORDS;
    pub(crate) const NONE: Self = Self([0; WORDS]);
    pub(crate) const ALL: Self = Self([u64::MAX; WORDS]);

    /// The first so many scenarios.
    pub(crate) fn first(count: usize) -> Self {
        let mut lanes = Self::NONE;
        for (at, word) in lanes.0.iter_mut().enumerate() {
            *word = match count.saturating_sub(64 * at) {
                64.. => u64::MAX,
                bits => (1 << bits) - 1,
            };
        }
        lanes
    }

    /// One scenario; none where there is no such lane.
    pub(crate) fn one(lane: usize) -> Self {
        let mut lanes = Self::NONE;
        if let Some(word) = lanes.0.get_mut(lane / 64) {
            *word = 1 << (lane % 64);
        }
        lanes
    }

    pub(crate) fn and(self, other: Self) -> Self {
        Self(std::array::from_fn(|at| self.0[at] | other.0[at]))
    }

    pub(crate) fn within(self, other: Self) -> Self {
        Self(std::array::from_fn(|at| self.0[at] & other.0[at]))
    }

    pub(crate) fn without(self, other: Self) -> Self {
        Self(std::array::from_fn(|at| self.0[at] & !other.0[at]))
    }

    pub(crate) fn is_empty(self) -> bool {
        self.0.iter().fold(0, |all, word| all | word) == 0
    }

    pub(crate) fn has(self, lane: usize) -> bool {
        self.0
            .get(lane / 64)
            .is_some_and(|word| word >> (lane % 64) & 1 == 1)
    }

    pub(crate) fn count(self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// The scenarios of the set, ascending.
    pub(crate) fn each(self) -> impl Iterator<Item = usize> {
        self.0.into_iter().enumerate().flat_map(|(at, word)| {
            let mut rest = word;
            std::iter::from_fn(move || {
                let bit = rest.trailing_zeros() as usize;
                rest &= rest.checked_sub(1)?;
                Some(64 * at + bit)
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_gives_back_what_was_put_in() {
        let chosen = [0, 1, 63, 64, 200, LANES - 1];
        let set = chosen
            .iter()
            .fold(Lanes::<MANY>::NONE, |set, lane| set.and(Lanes::one(*lane)));
        assert_eq!(set.each().collect::<Vec<_>>(), chosen);
        assert_eq!(set.count(), chosen.len());
        assert!(set.has(64) && !set.has(65) && !set.has(LANES));
        assert!(Lanes::<MANY>::one(LANES).is_empty());
    }

    #[test]
    fn the_first_few_are_as_many_as_asked() {
        for count in [0, 1, 63, 64, 65, LANES] {
            assert_eq!(Lanes::<MANY>::first(count).count(), count);
        }
    }
}
