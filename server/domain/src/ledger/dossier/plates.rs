//! Plates that components bear and bore.

use super::{ComponentRecord, Dossier};
use crate::configuration::component::ComponentRef;
use crate::configuration::plate::PlateRecord;
use crate::identity::SerialNumber;
use crate::ledger::entry::Seq;
use crate::time::Instant;

impl ComponentRecord {
    /// What its plate says now.
    pub fn plate(&self) -> &SerialNumber {
        let last = self.plates.last();
        last.map_or(&self.component.serial, |last| &last.plate)
    }

    /// What its plate said at a moment.
    pub fn plate_at(&self, at: Instant) -> &SerialNumber {
        let mut until = self.plates.iter().filter(|one| one.since <= at);
        let last = until.next_back();
        last.map_or(&self.component.serial, |last| &last.plate)
    }
}

impl Dossier {
    /// The component that came in under a plate, or bears or bore it, and the entry that says so.
    pub(crate) fn bearer(&self, plate: &ComponentRef) -> Option<(&ComponentRef, Seq)> {
        let own = self.components.get(plate);
        let own = own.map(|record| (&record.component, record.id));
        own.or_else(|| {
            let bearer = self.components.get(self.borne.get(plate)?)?;
            let mut plates = bearer.plates.iter();
            let by = plates.find(|one| one.plate == plate.serial)?.by;
            Some((&bearer.component, by))
        })
    }

    /// A component of the same part that came in under a serial number, or bears or bore a plate,
    /// that differs from this one only in case, blanks and hyphens. Linear in the dossier.
    pub(crate) fn alike(&self, plate: &ComponentRef) -> Option<(&ComponentRef, Seq)> {
        let folded = plate.serial.folded();
        let alike = |one: &ComponentRef| {
            one.part == plate.part && one != plate && one.serial.folded() == folded
        };
        let plates = self.components.keys().chain(self.borne.keys());
        let found = plates.filter(|one| alike(one)).min()?;
        self.bearer(found)
    }

    /// Says that a component of the dossier bears or bore a plate, which is no change.
    pub fn load_bearer(&mut self, plate: ComponentRef, component: ComponentRef) {
        self.borne.insert(plate, component);
    }

    pub(crate) fn put_plate(&mut self, component: &ComponentRef, plate: PlateRecord) {
        let named = ComponentRef {
            part: component.part.clone(),
            serial: plate.plate.clone(),
        };
        if let Some(record) = self.components.get_mut(component) {
            let order = |one: &PlateRecord| (one.since, one.by);
            let after = record
                .plates
                .partition_point(|one| order(one) < order(&plate));
            record.plates.insert(after, plate);
        }
        self.load_bearer(named, component.clone());
        self.plate_changed(component);
    }

    pub(crate) fn drop_plate(&mut self, component: &ComponentRef, by: Seq) {
        if let Some(record) = self.components.get_mut(component) {
            record.plates.retain(|one| one.by != by);
        }
        self.plate_changed(component);
    }

    fn plate_changed(&mut self, component: &ComponentRef) {
        self.changes.components.insert(component.clone());
        self.changes.plates.insert(component.clone());
    }
}
