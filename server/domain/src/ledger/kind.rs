//! The kinds of facts, by their names in the ledger.

use crate::words::word_list;

word_list! {
    /// What kind of fact an entry records.
    FactKind, "kind of entry" {
        /// [`Fact::CarTypeDefined`](super::fact::Fact::CarTypeDefined)
        CarTypeDefined = "car_type_defined",
        /// [`Fact::RevisionEffective`](super::fact::Fact::RevisionEffective)
        RevisionEffective = "revision_effective",
        /// [`Fact::ConcessionGranted`](super::fact::Fact::ConcessionGranted)
        ConcessionGranted = "concession_granted",
        /// [`Fact::ConcessionProlonged`](super::fact::Fact::ConcessionProlonged)
        ConcessionProlonged = "concession_prolonged",
        /// [`Fact::ConcessionWithdrawn`](super::fact::Fact::ConcessionWithdrawn)
        ConcessionWithdrawn = "concession_withdrawn",
        /// [`Fact::ModificationIssued`](super::fact::Fact::ModificationIssued)
        ModificationIssued = "modification_issued",
        /// [`Fact::Embodied`](super::fact::Fact::Embodied)
        Embodied = "embodied",
        /// [`Fact::LocationDefined`](super::fact::Fact::LocationDefined)
        LocationDefined = "location_defined",
        /// [`Fact::PartDefined`](super::fact::Fact::PartDefined)
        PartDefined = "part_defined",
        /// [`Fact::TaskDefined`](super::fact::Fact::TaskDefined)
        TaskDefined = "task_defined",
        /// [`Fact::ProcedureDefined`](super::fact::Fact::ProcedureDefined)
        ProcedureDefined = "procedure_defined",
        /// [`Fact::RuleSetIssued`](super::fact::Fact::RuleSetIssued)
        RuleSetIssued = "rule_set_issued",
        /// [`Fact::CarRegistered`](super::fact::Fact::CarRegistered)
        CarRegistered = "car_registered",
        /// [`Fact::UnitFormed`](super::fact::Fact::UnitFormed)
        UnitFormed = "unit_formed",
        /// [`Fact::TrainFormed`](super::fact::Fact::TrainFormed)
        TrainFormed = "train_formed",
        /// [`Fact::ComponentReceived`](super::fact::Fact::ComponentReceived)
        ComponentReceived = "component_received",
        /// [`Fact::Fitted`](super::fact::Fact::Fitted)
        Fitted = "fitted",
        /// [`Fact::Removed`](super::fact::Fact::Removed)
        Removed = "removed",
        /// [`Fact::Moved`](super::fact::Fact::Moved)
        Moved = "moved",
        /// [`Fact::Swapped`](super::fact::Fact::Swapped)
        Swapped = "swapped",
        /// [`Fact::Relocated`](super::fact::Fact::Relocated)
        Relocated = "relocated",
        /// [`Fact::PlateChanged`](super::fact::Fact::PlateChanged)
        PlateChanged = "plate_changed",
        /// [`Fact::ConditionJudged`](super::fact::Fact::ConditionJudged)
        ConditionJudged = "condition_judged",
        /// [`Fact::SettingMade`](super::fact::Fact::SettingMade)
        SettingMade = "setting_made",
        /// [`Fact::ReadingTaken`](super::fact::Fact::ReadingTaken)
        ReadingTaken = "reading_taken",
        /// [`Fact::MeterReplaced`](super::fact::Fact::MeterReplaced)
        MeterReplaced = "meter_replaced",
        /// [`Fact::TaskDone`](super::fact::Fact::TaskDone)
        TaskDone = "task_done",
        /// [`Fact::TestRecorded`](super::fact::Fact::TestRecorded)
        TestRecorded = "test_recorded",
        /// [`Fact::Isolated`](super::fact::Fact::Isolated)
        Isolated = "isolated",
        /// [`Fact::IsolationEnded`](super::fact::Fact::IsolationEnded)
        IsolationEnded = "isolation_ended",
        /// [`Fact::CheckConfirmed`](super::fact::Fact::CheckConfirmed)
        CheckConfirmed = "check_confirmed",
        /// [`Fact::DecisionTaken`](super::fact::Fact::DecisionTaken)
        DecisionTaken = "decision_taken",
        /// [`Fact::HeldAsEvidence`](super::fact::Fact::HeldAsEvidence)
        HeldAsEvidence = "held_as_evidence",
        /// [`Fact::HoldLifted`](super::fact::Fact::HoldLifted)
        HoldLifted = "hold_lifted",
        /// [`Fact::FleetCheckOpened`](super::fact::Fact::FleetCheckOpened)
        FleetCheckOpened = "fleet_check_opened",
        /// [`Fact::FleetCheckAnswered`](super::fact::Fact::FleetCheckAnswered)
        FleetCheckAnswered = "fleet_check_answered",
        /// [`Fact::VisitPlanned`](super::fact::Fact::VisitPlanned)
        VisitPlanned = "visit_planned",
        /// [`Fact::VisitCancelled`](super::fact::Fact::VisitCancelled)
        VisitCancelled = "visit_cancelled",
        /// [`Fact::Withdrawn`](super::fact::Fact::Withdrawn)
        Withdrawn = "withdrawn",
        /// [`Fact::Proposed`](super::fact::Fact::Proposed)
        Proposed = "proposed",
        /// [`Fact::Approved`](super::fact::Fact::Approved)
        Approved = "approved",
        /// [`Fact::Rejected`](super::fact::Fact::Rejected)
        Rejected = "rejected",
    }
}
