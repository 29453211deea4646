//! The concessions that were ever granted.

use super::Documents;
use crate::configuration::component::PositionRef;
use crate::configuration::concession::{Allowed, Concession, ConcessionRecord};
use crate::configuration::setting::SettingValue;
use crate::identity::{ConcessionNumber, PartNumber};
use crate::ledger::entry::Seq;
use crate::time::{Day, Instant};
use std::collections::BTreeSet;

impl Documents {
    /// Puts a concession in force.
    pub fn put_concession(&mut self, by: Seq, granted_at: Instant, granted: Concession) {
        let record = ConcessionRecord {
            by,
            granted_at,
            granted,
            prolonged: Vec::new(),
            withdrawn: None,
        };
        self.concessions
            .insert(record.granted.number.clone(), record);
    }

    /// Prolongs one.
    pub fn prolong_concession(&mut self, by: Seq, number: &ConcessionNumber, until: Day) {
        if let Some(known) = self.concessions.get_mut(number) {
            known.prolonged.push((by, until));
        }
    }

    /// Ends one before its last day.
    pub fn withdraw_concession(&mut self, withdrawn: (Seq, Instant), number: &ConcessionNumber) {
        if let Some(known) = self.concessions.get_mut(number) {
            known.withdrawn = Some(withdrawn);
        }
    }

    /// The parts that concessions in force at a moment of a day allow at a position of a car.
    /// Linear in the concessions.
    pub fn conceded_parts(
        &self,
        at: &PositionRef,
        (moment, on): (Instant, Day),
    ) -> BTreeSet<&PartNumber> {
        let in_force = self.concessions.values();
        let in_force = in_force.filter(|known| known.holds(moment, on));
        let parts = in_force.filter_map(|known| {
            let allows = &known.granted.allows;
            allows.part().filter(|_| known.covers(allows, at))
        });
        parts.collect()
    }

    /// The concession that allows something, and the value that it is set to, at a position of a car
    /// and lasts longest, whether or not it has ended; none where there is none that was not
    /// withdrawn. Linear in the concessions.
    pub fn concession_for(
        &self,
        (what, value): (&Allowed, Option<&SettingValue>),
        at: &PositionRef,
    ) -> Option<&ConcessionRecord> {
        let standing = self.concessions.values();
        let standing = standing.filter(|known| {
            let covers = known.covers(what, at) && known.granted.admits(value);
            known.withdrawn.is_none() && covers
        });
        standing.max_by_key(|known| (known.until(), known.by))
    }
}
