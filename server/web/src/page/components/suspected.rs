//! That a component is suspected, and where it went to see whether a fault goes with it.

use crate::address;
use crate::sides::{OtherEnd, Sides};
use domain::ledger::dossier::{ComponentRecord, OwnFitment};
use domain::ledger::suspected::suspected_at;
use domain::time::Zone;

/// Where a component was suspected.
pub(super) struct Suspected {
    /// The position, and its page.
    pub(super) at: (String, String),
    /// Until when it was there.
    pub(super) until: String,
    /// The entry that says so, and its page.
    pub(super) by: (String, String),
    /// Where it went from there, if straight to another position.
    pub(super) went: Option<OtherEnd>,
}

impl Suspected {
    /// Where a component was suspected, if it is.
    pub(super) fn of(
        record: &ComponentRecord,
        (fitments, sides): (&[OwnFitment], &Sides),
        zone: &Zone,
    ) -> Option<Self> {
        let own = suspected_at(record.condition, fitments)?;
        let end = own.end.as_ref()?;
        Some(Self {
            at: (own.at.to_string(), address::place(&own.at)),
            until: zone.show(end.at),
            by: (end.by.to_string(), address::entry(end.by)),
            went: sides.went(&record.component, end.by),
        })
    }
}
