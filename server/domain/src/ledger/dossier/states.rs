//! Where components are and in which condition, as one entry after another says.

use super::{ComponentState, Dossier, Whereabouts};
use crate::configuration::component::{ComponentRef, Condition};
use crate::identity::ModificationState;
use crate::ledger::consequences::{AnsweredBy, RaisedDoubt};
use crate::ledger::entry::Seq;
use crate::time::Instant;

impl Dossier {
    /// What was said of a component, in the order of time.
    pub fn states_of(&self, component: &ComponentRef) -> &[ComponentState] {
        self.states.get(component).map_or(&[], Vec::as_slice)
    }

    /// The condition of a component at a moment, after all that was said of that moment; none
    /// before it came in.
    pub fn condition_at(&self, component: &ComponentRef, at: Instant) -> Option<Condition> {
        let states = self.states_of(component).iter();
        let until = states.filter(|state| state.since <= at);
        until.filter_map(|state| state.condition).next_back()
    }

    /// The condition in which an entry put a component somewhere at a moment: what that entry itself
    /// says of it holds from then on.
    pub(crate) fn condition_when_put(
        &self,
        component: &ComponentRef,
        (at, by): (Instant, Seq),
    ) -> Option<Condition> {
        let states = self.states_of(component).iter();
        let until = states.filter(|state| state.since <= at && state.by != by);
        until.filter_map(|state| state.condition).next_back()
    }

    /// The modification state of a component at a moment; none where it is not known.
    pub fn modification_at(
        &self,
        component: &ComponentRef,
        at: Instant,
    ) -> Option<&ModificationState> {
        let states = self.states_of(component).iter();
        let until = states.filter(|state| state.since <= at);
        until
            .filter_map(|state| state.modification.as_ref())
            .next_back()
    }

    /// The condition of a component before a moment.
    pub(crate) fn condition_before(
        &self,
        component: &ComponentRef,
        at: Instant,
    ) -> Option<Condition> {
        let states = self.states_of(component).iter();
        let before = states.filter(|state| state.since < at);
        before.filter_map(|state| state.condition).next_back()
    }

    /// The doubts about a component that stand and that no one person answers by judging it free: it
    /// was quarantined, or worse, before the judgement that stands, as was told only after. None whose
    /// entry is being taken back.
    pub(crate) fn held_told_after(&self, component: &ComponentRef) -> Vec<&RaisedDoubt> {
        let raised = self.doubts.get(component).into_iter().flatten();
        let held = raised.filter(|one| one.doubt.answered_by() != AnsweredBy::One);
        held.filter(|one| !self.changes.withdrawn.contains(&one.by))
            .collect()
    }

    /// Whether one more thing said of a component would decide the condition in which an entry put
    /// it somewhere at a moment.
    pub(crate) fn decides(
        &self,
        said: &ComponentState,
        component: &ComponentRef,
        (at, by): (Instant, Seq),
    ) -> bool {
        let after = |state: &&ComponentState| {
            state.order() > said.order() && state.since <= at && state.by != by
        };
        let mut later = self.states_of(component).iter().filter(after);
        said.since <= at && !later.any(|state| state.condition.is_some())
    }

    /// Puts a loaded state into the dossier, which is no change.
    pub fn load_state(&mut self, component: &ComponentRef, state: ComponentState) {
        let states = self.states.entry(component.clone()).or_default();
        let place = states.partition_point(|other| other.order() <= state.order());
        states.insert(place, state);
    }

    /// Says something of a component.
    pub(crate) fn put_state(&mut self, component: &ComponentRef, state: ComponentState) {
        self.changes.states.insert((component.clone(), state.by));
        if state.condition.is_some() || state.modification.is_some() {
            self.departs_anew(component);
        }
        self.load_state(component, state);
        self.restate(component);
    }

    /// Condition and modification state are part of what is asked for where a component is.
    fn departs_anew(&mut self, component: &ComponentRef) {
        let fitment = self.open_fitment(component);
        if let Some(at) = fitment.map(|fitment| fitment.at.clone()) {
            self.changes.departs_at(&at);
        }
    }

    /// Takes back what an entry said of a component.
    pub(crate) fn drop_state(&mut self, component: &ComponentRef, by: Seq) {
        self.changes.states.insert((component.clone(), by));
        self.departs_anew(component);
        if let Some(states) = self.states.get_mut(component) {
            states.retain(|state| state.by != by);
        }
        self.restate(component);
    }

    /// Makes components be as what was loaded of them says; those of which nothing is said are not
    /// there.
    pub(crate) fn restate_all(&mut self) {
        let states = &self.states;
        self.components
            .retain(|component, _| states.contains_key(component));
        let components: Vec<ComponentRef> = self.components.keys().cloned().collect();
        for component in &components {
            self.restate(component);
        }
    }

    /// A component is where it was last said to be, and in the condition last said.
    fn restate(&mut self, component: &ComponentRef) {
        let Some(record) = self.components.get_mut(component) else {
            return;
        };
        record.modification = None;
        record.batch = None;
        for state in self.states.get(component).into_iter().flatten() {
            if state.batch.is_some() {
                record.batch.clone_from(&state.batch);
            }
            if state.modification.is_some() {
                record.modification.clone_from(&state.modification);
            }
            if let Some(whereabouts) = &state.whereabouts {
                record.kept = match whereabouts {
                    Whereabouts::Fitted => None,
                    Whereabouts::Kept(kept) => Some(kept.clone()),
                };
                record.since = state.since;
                record.since_by = state.by;
            }
            record.condition = state.condition.unwrap_or(record.condition);
        }
        self.changes.components.insert(component.clone());
        self.changes.stale_components.insert(component.clone());
    }
}
