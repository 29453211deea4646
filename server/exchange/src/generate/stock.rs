//! Overhauled components that wait in the stores for their next place.

use super::component::Component;
use domain::identity::PartNumber;
use domain::time::Day;
use std::collections::BTreeMap;

/// The most components of a part that are remembered; more stay in the store.
const OF_A_PART_MAX: usize = 40;

/// The components that can be fitted again, by part.
#[derive(Default)]
pub(super) struct Stock {
    of_parts: BTreeMap<PartNumber, Vec<Ready>>,
}

/// A component that can be fitted from a day on.
pub(super) struct Ready {
    pub(super) component: Component,
    pub(super) from: Day,
    pub(super) store: String,
}

impl Stock {
    /// Keeps a component, or gives it back where there are too many of its part.
    pub(super) fn put(&mut self, ready: Ready) -> Option<Ready> {
        let part = ready.component.part.clone();
        let waiting = self.of_parts.entry(part).or_default();
        if OF_A_PART_MAX <= waiting.len() {
            return Some(ready);
        }
        waiting.push(ready);
        None
    }

    /// All that is left.
    pub(super) fn empty(&mut self) -> impl Iterator<Item = Ready> + use<> {
        std::mem::take(&mut self.of_parts).into_values().flatten()
    }

    /// Takes the component of a part that was ready last before a day.
    pub(super) fn take(&mut self, part: &PartNumber, day: Day) -> Option<Component> {
        let waiting = self.of_parts.get_mut(part)?;
        let ready = waiting.iter().enumerate();
        let (place, _) = ready
            .filter(|(_, ready)| ready.from < day)
            .max_by_key(|(_, ready)| ready.from)?;
        Some(waiting.swap_remove(place).component)
    }
}
