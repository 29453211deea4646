//! Locations: where a component is while it is not fitted, of which kind each is, and what is
//! expected back from where.

use crate::identity::LocationName;
use crate::time::Day;
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;

word_list! {
    /// What a location is. In transit is a place, and so is a contractor.
    LocationKind, "kind of location" {
        /// A store.
        Store = "store",
        /// A workshop of the railway's own.
        Workshop = "workshop",
        /// Somebody else, who works on what is there and sends it back.
        Contractor = "contractor",
        /// On the way from one location to another.
        InTransit = "in_transit",
        /// Where what is in doubt is kept apart until it is released.
        Quarantine = "quarantine",
        /// Where what is destroyed is kept, or has gone.
        Scrapped = "scrapped",
    }
}

impl LocationKind {
    /// Whether what is there is expected to come from there.
    pub fn is_away(self) -> bool {
        matches!(self, Self::Contractor | Self::InTransit)
    }

    /// Whether what is there is at hand to be fitted.
    pub fn is_fitted_from(self) -> bool {
        matches!(self, Self::Store | Self::Workshop)
    }

    /// Whether units come there to be worked on.
    pub fn takes_visits(self) -> bool {
        matches!(self, Self::Workshop | Self::Contractor)
    }
}

/// What a location is, from a time on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Location {
    /// Its name.
    pub name: LocationName,
    /// Its kind.
    pub kind: LocationKind,
}

/// What is said of something when it is sent away.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sent {
    /// The location that it is bound for, while it is in transit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bound_for: Option<LocationName>,
    /// The day on which it is expected to arrive or to come back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_on: Option<Day>,
}

/// Where a component is while it is not fitted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// The location.
    pub location: LocationName,
    /// What was said when it was sent there.
    pub sent: Sent,
}

impl Kept {
    /// At a location, with what was said when it was sent there.
    pub fn new(location: &LocationName, sent: &Sent) -> Self {
        Self {
            location: location.clone(),
            sent: sent.clone(),
        }
    }

    /// By how many days it is overdue on a day: from the day after the one on which it was
    /// expected. Nothing is overdue that no day was given for.
    pub fn overdue(&self, today: Day) -> Option<i64> {
        let late = self.sent.expected_on?.days_until(today);
        (0 < late).then_some(late)
    }
}

impl fmt::Display for Sent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(bound_for) = &self.bound_for {
            write!(f, ", bound for {bound_for}")?;
        }
        match self.expected_on {
            Some(day) => write!(f, ", expected on {day}"),
            None => Ok(()),
        }
    }
}
