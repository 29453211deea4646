//! That a component came off as evidence and nobody has held it since.

use crate::address;
use domain::configuration::held::Held;
use domain::ledger::dossier::{ComponentRecord, OwnFitment};
use domain::ledger::entry::Entry;
use domain::ledger::evidence::awaits_hold;
use domain::ledger::fact::Fact;
use domain::time::Zone;

/// How a component came off as evidence.
pub(super) struct AwaitsHold {
    /// When.
    pub(super) since: String,
    /// The entry that says so, and its page.
    pub(super) by: (String, String),
}

impl AwaitsHold {
    /// How a component came off as evidence, if no hold was set on it since.
    pub(super) fn of(
        record: &ComponentRecord,
        (fitments, entries): (&[OwnFitment], &[Entry]),
        zone: &Zone,
    ) -> Option<Self> {
        let set = entries.iter().filter_map(|entry| match &entry.fact {
            Fact::HeldAsEvidence {
                held: Held::Component(one),
                ..
            } if *one == record.component => Some((entry.seq, entry.effective_at)),
            _ => None,
        });
        let end = awaits_hold(record.condition, fitments, set)?;
        Some(Self {
            since: zone.show(end.at),
            by: (end.by.to_string(), address::entry(end.by)),
        })
    }
}
