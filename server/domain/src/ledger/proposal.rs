//! What needs two people: one proposes it, another approves it, and then it is true. One person
//! cannot pass alone, whatever roles they hold.

use crate::configuration::car_type::CarType;
use crate::configuration::component::{ComponentRef, Condition};
use crate::identity::PersonName;
use crate::ledger::entry::Seq;
use crate::ledger::fact::Fact;
use crate::rule_set::RuleSet;
use crate::time::Instant;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

/// What is proposed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Proposal {
    /// A rule set, or a new revision of one, to come into force.
    RuleSet(Box<RuleSet>),
    /// A new revision of a car type, such as one with another circuit.
    CarType(Box<CarType>),
    /// A component to be released from quarantine.
    Release {
        /// Which component.
        component: ComponentRef,
        /// The condition it is then in.
        condition: Condition,
        /// On what evidence: certificate, test record, inspection.
        evidence: String,
    },
}

word_list! {
    /// What kind of thing is proposed.
    ProposalKind, "kind of proposal" {
        /// A rule set.
        RuleSet = "rule_set",
        /// A car type.
        CarType = "car_type",
        /// A release from quarantine.
        Release = "release",
    }
}

word_list! {
    /// What became of a proposal.
    Outcome, "outcome" {
        /// It is true.
        Approved = "approved",
        /// It is not and will not be.
        Rejected = "rejected",
    }
}

impl Proposal {
    /// Its kind.
    pub fn kind(&self) -> ProposalKind {
        match self {
            Self::RuleSet(_) => ProposalKind::RuleSet,
            Self::CarType(_) => ProposalKind::CarType,
            Self::Release { .. } => ProposalKind::Release,
        }
    }

    /// What becomes true when it is approved.
    pub fn fact(&self) -> Fact {
        match self.clone() {
            Self::RuleSet(rules) => Fact::RuleSetIssued(rules),
            Self::CarType(car_type) => Fact::CarTypeDefined(car_type),
            Self::Release {
                component,
                condition,
                evidence,
            } => Fact::ConditionJudged {
                component,
                condition,
                evidence,
            },
        }
    }
}

/// A proposal as the register has it.
#[derive(Debug, Clone, PartialEq)]
pub struct ProposalRecord {
    /// The entry that proposed it.
    pub id: Seq,
    /// Who proposed it.
    pub by: PersonName,
    /// When it was proposed.
    pub at: Instant,
    /// What.
    pub proposal: Proposal,
    /// What became of it, and the entry that decided.
    pub decided: Option<(Outcome, Seq)>,
}
