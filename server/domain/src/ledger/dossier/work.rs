//! Work done on components follows them: a fitment that is corrected or recorded late changes
//! which car's meters the work is marked by.

use super::{DoneRecord, Dossier, MeterValues};
use crate::configuration::component::{ComponentRef, Subject};
use crate::identity::CarNumber;
use crate::ledger::entry::Seq;
use crate::time::Instant;

impl Dossier {
    /// The work that an entry recorded: a task, and those that count as done with it.
    pub fn done_by(&self, entry: Seq) -> &[DoneRecord] {
        self.done.get(&entry).map_or(&[], Vec::as_slice)
    }

    /// All work in the dossier, in no order.
    pub(crate) fn all_done(&self) -> impl Iterator<Item = &DoneRecord> {
        self.done.values().flatten()
    }

    /// Puts loaded work into the dossier, which is no change.
    pub fn load_done(&mut self, record: DoneRecord) {
        if let Subject::Component(component) = &record.subject {
            let entries = self.done_on.entry(component.clone()).or_default();
            entries.insert(record.by);
        }
        self.done.entry(record.by).or_default().push(record);
    }

    /// Records work.
    pub(crate) fn put_done(&mut self, record: DoneRecord) {
        self.changes.done.insert(record.by);
        self.mark_work(&record);
        self.load_done(record);
    }

    /// Takes back the work that an entry recorded.
    pub(crate) fn drop_done(&mut self, entry: Seq) {
        self.changes.done.insert(entry);
        for record in self.done.remove(&entry).unwrap_or_default() {
            self.mark_work(&record);
            if let Subject::Component(component) = &record.subject
                && let Some(entries) = self.done_on.get_mut(component)
            {
                entries.remove(&entry);
            }
        }
    }

    fn mark_work(&mut self, record: &DoneRecord) {
        if let Some(car) = &record.car {
            self.changes.marks_from(car, record.at);
        }
        match &record.subject {
            Subject::Component(component) => {
                self.changes.stale_components.insert(component.clone());
            }
            Subject::Car(car) => {
                self.changes.stale_cars.insert(car.clone());
            }
        }
    }

    /// The car that a component was on at a moment. At the moment of a removal it still was.
    pub(crate) fn host_at(&self, component: &ComponentRef, at: Instant) -> Option<&CarNumber> {
        let holds = |from: Instant, until: Option<Instant>| {
            from <= at && until.is_none_or(|until| at <= until)
        };
        self.fitments_of(component)
            .filter(|fitment| holds(fitment.from, fitment.end.as_ref().map(|end| end.at)))
            .min_by_key(|fitment| fitment.from)
            .map(|fitment| &fitment.at.car)
    }

    /// Finds the cars anew on which work was done on a component whose fitments have changed.
    pub(super) fn rehost_work(&mut self, component: &ComponentRef) {
        for entry in self.done_on.get(component).cloned().unwrap_or_default() {
            let Some(mut records) = self.done.remove(&entry) else {
                continue;
            };
            for record in &mut records {
                let host = self.host_at(component, record.at).cloned();
                if host != record.car {
                    if let Some(car) = &host {
                        self.changes.marks_from(car, record.at);
                    }
                    self.changes.done.insert(entry);
                    record.car = host;
                    record.meters = MeterValues::default();
                }
            }
            self.done.insert(entry, records);
        }
    }
}
