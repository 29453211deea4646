//! What each kind of fact bears on: what is said about trains, what came before it, and whether it
//! can be taken back.

use crate::configuration::component::Subject;
use crate::ledger::fact::Fact;

/// What a fact can change of what is said about trains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bearing {
    /// It can move a verdict.
    Verdict,
    /// It moves none, and is said beside it: who decided, what was checked, what was agreed with a
    /// concession, what departs from a baseline, which test of a car was failed, which work on one is
    /// due at once.
    Board,
    /// It says nothing about whether a train may run.
    Nothing,
}

impl Fact {
    /// What an entry of that kind can change of what is said about trains. A withdrawal is taken
    /// as one of a fact that moves verdicts.
    pub fn bearing(&self) -> Bearing {
        match self {
            Fact::CarTypeDefined(_)
            | Fact::RevisionEffective(_)
            | Fact::RuleSetIssued(_)
            | Fact::CarRegistered(_)
            | Fact::UnitFormed(_)
            | Fact::TrainFormed(_)
            | Fact::Fitted(_)
            | Fact::Removed { .. }
            | Fact::Moved { .. }
            | Fact::Swapped { .. }
            | Fact::Isolated(_)
            | Fact::IsolationEnded { .. }
            | Fact::Approved { .. }
            | Fact::Withdrawn => Bearing::Verdict,
            Fact::CheckConfirmed(_)
            | Fact::DecisionTaken(_)
            | Fact::ConcessionGranted(_)
            | Fact::ConcessionProlonged { .. }
            | Fact::ConcessionWithdrawn { .. }
            | Fact::SettingMade(_)
            | Fact::Embodied { .. }
            | Fact::ConditionJudged { .. }
            | Fact::HeldAsEvidence { .. }
            | Fact::HoldLifted { .. } => Bearing::Board,
            Fact::TestRecorded(record) => match record.subject {
                Subject::Car(_) => Bearing::Board,
                Subject::Component(_) => Bearing::Nothing,
            },
            Fact::TaskDone { subject, .. } => match subject {
                Subject::Car(_) => Bearing::Board,
                Subject::Component(_) => Bearing::Nothing,
            },
            Fact::FleetCheckOpened(_)
            | Fact::FleetCheckAnswered(_)
            | Fact::VisitPlanned(_)
            | Fact::VisitCancelled { .. }
            | Fact::ModificationIssued(_)
            | Fact::LocationDefined(_)
            | Fact::PartDefined(_)
            | Fact::TaskDefined(_)
            | Fact::ProcedureDefined(_)
            | Fact::ComponentReceived(_)
            | Fact::Relocated(_)
            | Fact::PlateChanged(_)
            | Fact::ReadingTaken(_)
            | Fact::MeterReplaced { .. }
            | Fact::Proposed(_)
            | Fact::Rejected { .. } => Bearing::Nothing,
        }
    }

    /// Whether it tells of what may have been so before it was found: nobody saw it change.
    pub fn may_have_been_before(&self) -> bool {
        matches!(self, Fact::Isolated(cut_out) if cut_out.not_before.is_some())
    }

    /// Whether it may tell that what ended before had no right to: a test of a car, of which another one
    /// may have ended a cut-out.
    pub fn may_unprove(&self) -> bool {
        matches!(self, Fact::TestRecorded(record) if matches!(record.subject, Subject::Car(_)))
    }

    /// Whether somebody judged that a component is kept from use: who judged it otherwise since then may
    /// not have known.
    pub fn keeps_from_use(&self) -> bool {
        matches!(self, Fact::ConditionJudged { condition, .. } if condition.stays_held())
    }

    /// Whether it sets or lifts an evidence hold.
    pub fn is_of_holds(&self) -> bool {
        matches!(self, Fact::HeldAsEvidence { .. } | Fact::HoldLifted { .. })
    }

    /// Whether it speaks of an earlier entry, so that what came before it must be kept first.
    pub fn looks_back(&self) -> bool {
        matches!(
            self,
            Fact::Approved { .. } | Fact::Rejected { .. } | Fact::DecisionTaken(_)
        )
    }

    /// Whether an entry of that kind can be withdrawn or replaced. What is true now of anything
    /// else is recorded as a new entry.
    pub fn is_correctable(&self) -> bool {
        matches!(
            self,
            Fact::Fitted(_)
                | Fact::Removed { .. }
                | Fact::Moved { .. }
                | Fact::Swapped { .. }
                | Fact::Relocated(_)
                | Fact::PlateChanged(_)
                | Fact::ConditionJudged { .. }
                | Fact::SettingMade(_)
                | Fact::ReadingTaken(_)
                | Fact::MeterReplaced { .. }
                | Fact::TaskDone { .. }
                | Fact::Embodied { .. }
                | Fact::Isolated(_)
                | Fact::IsolationEnded { .. }
                | Fact::CheckConfirmed(_)
                | Fact::TestRecorded(_)
                | Fact::ComponentReceived(_)
                | Fact::CarRegistered(_)
                | Fact::UnitFormed(_)
                | Fact::TrainFormed(_)
                | Fact::ModificationIssued(_)
        )
    }
}
