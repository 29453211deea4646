//! What corrects an entry of the model takes its place in the order.

use super::model::{Hour, Model, Said, Stands};

impl Model {
    /// Adds what an entry says, in the place of what it corrects, or takes that away.
    pub(super) fn put(&mut self, corrects: Option<i64>, said: Option<Stands>) {
        let mut all = self.stands.iter();
        let place = all.position(|stands| Some(stands.entry) == corrects);
        match (place, said) {
            (Some(place), Some(said)) => self.stands[place] = said,
            (Some(place), None) => drop(self.stands.remove(place)),
            (None, said) => self.stands.extend(said),
        }
    }

    /// Whether something is of the same things at the same places as the entry in whose place it is
    /// put, so that what was recorded since goes on.
    pub(super) fn goes_on(&self, corrects: i64, said: &Said) -> bool {
        let mut all = self.stands.iter();
        let wrong = all.find(|stands| stands.entry == corrects);
        match (wrong.map(|wrong| &wrong.said), said) {
            (
                Some(Said::Fitted {
                    component: of,
                    position: at,
                }),
                Said::Fitted {
                    component,
                    position,
                },
            )
            | (
                Some(Said::Moved {
                    component: of,
                    position: at,
                }),
                Said::Moved {
                    component,
                    position,
                },
            ) => (of, at) == (component, position),
            (Some(wrong), said) => matches!(
                (wrong, said),
                (Said::Removed { .. }, Said::Removed { .. })
                    | (Said::Swapped { .. }, Said::Swapped { .. })
                    | (Said::Judged { .. }, Said::Judged { .. })
            ),
            (None, _) => false,
        }
    }

    /// Whether something can take the place of an entry that it goes on from. Where it is possible, it
    /// may be refused all the same for what the model does not know.
    pub(super) fn allows_in_place(&self, corrects: i64, at: Hour, said: &Said) -> Option<bool> {
        let mut with = Self::new(self.approved, self.stands.clone());
        let said = said.clone();
        let entry = i64::MAX;
        with.put(Some(corrects), Some(Stands { entry, at, said }));
        let possible = at <= self.now && with.is_possible();
        (!possible).then_some(false)
    }
}
