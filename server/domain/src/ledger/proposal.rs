//! What needs two people: one proposes it, another approves it, and then it is true. One person
//! cannot pass alone, whatever roles they hold.

use crate::configuration::car::Car;
use crate::configuration::car_type::CarType;
use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::concession::Concession;
use crate::configuration::effectivity::Effectivity;
use crate::due::task::Task;
use crate::identity::{ConcessionNumber, PersonName};
use crate::ledger::entry::Seq;
use crate::ledger::fact::Fact;
use crate::rule_set::RuleSet;
use crate::test_record::procedure::Procedure;
use crate::time::{Day, Instant};
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
    /// A revision of a car type to be the baseline of some cars from a day on.
    Effectivity(Effectivity),
    /// A task with its limits, or a new revision of one.
    Task(Box<Task>),
    /// A procedure with the limits of what it measures, or a new revision of one.
    Procedure(Box<Procedure>),
    /// A new car, with the revision that is its baseline.
    Car(Car),
    /// A departure from the baseline to be allowed until a day.
    Concession(Concession),
    /// A concession in force to be in force for longer.
    Prolongation {
        /// Its number.
        number: ConcessionNumber,
        /// The last day from then on.
        until: Day,
    },
    /// A component to be released from quarantine.
    Release {
        /// Which component.
        component: ComponentRef,
        /// The condition it is then in.
        condition: Condition,
        /// On what evidence: certificate, test record, inspection.
        evidence: String,
    },
    /// An evidence hold to be lifted that somebody else set, who is not there to lift it: whoever
    /// brought it in, or somebody who has left.
    Lifting {
        /// The entry that set it.
        hold: Seq,
        /// On whose word.
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
        /// From when a revision of a car type holds for which cars.
        Effectivity = "effectivity",
        /// A task.
        Task = "task",
        /// A procedure.
        Procedure = "procedure",
        /// A new car.
        Car = "car",
        /// A concession.
        Concession = "concession",
        /// A longer concession.
        Prolongation = "prolongation",
        /// A release from quarantine.
        Release = "release",
        /// The lifting of somebody else's evidence hold.
        Lifting = "lifting",
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
            Self::Effectivity(_) => ProposalKind::Effectivity,
            Self::Task(_) => ProposalKind::Task,
            Self::Procedure(_) => ProposalKind::Procedure,
            Self::Car(_) => ProposalKind::Car,
            Self::Concession(_) => ProposalKind::Concession,
            Self::Prolongation { .. } => ProposalKind::Prolongation,
            Self::Release { .. } => ProposalKind::Release,
            Self::Lifting { .. } => ProposalKind::Lifting,
        }
    }

    /// What becomes true when it is approved.
    pub fn fact(&self) -> Fact {
        match self.clone() {
            Self::RuleSet(rules) => Fact::RuleSetIssued(rules),
            Self::CarType(car_type) => Fact::CarTypeDefined(car_type),
            Self::Effectivity(effectivity) => Fact::RevisionEffective(effectivity),
            Self::Task(task) => Fact::TaskDefined(*task),
            Self::Procedure(procedure) => Fact::ProcedureDefined(*procedure),
            Self::Car(car) => Fact::CarRegistered(car),
            Self::Concession(concession) => Fact::ConcessionGranted(concession),
            Self::Prolongation { number, until } => Fact::ConcessionProlonged { number, until },
            Self::Release {
                component,
                condition,
                evidence,
            } => Fact::ConditionJudged {
                component,
                condition,
                evidence,
            },
            Self::Lifting { hold, evidence } => Fact::HoldLifted { hold, evidence },
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
