//! Checks of the fleet in the dossier.

use crate::configuration::fleet_check::{CarAnswer, FleetCheck};
use crate::identity::{CarNumber, PersonName};
use crate::ledger::entry::Seq;
use crate::time::Instant;
use std::collections::BTreeMap;

/// A check of the fleet, with those of its cars that are touched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FleetCheckRecord {
    /// The entry that opened it.
    pub id: Seq,
    /// What is asked; its cars are only here when it has just been opened.
    pub check: FleetCheck,
    /// Who opened it.
    pub by: PersonName,
    /// Since when it is open.
    pub opened_at: Instant,
    /// Cars with their answers.
    pub cars: BTreeMap<CarNumber, Option<AnswerRecord>>,
    /// How many cars have not answered.
    pub unanswered: u32,
    /// When the last car answered, by which entry.
    pub closed: Option<(Instant, Seq)>,
}

/// What a car answered, last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AnswerRecord {
    /// The entry.
    pub entry: Seq,
    /// What was found.
    pub answer: CarAnswer,
    /// What was seen and done.
    pub remark: String,
    /// Who answered.
    pub by: PersonName,
    /// When it was looked at.
    pub at: Instant,
}

impl AnswerRecord {
    /// Whether what was feared was found.
    pub fn is_defective(&self) -> bool {
        self.answer == CarAnswer::Defective
    }
}
