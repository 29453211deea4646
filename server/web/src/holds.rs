//! Evidence holds as every page tells them that could act on what is held.

use crate::address;
use domain::configuration::held::Held;
use domain::ledger::dossier::HoldRecord;
use domain::ledger::entry::Seq;
use domain::time::Zone;

/// A hold in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct HoldNote {
    /// What is held, and its page.
    pub(crate) what: String,
    pub(crate) href: String,
    /// Where a held component is on a car, and the page of that position.
    pub(crate) place: Option<(String, String)>,
    pub(crate) investigation: String,
    pub(crate) since: String,
    pub(crate) by: String,
    /// The page of the hold, where it is lifted.
    pub(crate) hold: String,
    pub(crate) id: Seq,
    /// When it was lifted, and the entry that says so.
    pub(crate) lifted: Option<Lifted>,
}

/// The end of a hold in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Lifted {
    pub(crate) at: String,
    pub(crate) by: Seq,
}

impl HoldNote {
    pub(crate) fn new(hold: &HoldRecord, zone: &Zone) -> Self {
        let place = hold.on_car.as_ref();
        Self {
            what: hold.held.to_string(),
            href: page_of(&hold.held),
            place: place.map(|at| (at.to_string(), address::position(at))),
            investigation: hold.investigation.clone(),
            since: zone.show(hold.since),
            by: hold.by.to_string(),
            hold: address::hold(hold.id),
            id: hold.id,
            lifted: hold.lifted.map(|(at, by)| Lifted {
                at: zone.show(at),
                by,
            }),
        }
    }

    /// Each of some holds, in their order.
    pub(crate) fn all<'a>(
        holds: impl IntoIterator<Item = &'a HoldRecord>,
        zone: &Zone,
    ) -> Vec<Self> {
        holds
            .into_iter()
            .map(|hold| Self::new(hold, zone))
            .collect()
    }
}

/// The page of what is held.
pub(crate) fn page_of(held: &Held) -> String {
    match held {
        Held::Component(component) => address::component(component),
        Held::Car(car) => address::car(car),
        Held::Entry(seq) => address::entry(*seq),
    }
}
