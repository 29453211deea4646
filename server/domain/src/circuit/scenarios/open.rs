//! The slots that have something to pass on.

/// A set of slots, taken in the order of the train from end to end and back again: then what
/// comes from many cars passes through a car together, and not once for each of them.
#[derive(Debug)]
pub(super) struct Open {
    words: Vec<u64>,
    at: usize,
    way: Way,
}

#[derive(Debug, Clone, Copy)]
enum Way {
    Ascending,
    Descending,
}

impl Open {
    /// None of so many slots.
    pub(super) fn new(slots: usize) -> Self {
        Self {
            words: vec![0; slots.div_ceil(64)],
            at: 0,
            way: Way::Ascending,
        }
    }

    pub(super) fn put(&mut self, slot: usize) {
        self.words[slot / 64] |= 1 << (slot % 64);
    }

    /// Takes the next one out; none where the set is empty.
    pub(super) fn take(&mut self) -> Option<usize> {
        let mut turns = 0;
        while self.words.get(self.at).copied().unwrap_or_default() == 0 {
            let next = match self.way {
                Way::Ascending => self.at + 1,
                Way::Descending => self.at.wrapping_sub(1),
            };
            if next < self.words.len() {
                self.at = next;
            } else {
                turns += 1;
                if turns == 3 {
                    return None;
                }
                self.way = match self.way {
                    Way::Ascending => Way::Descending,
                    Way::Descending => Way::Ascending,
                };
            }
        }
        let word = &mut self.words[self.at];
        let bit = match self.way {
            Way::Ascending => word.trailing_zeros() as usize,
            Way::Descending => 63 - word.leading_zeros() as usize,
        };
        *word &= !(1 << bit);
        Some(64 * self.at + bit)
    }
}
