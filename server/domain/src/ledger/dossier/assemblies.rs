//! What is inside what, and where inner components were on cars. A change of one fitment is
//! carried to everything inside the component: linear in its contents, times the places that
//! their assemblies had.

use super::{Dossier, Fitment, FitmentEnd, FitmentId, MeterValues, OwnFitment, Period};
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::host::HostPosition;
use crate::configuration::part::LEVELS_MAX;
use crate::due::at_once::AtOnceCause;
use crate::ledger::command::Command;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::time::Instant;
use std::collections::{BTreeSet, HashMap};

/// The fitments that entries say, found by what they join.
#[derive(Debug, Default)]
pub(super) struct OwnFitments {
    by_id: HashMap<FitmentId, OwnFitment>,
    of: HashMap<ComponentRef, BTreeSet<FitmentId>>,
    at: HashMap<HostPosition, BTreeSet<FitmentId>>,
    inside: HashMap<ComponentRef, BTreeSet<FitmentId>>,
}

impl OwnFitments {
    fn put(&mut self, own: OwnFitment) {
        let OwnFitment {
            id, component, at, ..
        } = &own;
        self.of.entry(component.clone()).or_default().insert(*id);
        self.at.entry(at.clone()).or_default().insert(*id);
        if let Some(assembly) = at.assembly() {
            self.inside.entry(assembly.clone()).or_default().insert(*id);
        }
        self.by_id.insert(*id, own);
    }

    fn remove(&mut self, id: FitmentId) -> Option<OwnFitment> {
        let own = self.by_id.remove(&id)?;
        let lists = [
            self.of.get_mut(&own.component),
            self.at.get_mut(&own.at),
            own.at.assembly().and_then(|host| self.inside.get_mut(host)),
        ];
        for ids in lists.into_iter().flatten() {
            ids.remove(&id);
        }
        Some(own)
    }

    fn list<'a>(
        &'a self,
        ids: Option<&'a BTreeSet<FitmentId>>,
    ) -> impl Iterator<Item = &'a OwnFitment> {
        ids.into_iter()
            .flatten()
            .filter_map(|id| self.by_id.get(id))
    }
}

/// A component that would be at a position of a car over a period.
#[derive(Debug)]
pub(crate) struct WouldBe {
    pub(crate) component: ComponentRef,
    pub(crate) at: PositionRef,
    pub(crate) over: Period,
}

impl Dossier {
    /// A fitment that an entry began, if it is in the dossier.
    pub fn own_fitment(&self, id: FitmentId) -> Option<&OwnFitment> {
        self.own.by_id.get(&id)
    }

    /// The fitments of a component as entries say.
    pub fn own_fitments_of(&self, component: &ComponentRef) -> impl Iterator<Item = &OwnFitment> {
        self.own.list(self.own.of.get(component))
    }

    /// The fitments at a position of a car or an assembly as entries say.
    pub fn own_fitments_at(&self, position: &HostPosition) -> impl Iterator<Item = &OwnFitment> {
        self.own.list(self.own.at.get(position))
    }

    /// Where a component is now. Where a correction opens an earlier fitment again, that: it ends
    /// before the later one began.
    pub fn open_own_fitment(&self, component: &ComponentRef) -> Option<&OwnFitment> {
        let open = self.own_fitments_of(component);
        let open = open.filter(|own| own.end.is_none());
        open.min_by_key(|own| own.from)
    }

    /// Whether the fitment that a command tells began in the register, and has no end there yet.
    pub fn is_under_way(&self, command: &Command) -> bool {
        let Fact::Fitted(fitting) = &command.fact else {
            return false;
        };
        self.open_own_fitment(&fitting.component)
            .is_some_and(|open| open.at == fitting.at && open.from == command.effective_at)
    }

    /// How a component last came off, or out of an assembly; none while it is where it was last
    /// put.
    pub fn came_off(&self, component: &ComponentRef) -> Option<&FitmentEnd> {
        let last = self.own_fitments_of(component).max_by_key(|own| own.from)?;
        last.end.as_ref()
    }

    /// What is or was at the positions of an assembly, without what is inside that.
    pub(crate) fn inside(&self, assembly: &ComponentRef) -> impl Iterator<Item = &OwnFitment> {
        self.own.list(self.own.inside.get(assembly))
    }

    /// Whether anything in the dossier is or was inside something.
    pub fn has_assemblies(&self) -> bool {
        !self.own.inside.is_empty()
    }

    /// Puts a loaded fitment into the dossier, which is no change.
    pub fn load_own_fitment(&mut self, own: OwnFitment) {
        self.own.put(own);
    }

    /// Begins or changes a fitment. What is inside the component goes with it.
    pub(crate) fn put_own_fitment(&mut self, own: OwnFitment) {
        let component = own.component.clone();
        self.note_inner(&own);
        self.own.put(own);
        self.place_on_cars(&component);
    }

    /// Takes a fitment back as if it had never been.
    pub(crate) fn drop_own_fitment(&mut self, id: FitmentId) {
        if let Some(own) = self.own.remove(id) {
            self.note_inner(&own);
            self.place_on_cars(&own.component);
        }
    }

    fn note_inner(&mut self, own: &OwnFitment) {
        if own.at.assembly().is_some() {
            self.changes.inner_fitments.insert(own.id);
        }
    }

    /// Works out anew where a component and all that was ever inside it were on cars.
    fn place_on_cars(&mut self, component: &ComponentRef) {
        let mut reached = BTreeSet::from([component.clone()]);
        let mut next = vec![component.clone()];
        while let Some(one) = next.pop() {
            let inner: Vec<ComponentRef> =
                self.inside(&one).map(|own| own.component.clone()).collect();
            self.place_one(&one);
            next.extend(
                inner
                    .into_iter()
                    .filter(|inner| reached.insert(inner.clone())),
            );
        }
    }

    fn place_one(&mut self, component: &ComponentRef) {
        let own = self.own_fitments_of(component);
        let fitments: Vec<Fitment> = own.flat_map(|own| self.on_cars(own, 0)).collect();
        let known: Vec<FitmentId> = self.fitments_of(component).map(|known| known.id).collect();
        for id in known {
            if fitments.iter().all(|fitment| fitment.id != id) {
                self.drop_fitment(id);
            }
        }
        for fitment in fitments {
            self.put_fitment(fitment);
        }
        self.rehost_work(component);
    }

    /// Where a fitment was on cars. The design bounds the levels; so does this, whatever is kept.
    fn on_cars(&self, own: &OwnFitment, level: usize) -> Vec<Fitment> {
        match own.at.assembly() {
            None => own.on_car().into_iter().collect(),
            Some(_) if LEVELS_MAX <= level => Vec::new(),
            Some(assembly) => self
                .own_fitments_of(assembly)
                .flat_map(|above| self.on_cars(above, level + 1))
                .filter_map(|above| own.through(&above))
                .collect(),
        }
    }

    /// Puts a place on a car, keeping what the meters showed at its beginning.
    fn put_fitment(&mut self, mut fitment: Fitment) {
        if let Some(known) = self.fitments.get(&fitment.id) {
            if known.says_the_same(&fitment) {
                return;
            }
            fitment.meters_from = if known.from == fitment.from {
                known.meters_from
            } else {
                MeterValues::default()
            };
            self.drop_fitment(fitment.id);
        }
        self.note_fitment(&fitment);
        // With what stands of its beginning, only its end is to be marked.
        let marked = fitment.meters_from != MeterValues::default();
        let unmarked = if marked {
            fitment.end.as_ref().map(|end| end.at)
        } else {
            Some(fitment.from)
        };
        if let Some(from) = unmarked {
            self.changes.marks_from(&fitment.at.car, from);
        }
        self.load_fitment(fitment);
    }

    fn drop_fitment(&mut self, id: FitmentId) {
        let Some(fitment) = self.fitments.remove(&id) else {
            return;
        };
        if let Some(ids) = self.fitments_of.get_mut(&fitment.component) {
            ids.remove(&id);
        }
        if let Some(ids) = self.fitments_at.get_mut(&fitment.at) {
            ids.remove(&id);
        }
        self.note_fitment(&fitment);
    }

    fn note_fitment(&mut self, fitment: &Fitment) {
        self.moved.cars.insert(fitment.at.car.clone());
        self.touched(&fitment.at.car, AtOnceCause::Exchanged);
        let changes = &mut self.changes;
        changes.fitments.insert(fitment.id);
        changes.departs_at(&fitment.at);
        changes.stale_components.insert(fitment.component.clone());
    }

    /// Everything inside a component at a moment, on all levels.
    pub(crate) fn contents_at(&self, component: &ComponentRef, at: Instant) -> Vec<&OwnFitment> {
        let mut contents: Vec<&OwnFitment> = Vec::new();
        let mut next = vec![(component, 0)];
        while let Some((one, level)) = next.pop() {
            let then = self.inside(one).filter(|own| own.period().holds(at));
            for own in then {
                contents.push(own);
                if level + 1 < LEVELS_MAX {
                    next.push((&own.component, level + 1));
                }
            }
        }
        contents
    }

    /// What an entry fits, with everything inside it.
    pub fn fitted_by(&self, entry: &Entry) -> BTreeSet<ComponentRef> {
        let fitted: Vec<&ComponentRef> = match &entry.fact {
            Fact::Fitted(fitting) if fitting.ended.is_none() => vec![&fitting.component],
            Fact::Moved { component, .. } => vec![component],
            Fact::Swapped { first, second, .. } => vec![first, second],
            _ => Vec::new(),
        };
        let inside = fitted.iter();
        let inside = inside.flat_map(|one| self.contents_at(one, entry.effective_at));
        let inside = inside.map(|own| own.component.clone()).collect::<Vec<_>>();
        fitted.into_iter().cloned().chain(inside).collect()
    }

    /// When, and by which entries, a component was put anywhere, by itself or inside something;
    /// where it is now, only until it is taken off there at a time, if it is.
    pub(crate) fn starts_of(
        &self,
        component: &ComponentRef,
        taken_off_at: Option<Instant>,
    ) -> Vec<(Instant, Seq)> {
        let mut starts = Vec::new();
        for own in self.own_fitments_of(component) {
            let ends = taken_off_at.filter(|at| own.end.is_none() && own.from < *at);
            let over = Period {
                until: own.period().until.or(ends),
                ..own.period()
            };
            starts.push((own.from, own.fitted_by));
            self.starts_above(&own.at, over, &mut starts);
        }
        starts
    }

    /// When the assembly of a position, and those it is inside, were put anywhere within a
    /// period: what is at the position then goes with them.
    pub(crate) fn starts_above(
        &self,
        at: &HostPosition,
        over: Period,
        starts: &mut Vec<(Instant, Seq)>,
    ) {
        let mut next: Vec<(&HostPosition, Period, usize)> = vec![(at, over, 0)];
        while let Some((at, over, level)) = next.pop() {
            let Some(assembly) = at.assembly().filter(|_| level < LEVELS_MAX) else {
                continue;
            };
            for own in self.own_fitments_of(assembly) {
                if let Some(shared) = own.period().meet(over) {
                    if over.from < own.from {
                        starts.push((own.from, own.fitted_by));
                    }
                    next.push((&own.at, shared, level + 1));
                }
            }
        }
    }

    /// Where a component, and all that is inside it, would be on cars if it were at a position.
    pub(crate) fn would_be(
        &self,
        component: &ComponentRef,
        at: &HostPosition,
        over: Period,
    ) -> Vec<WouldBe> {
        let mut all = Vec::new();
        for (at, over) in self.places_on_cars(at, over) {
            let component = component.clone();
            let mut next = vec![(
                WouldBe {
                    component,
                    at,
                    over,
                },
                0,
            )];
            while let Some((one, level)) = next.pop() {
                if level < LEVELS_MAX {
                    let inner = self.inside(&one.component);
                    next.extend(inner.filter_map(|own| Some((one.inner(own)?, level + 1))));
                }
                all.push(one);
            }
        }
        all
    }

    fn places_on_cars(&self, at: &HostPosition, over: Period) -> Vec<(PositionRef, Period)> {
        let Some(assembly) = at.assembly() else {
            return at.on_car().map(|at| (at, over)).into_iter().collect();
        };
        let place = |fitment: &Fitment| {
            let shared = fitment.period().meet(over)?;
            let position = fitment.at.position.followed_by(&at.position)?;
            let car = fitment.at.car.clone();
            Some((PositionRef { car, position }, shared))
        };
        self.fitments_of(assembly).filter_map(place).collect()
    }
}

impl WouldBe {
    fn inner(&self, own: &OwnFitment) -> Option<WouldBe> {
        Some(WouldBe {
            component: own.component.clone(),
            at: PositionRef {
                car: self.at.car.clone(),
                position: self.at.position.followed_by(&own.at.position)?,
            },
            over: own.period().meet(self.over)?,
        })
    }
}
