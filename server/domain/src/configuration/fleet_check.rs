//! A check of the fleet: something may be wrong with what several cars carry, and each of them is
//! looked at and answered for until a day. Closed only when each car has an answer, those too that
//! carry what is looked for since it was opened.

use crate::configuration::looked_for::LookedFor;
use crate::identity::{CarNumber, PersonName};
use crate::ledger::entry::Seq;
use crate::time::{Day, Instant};
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Cars of one check.
pub const CARS_MAX: usize = 5_000;

/// What is to be looked at on which cars.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FleetCheck {
    /// What it is about, in a few words.
    pub title: String,
    /// What is to be looked at, how, and what is to be done where it is found.
    pub instruction: String,
    /// How the cars were found: which part or serial numbers, as at when.
    pub looked_for: String,
    /// The same as a question, so that it can be asked again: what is fitted later may be what is
    /// looked for, and what was on a car when it was found may be on another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sought: Option<LookedFor>,
    /// The cars that must answer, at least one and at most [`CARS_MAX`].
    pub cars: BTreeSet<CarNumber>,
    /// The last day for an answer.
    pub answer_by: Day,
    /// What cars had answered when a check was brought into the register, each at most once. A
    /// check that is opened here has none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answered: Vec<EarlierAnswer>,
}

/// An answer from before a check came into the register.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EarlierAnswer {
    /// Which car, one of those asked.
    pub car: CarNumber,
    /// What was found.
    pub answer: CarAnswer,
    /// What was seen and done; needed where it is defective.
    pub remark: String,
    /// Who answered.
    pub by: PersonName,
    /// When it was looked at.
    pub at: Instant,
}

word_list! {
    /// What was found on a car.
    CarAnswer, "answer of a car" {
        /// It was looked at, and is as it should be.
        Sound = "sound",
        /// What was feared was found.
        Defective = "defective",
        /// What is looked for is not on the car, or is there no more.
        NotCarried = "not_carried",
    }
}

/// The answer of a car to a check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckAnswer {
    /// The entry that opened the check.
    pub check: Seq,
    /// Which car.
    pub car: CarNumber,
    /// What was found.
    pub answer: CarAnswer,
    /// What was seen and done; needed where it is defective.
    pub remark: String,
    /// Where it would be the last answer: the cars that carry what is looked for, or of which that cannot
    /// be told, and that were not looked at, which are asked now too. The register finds them; nobody gives them.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub asked_too: BTreeSet<CarNumber>,
}
