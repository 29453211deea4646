//! What an entry says of a component that is fitted, comes off or lies elsewhere.

use crate::configuration::component::{ComponentRef, Condition, RemovalReason};
use crate::configuration::host::HostPosition;
use crate::configuration::location::Sent;
use crate::identity::{ConcessionNumber, LocationName};
use crate::time::Instant;
use serde::{Deserialize, Serialize};

/// A component at a position from the entry's effective time on, with what is inside it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fitting {
    /// Which component.
    pub component: ComponentRef,
    /// Where: on a car, or in an assembly, which itself may be anywhere.
    #[serde(flatten)]
    pub at: HostPosition,
    /// The concession that allows it, where the baseline does not approve it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub concession: Option<ConcessionNumber>,
    /// When and how the fitment ended, where it is recorded after its end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended: Option<Ended>,
}

/// The end of a fitment that is recorded together with its beginning.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ended {
    /// When.
    pub at: Instant,
    /// Why, where to and in which condition.
    #[serde(flatten)]
    pub removal: Removal,
}

/// How a component left a position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Removal {
    /// Why.
    pub reason: RemovalReason,
    /// Where it went.
    pub to: LocationName,
    /// Where it is bound for and when it is expected, where it went away.
    #[serde(flatten)]
    pub sent: Sent,
    /// Its condition from then on; whatever came off is to be judged unless evidence says more.
    pub condition: Condition,
    /// On what evidence it is in that condition: certificate, test record, inspection. A person who
    /// says that it is serviceable says on what; of what is brought in that may not be known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
}

/// A component that is not fitted, at another location.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Relocation {
    /// Which component.
    pub component: ComponentRef,
    /// Where it is now.
    pub to: LocationName,
    /// Where it is bound for and when it is expected, where it is away.
    #[serde(flatten)]
    pub sent: Sent,
}
