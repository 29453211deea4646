//! Evidence holds, and what each of them reaches: a component with all inside it, a car with all
//! on it.

use super::Dossier;
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::held::Held;
use crate::configuration::part::LEVELS_MAX;
use crate::identity::{CarNumber, PersonName};
use crate::ledger::entry::Seq;
use crate::time::Instant;
use std::collections::BTreeSet;

/// An evidence hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoldRecord {
    /// The entry that set it.
    pub id: Seq,
    /// What is held.
    pub held: Held,
    /// What is investigated, and for whom.
    pub investigation: String,
    /// Who set it, and alone can lift it.
    pub by: PersonName,
    /// Since when.
    pub since: Instant,
    /// Where a held component was on a car when the hold was set; while it lasts it is there.
    pub on_car: Option<PositionRef>,
    /// When it was lifted, by which entry.
    pub lifted: Option<(Instant, Seq)>,
}

impl HoldRecord {
    /// Whether it holds now.
    pub fn in_force(&self) -> bool {
        self.lifted.is_none()
    }

    /// Whether it forbids what happened at a moment: anything while it is in force, whenever
    /// that happened, since the record is held too; once it is lifted, what happened meanwhile.
    pub(crate) fn forbids_at(&self, at: Instant) -> bool {
        match self.lifted {
            None => true,
            Some((lifted, _)) => self.since <= at && at < lifted,
        }
    }

    /// Whether it holds a car as a whole.
    pub fn holds_car(&self, car: &CarNumber) -> bool {
        matches!(&self.held, Held::Car(held) if held == car)
    }

    /// Whether it holds a car or anything on it.
    pub fn is_on(&self, car: &CarNumber) -> bool {
        self.holds_car(car) || self.on_car.as_ref().is_some_and(|at| at.car == *car)
    }

    /// Whether it holds an entry.
    pub fn holds_entry(&self, entry: Seq) -> bool {
        self.held == Held::Entry(entry)
    }
}

/// A hold in force with all that is inside what it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldNow {
    /// The hold.
    pub hold: HoldRecord,
    /// What is inside the held component, on all levels. While the hold lasts nothing leaves it.
    pub inside: BTreeSet<ComponentRef>,
}

/// The holds in force, oldest first. They are few: whatever is looked for is looked for in all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HoldsInForce {
    /// Each of them.
    pub holds: Vec<HeldNow>,
    /// When the last of those that were lifted ended: nothing later meets one of them.
    pub last_lifted: Option<Instant>,
}

impl HoldsInForce {
    /// The holds on a component: on itself, on what it is inside of, on the car it is on.
    pub fn of_component<'a>(
        &'a self,
        component: &'a ComponentRef,
        on: Option<&'a CarNumber>,
    ) -> impl Iterator<Item = &'a HoldRecord> {
        self.filter(move |held| match &held.hold.held {
            Held::Component(one) => one == component || held.inside.contains(component),
            Held::Car(car) => on == Some(car),
            Held::Entry(_) => false,
        })
    }

    /// The holds on a car as a whole.
    pub fn of_car(&self, car: &CarNumber) -> impl Iterator<Item = &HoldRecord> {
        self.filter(move |held| held.hold.holds_car(car))
    }

    /// The holds on a car or on anything on it.
    pub fn on_car(&self, car: &CarNumber) -> impl Iterator<Item = &HoldRecord> {
        self.filter(move |held| held.hold.is_on(car))
    }

    /// The holds on an entry.
    pub fn of_entry(&self, entry: Seq) -> impl Iterator<Item = &HoldRecord> {
        self.filter(move |held| held.hold.holds_entry(entry))
    }

    fn filter(&self, wanted: impl Fn(&HeldNow) -> bool) -> impl Iterator<Item = &HoldRecord> {
        let wanted = self.holds.iter().filter(move |held| wanted(held));
        wanted.map(|held| &held.hold)
    }
}

impl Dossier {
    /// A component with all that it is inside of, at a moment and now.
    pub(crate) fn with_all_above(
        &self,
        component: &ComponentRef,
        at: Instant,
    ) -> Vec<ComponentRef> {
        let mut all = vec![component.clone()];
        let mut next = vec![(component.clone(), 0)];
        while let Some((one, level)) = next.pop() {
            let own = self.own_fitments_of(&one);
            let there = own.filter(|own| own.end.is_none() || own.period().holds(at));
            for assembly in there.filter_map(|own| own.at.assembly()) {
                all.push(assembly.clone());
                if level + 1 < LEVELS_MAX {
                    next.push((assembly.clone(), level + 1));
                }
            }
        }
        all
    }

    /// All that is inside a component, at a moment and now.
    pub(crate) fn all_inside(&self, component: &ComponentRef, at: Instant) -> Vec<ComponentRef> {
        let mut all = Vec::new();
        let mut next = vec![(component.clone(), 0)];
        while let Some((one, level)) = next.pop() {
            let inside = self.inside(&one);
            for own in inside.filter(|own| own.end.is_none() || own.period().holds(at)) {
                all.push(own.component.clone());
                if level + 1 < LEVELS_MAX {
                    next.push((own.component.clone(), level + 1));
                }
            }
        }
        all
    }
}
