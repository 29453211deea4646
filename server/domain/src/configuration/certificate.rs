//! Certificates of release: what the paper says that comes with a component, or with work done.
//! They are kept as they were signed; what the register works out stands beside them.

use crate::identity::{LocationName, PersonName, TaskCode};
use crate::time::Day;
use crate::units::{Amount, Meter};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A certificate of release.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Certificate {
    /// Its number, unique with its issuer.
    pub number: String,
    /// The organisation that released the work, with its authority.
    pub issuer: String,
    /// Who signed it.
    pub signed_by: PersonName,
    /// The day it was signed.
    pub signed_on: Day,
    /// Who supervised the work, if the paper names somebody.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supervised_by: Option<PersonName>,
    /// Where the work was done, if the paper says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<LocationName>,
    /// The instruction worked to, with its revision.
    pub instruction: String,
    /// What was done.
    pub done: String,
    /// What of the instruction was not done; none where the paper does not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_done: Option<String>,
    /// What is left of limited lives, as the paper says: each by its clock.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left: Vec<LifeLeft>,
}

/// What is left until a task is due, by one clock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LifeLeft {
    /// The task: a life limit, an overhaul, a test.
    pub task: TaskCode,
    /// What is left, by one clock.
    pub left: Left,
}

/// What is left by one clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Left {
    /// Until a day.
    Until(Day),
    /// So much more by a meter.
    Run {
        /// Which meter.
        meter: Meter,
        /// How much.
        amount: Amount,
    },
}

impl fmt::Display for Left {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Left::Until(day) => write!(f, "until {day}"),
            Left::Run { meter, amount } => write!(f, "{amount} {} left", meter.unit()),
        }
    }
}

impl LifeLeft {
    /// Whether another says something of the same task by the same clock.
    pub fn is_by_clock_of(&self, other: &Self) -> bool {
        let meter = |left: Left| match left {
            Left::Until(_) => None,
            Left::Run { meter, .. } => Some(meter),
        };
        self.task == other.task && meter(self.left) == meter(other.left)
    }
}

impl fmt::Display for LifeLeft {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.task, self.left)
    }
}
