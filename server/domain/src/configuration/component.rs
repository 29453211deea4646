//! Components: single physical items, where they are and in what condition.

use crate::identity::{CarNumber, PartNumber, PositionCode, SerialNumber};
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The identity of a component: a serial number is unique only with its part number.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ComponentRef {
    /// The part.
    pub part: PartNumber,
    /// The serial number on the plate.
    pub serial: SerialNumber,
}

impl fmt::Display for ComponentRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} serial {}", self.part, self.serial)
    }
}

/// A position of a car.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PositionRef {
    /// The car.
    pub car: CarNumber,
    /// The position on its type.
    pub position: PositionCode,
}

impl fmt::Display for PositionRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} of car {}", self.position, self.car)
    }
}

/// What work or a test is done on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// A component, wherever it is.
    Component(ComponentRef),
    /// A car as a whole.
    Car(CarNumber),
}

impl std::fmt::Display for Subject {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Subject::Component(component) => component.fmt(f),
            Subject::Car(car) => write!(f, "car {car}"),
        }
    }
}

word_list! {
    /// Whether a component may be fitted.
    Condition, "condition" {
        /// May be fitted.
        Serviceable = "serviceable",
        /// Removed and not yet judged.
        RemovedToBeJudged = "removed_to_be_judged",
        /// Not to be fitted before repair or overhaul with release.
        Unserviceable = "unserviceable",
        /// In doubt: kept apart until a brake engineer decides.
        Quarantined = "quarantined",
        /// Never to be fitted again: its life has ended, or nobody can tell its past. It is kept
        /// until its destruction is recorded.
        BeyondSalvage = "beyond_salvage",
        /// Destroyed, and recorded so, so that it does not come back.
        Scrapped = "scrapped",
    }
}

impl Condition {
    /// Whether it keeps a component from use until two people, or nobody any more, release it.
    pub fn stays_held(self) -> bool {
        matches!(
            self,
            Self::Quarantined | Self::BeyondSalvage | Self::Scrapped
        )
    }

    /// Whether it is never to be fitted again, whoever would release it.
    pub fn ends_its_life(self) -> bool {
        matches!(self, Self::BeyondSalvage | Self::Scrapped)
    }
}

word_list! {
    /// Why a component was taken off. Only failed and suspected count as removals for cause.
    RemovalReason, "removal reason" {
        /// It failed.
        Failed = "failed",
        /// It was suspected; judged later.
        Suspected = "suspected",
        /// Work on it fell due.
        Due = "due",
        /// Its life ended.
        LifeLimit = "life_limit",
        /// It was changed for a modified one.
        Modification = "modification",
        /// It stood in the way of other work.
        Access = "access",
        /// Another car was robbed of it.
        Robbed = "robbed",
        /// It belongs to a set that was changed.
        MatchedSet = "matched_set",
        /// It was damaged from outside.
        Damage = "damage",
        /// Its batch was recalled.
        Recall = "recall",
        /// It is evidence.
        Evidence = "evidence",
        /// The register was wrong; see the reason of the entry.
        RegisterError = "register_error",
    }
}

impl RemovalReason {
    /// Whether what came off for this reason may still be serviceable: only where the reason is
    /// no doubt about the component and no work on it fell due.
    pub const fn leaves_serviceable(self) -> bool {
        matches!(
            self,
            Self::Modification
                | Self::Access
                | Self::Robbed
                | Self::MatchedSet
                | Self::RegisterError
        )
    }

    /// Whether what came off for this reason is kept apart until two people release it: what was
    /// recalled is in doubt with all of its lot, and evidence stays as it is.
    pub const fn quarantines(self) -> bool {
        matches!(self, Self::Recall | Self::Evidence)
    }

    /// The condition of what came off for this reason while nobody has judged it.
    pub const fn leaves(self) -> Condition {
        if self.quarantines() {
            Condition::Quarantined
        } else {
            Condition::RemovedToBeJudged
        }
    }
}
