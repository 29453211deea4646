//! An entry of the ledger.

use crate::identity::PersonName;
use crate::ledger::consequences::Consequences;
use crate::ledger::fact::Fact;
use crate::time::Instant;
use serde::{Deserialize, Serialize};
use std::fmt;
use uuid::Uuid;

/// The number of an entry, from 1 without gaps. Things are known by the entry that brought
/// them into the register, so that a rebuild gives them the same identity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Seq(pub i64);

impl fmt::Display for Seq {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "entry {}", self.0)
    }
}

/// One entry: who recorded what, when, when it took effect, why, and which entry it corrects.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its number.
    pub seq: Seq,
    /// The identity that its sender gave it; a repeat is harmless.
    pub command: Uuid,
    /// When the register learned it.
    pub recorded_at: Instant,
    /// When it became true.
    pub effective_at: Instant,
    /// Who recorded it.
    pub actor: PersonName,
    /// Why.
    pub reason: String,
    /// The entry it corrects.
    pub corrects: Option<Seq>,
    /// What.
    pub fact: Fact,
    /// What it changed beyond that, of a correction and of what was told late by a person or a
    /// program; of what was brought in, the doubts that it raises.
    pub consequences: Option<Box<Consequences>>,
}
