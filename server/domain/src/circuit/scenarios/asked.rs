//! What is asked of each scenario.

use super::Lanes;
use crate::circuit::delivers::Air;
use crate::circuit::sets::Modes;

/// In which modes each scenario is evaluated, and which air counts in it.
#[derive(Debug, Clone)]
pub(crate) struct Asked<const WORDS: usize> {
    /// For each set of modes, where any of them is asked.
    in_any_of: [Lanes<WORDS>; Modes::SETS],
    stored: Lanes<WORDS>,
    retained: Lanes<WORDS>,
}

impl<const WORDS: usize> Asked<WORDS> {
    /// Nothing of any.
    pub(crate) const NOTHING: Self = Self {
        in_any_of: [Lanes::NONE; Modes::SETS],
        stored: Lanes::NONE,
        retained: Lanes::NONE,
    };

    /// The same of all.
    pub(crate) fn all(modes: Modes, air: Air) -> Self {
        let mut asked = Self::NOTHING;
        asked.ask(Lanes::ALL, modes, air);
        asked
    }

    /// Asks this of some scenarios.
    pub(crate) fn ask(&mut self, of: Lanes<WORDS>, modes: Modes, air: Air) {
        for (set, lanes) in Modes::every_set().zip(&mut self.in_any_of) {
            if set.meets(modes) {
                *lanes = lanes.and(of);
            }
        }
        match air {
            Air::FromSources => {}
            Air::Stored => self.stored = self.stored.and(of),
            Air::Retained => self.retained = self.retained.and(of),
        }
    }

    /// Where any of these modes is asked.
    pub(super) fn in_any_of(&self, modes: Modes) -> Lanes<WORDS> {
        self.in_any_of[modes.index()]
    }

    /// Where reservoirs deliver what they stored.
    pub(super) fn stored(&self) -> Lanes<WORDS> {
        self.stored.and(self.retained)
    }

    /// Where air that is held back counts.
    pub(crate) fn retained(&self) -> Lanes<WORDS> {
        self.retained
    }
}
