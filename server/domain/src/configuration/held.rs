//! What an evidence hold keeps as it is.

use super::component::ComponentRef;
use crate::identity::CarNumber;
use crate::ledger::entry::Seq;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What is held as evidence: after an accident or incident it is neither moved, opened, tested,
/// scrapped nor amended until whoever set the hold lifts it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Held {
    /// A component, with all that is inside it.
    Component(ComponentRef),
    /// A car, with all that is on it.
    Car(CarNumber),
    /// An entry of the ledger, such as the one that recorded a test.
    Entry(Seq),
}

impl fmt::Display for Held {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Component(component) => component.fmt(f),
            Self::Car(car) => write!(f, "car {car}"),
            Self::Entry(seq) => seq.fmt(f),
        }
    }
}
