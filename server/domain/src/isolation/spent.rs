//! What is counted once some of the stored air is not: what lives on that is taken as it will be when
//! all of it is used up, and everything else as it is now.

use super::brake_percentage::Braked;
use super::effect::{AppliedBy, Availability, Effect};
use super::tally::Counts;

impl Effect {
    /// Counts those of some actuators that work now and not later as they will be. `spent` are nodes,
    /// ascending; `later` is the same effect once stored air is used up. What air applies has released by
    /// itself while it still worked. Linear in actuators.
    pub(crate) fn spend(&mut self, later: &Self, spent: &[usize]) {
        let works = |availability: Availability| availability == Availability::Available;
        let drags = |availability: Availability| availability == Availability::Dragging;
        for (now, later) in self.actuators.iter_mut().zip(&later.actuators) {
            let fades = works(now.availability) && !works(later.availability)
                || !drags(now.availability) && drags(later.availability);
            if fades && spent.binary_search(&now.node).is_ok() {
                *now = later.clone();
                now.known_off = now.applied_by == AppliedBy::Air;
            }
        }
        let actuators = self.actuators.iter();
        let counted = actuators.filter(|one| one.applied_by == AppliedBy::Air);
        self.counts = Counts::of(counted, self.counts.each_car.len());
    }
}

impl Braked {
    /// The same of what presses and of load signals. Of nodes n log n.
    pub(crate) fn spend(&mut self, later: &Self, spent: &[usize]) {
        let is_spent = |node: &usize| spent.binary_search(node).is_ok();
        let lasts = |node: &usize| later.pressing.binary_search(node).is_ok();
        self.pressing.retain(|node| lasts(node) || !is_spent(node));
        let lost = later.signals.iter();
        let lost = lost.filter(|signal| self.signals.contains(signal) || is_spent(&signal.node));
        self.signals = lost.cloned().collect();
    }
}
