//! The closed list of facts that an entry can record. Bodies of entries are kept for ever:
//! a fact's shape is only ever extended by fields that may be absent.

pub use super::fitting::{Ended, Fitting, Relocation, Removal};
pub use super::receipt::{Brought, Receipt};

use crate::configuration::car::{Car, Train, Unit};
use crate::configuration::car_type::CarType;
use crate::configuration::certificate::Certificate;
use crate::configuration::component::{
    ComponentRef, Condition, PositionRef, RemovalReason, Subject,
};
use crate::configuration::concession::Concession;
use crate::configuration::effectivity::Effectivity;
use crate::configuration::fleet_check::{CheckAnswer, FleetCheck};
use crate::configuration::held::Held;
use crate::configuration::host::HostPosition;
use crate::configuration::location::Location;
use crate::configuration::modification::Modification;
use crate::configuration::part::Part;
use crate::configuration::plate::PlateChange;
use crate::configuration::setting::SettingMade;
use crate::decision::checks::CheckKind;
use crate::decision::taken::DecisionTaken;
use crate::due::task::Task;
use crate::due::visit::Visit;
use crate::identity::{
    CarNumber, ConcessionNumber, ModificationNumber, PersonName, TaskCode, TestRecordId,
    VisitNumber,
};
use crate::isolation::CutOutState;
use crate::ledger::entry::Seq;
use crate::ledger::kind::FactKind;
use crate::ledger::proposal::Proposal;
use crate::rule_set::RuleSet;
use crate::test_record::procedure::Procedure;
use crate::test_record::record::TestRecord;
use crate::time::{Day, Instant};
use crate::units::{Amount, Meter};
use serde::{Deserialize, Serialize};

/// What an entry records. It became true at the entry's effective time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fact {
    /// A car type was defined, or a new baseline revision of one.
    CarTypeDefined(Box<CarType>),
    /// A revision of a car type is the baseline of some cars from a day on.
    RevisionEffective(Effectivity),
    /// A departure from the baseline is allowed, until a day.
    ConcessionGranted(Concession),
    /// A concession in force is in force for longer.
    ConcessionProlonged {
        /// Its number.
        number: ConcessionNumber,
        /// The last day from then on.
        until: Day,
    },
    /// A concession in force is no longer.
    ConcessionWithdrawn {
        /// Its number.
        number: ConcessionNumber,
    },
    /// A campaign was issued that changes components or cars.
    ModificationIssued(Modification),
    /// A modification was embodied in a component or a car.
    Embodied {
        /// Which.
        modification: ModificationNumber,
        /// In what.
        subject: Subject,
        /// The evidence: order, certificate or test record.
        evidence: String,
    },
    /// A location was named with its kind, which holds from then on.
    LocationDefined(Location),
    /// A part was entered in the catalogue.
    PartDefined(Part),
    /// A task was defined, or a new revision of one, which then is the one in force.
    TaskDefined(Task),
    /// A procedure was defined, or a new revision of one, which then is the one in force.
    ProcedureDefined(Procedure),
    /// A rule set was issued, or a new revision of one.
    RuleSetIssued(Box<RuleSet>),
    /// A car came into the register, or its depot, fleet or baseline revision changed.
    CarRegistered(Car),
    /// A unit was formed, or formed anew of other cars.
    UnitFormed(Unit),
    /// A train was formed, or formed anew; every verdict on it before is void.
    TrainFormed(Train),
    /// A component came into the register.
    ComponentReceived(Receipt),
    /// A component was fitted, and perhaps already removed again.
    Fitted(Fitting),
    /// A component was taken off the position it was fitted at.
    Removed {
        /// Which component.
        component: ComponentRef,
        /// The position of a car that it was seen to come off, where that was said: it must have been
        /// there then, by itself or inside an assembly.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Box<PositionRef>>,
        /// Why, where to and in which condition.
        #[serde(flatten)]
        removal: Removal,
    },
    /// A component moved from one position to another in one act, within or between cars and
    /// assemblies. What is inside it goes with it.
    Moved {
        /// Which component.
        component: ComponentRef,
        /// Where it is fitted now.
        to: HostPosition,
        /// Why: to rob a car for another is a move with that reason.
        reason: RemovalReason,
        /// The concession that allows it there, where the baseline does not approve it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        concession: Option<ConcessionNumber>,
    },
    /// Two fitted components changed places in one act.
    Swapped {
        /// One of them.
        first: ComponentRef,
        /// The other.
        second: ComponentRef,
        /// Why.
        reason: RemovalReason,
        /// The concession that allows the first where the second was.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first_concession: Option<ConcessionNumber>,
        /// The concession that allows the second where the first was.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        second_concession: Option<ConcessionNumber>,
    },
    /// A component that is not fitted moved to another location.
    Relocated(Relocation),
    /// A component bears another serial number.
    PlateChanged(PlateChange),
    /// Somebody judged a component's condition.
    ConditionJudged {
        /// Which component.
        component: ComponentRef,
        /// The condition found.
        condition: Condition,
        /// On what evidence: certificate, test record, inspection.
        evidence: String,
    },
    /// A setting was made at a position of a car, on what is there.
    SettingMade(SettingMade),
    /// A meter was read.
    ReadingTaken(Reading),
    /// A meter was replaced; usage goes on without a step.
    MeterReplaced {
        /// On which car.
        car: CarNumber,
        /// Which meter.
        meter: Meter,
        /// What the old one showed last.
        last_value: Amount,
        /// What the new one showed first.
        first_value: Amount,
    },
    /// A task was done.
    TaskDone {
        /// On what.
        subject: Subject,
        /// Which task.
        task: TaskCode,
        /// The evidence: order, certificate or test record.
        evidence: String,
        /// The certificate of release, as far as it is copied.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        release: Option<Box<Certificate>>,
    },
    /// Values were measured. The verdict follows from them.
    TestRecorded(TestRecord),
    /// A position was found or put in a state that isolates.
    Isolated(CutOut),
    /// The isolation in force at a position ended.
    IsolationEnded {
        /// Which position. At most one isolation is in force there.
        #[serde(flatten)]
        at: PositionRef,
        /// The test that proved the brake restored.
        proved_by: TestRecordId,
    },
    /// A check after a cut-out was confirmed by the person who made it.
    CheckConfirmed(Confirmation),
    /// An authorised person decided about a train as it stood.
    DecisionTaken(Box<DecisionTaken>),
    /// Something was put under an evidence hold, by whoever recorded it.
    HeldAsEvidence {
        /// What.
        held: Held,
        /// What is investigated, and for whom.
        investigation: String,
    },
    /// Whoever set an evidence hold lifted it.
    HoldLifted {
        /// The entry that set it.
        hold: Seq,
        /// On whose word: the investigator's release.
        evidence: String,
    },
    /// A check of the fleet was opened: some cars are to be looked at until a day.
    FleetCheckOpened(Box<FleetCheck>),
    /// A car was looked at for a check of the fleet.
    FleetCheckAnswered(CheckAnswer),
    /// A visit was planned, or planned otherwise.
    VisitPlanned(Box<Visit>),
    /// A visit will not take place.
    VisitCancelled {
        /// Which.
        visit: VisitNumber,
        /// Why.
        reason: String,
    },
    /// An earlier entry was wrong and nothing takes its place.
    Withdrawn,
    /// Somebody proposed what needs two people. It is not true yet.
    Proposed(Proposal),
    /// Another person approved what was proposed, which becomes true.
    Approved {
        /// The entry that proposed it.
        proposal: Seq,
    },
    /// What was proposed will not become true.
    Rejected {
        /// The entry that proposed it.
        proposal: Seq,
    },
}

impl Fact {
    /// Whether it puts components where they are from then on.
    pub fn fits(&self) -> bool {
        match self {
            Fact::Fitted(fitting) => fitting.ended.is_none(),
            Fact::Moved { .. } | Fact::Swapped { .. } => true,
            _ => false,
        }
    }

    /// The car or component whose use, work, tests or receipt it tells of, where it does and keeps no
    /// history of its own in two times: those it is looked up by once it is withdrawn.
    pub fn tells_of_use(&self) -> Option<Subject> {
        match self {
            Fact::ReadingTaken(reading) => Some(Subject::Car(reading.car.clone())),
            Fact::MeterReplaced { car, .. } => Some(Subject::Car(car.clone())),
            Fact::TaskDone { subject, .. } => Some(subject.clone()),
            Fact::TestRecorded(record) => Some(record.subject.clone()),
            Fact::ComponentReceived(receipt) => Some(Subject::Component(receipt.component.clone())),
            Fact::Isolated(cut_out) => Some(Subject::Car(cut_out.at.car.clone())),
            Fact::IsolationEnded { at, .. } => Some(Subject::Car(at.car.clone())),
            _ => None,
        }
    }

    /// The kind of fact.
    pub fn kind(&self) -> FactKind {
        match self {
            Fact::CarTypeDefined(_) => FactKind::CarTypeDefined,
            Fact::RevisionEffective(_) => FactKind::RevisionEffective,
            Fact::ConcessionGranted(_) => FactKind::ConcessionGranted,
            Fact::ConcessionProlonged { .. } => FactKind::ConcessionProlonged,
            Fact::ConcessionWithdrawn { .. } => FactKind::ConcessionWithdrawn,
            Fact::ModificationIssued(_) => FactKind::ModificationIssued,
            Fact::Embodied { .. } => FactKind::Embodied,
            Fact::LocationDefined(_) => FactKind::LocationDefined,
            Fact::PartDefined(_) => FactKind::PartDefined,
            Fact::TaskDefined(_) => FactKind::TaskDefined,
            Fact::ProcedureDefined(_) => FactKind::ProcedureDefined,
            Fact::RuleSetIssued(_) => FactKind::RuleSetIssued,
            Fact::CarRegistered(_) => FactKind::CarRegistered,
            Fact::UnitFormed(_) => FactKind::UnitFormed,
            Fact::TrainFormed(_) => FactKind::TrainFormed,
            Fact::ComponentReceived(_) => FactKind::ComponentReceived,
            Fact::Fitted(_) => FactKind::Fitted,
            Fact::Removed { .. } => FactKind::Removed,
            Fact::Moved { .. } => FactKind::Moved,
            Fact::Swapped { .. } => FactKind::Swapped,
            Fact::Relocated(_) => FactKind::Relocated,
            Fact::PlateChanged(_) => FactKind::PlateChanged,
            Fact::ConditionJudged { .. } => FactKind::ConditionJudged,
            Fact::SettingMade(_) => FactKind::SettingMade,
            Fact::ReadingTaken(_) => FactKind::ReadingTaken,
            Fact::MeterReplaced { .. } => FactKind::MeterReplaced,
            Fact::TaskDone { .. } => FactKind::TaskDone,
            Fact::TestRecorded(_) => FactKind::TestRecorded,
            Fact::Isolated(_) => FactKind::Isolated,
            Fact::IsolationEnded { .. } => FactKind::IsolationEnded,
            Fact::CheckConfirmed(_) => FactKind::CheckConfirmed,
            Fact::DecisionTaken(_) => FactKind::DecisionTaken,
            Fact::HeldAsEvidence { .. } => FactKind::HeldAsEvidence,
            Fact::HoldLifted { .. } => FactKind::HoldLifted,
            Fact::FleetCheckOpened(_) => FactKind::FleetCheckOpened,
            Fact::FleetCheckAnswered(_) => FactKind::FleetCheckAnswered,
            Fact::VisitPlanned(_) => FactKind::VisitPlanned,
            Fact::VisitCancelled { .. } => FactKind::VisitCancelled,
            Fact::Withdrawn => FactKind::Withdrawn,
            Fact::Proposed(_) => FactKind::Proposed,
            Fact::Approved { .. } => FactKind::Approved,
            Fact::Rejected { .. } => FactKind::Rejected,
        }
    }
}

/// A value read from a meter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// On which car.
    pub car: CarNumber,
    /// Which meter.
    pub meter: Meter,
    /// What it showed.
    pub value: Amount,
    /// Why a rate that looks impossible is right, if it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub confirmed: Option<String>,
}

/// A position in a state that isolates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutOut {
    /// Which position.
    #[serde(flatten)]
    pub at: PositionRef,
    /// In which state.
    pub state: CutOutState,
    /// Why it was closed or how it was found.
    pub cause: String,
    /// The last time it was seen in its normal state, where nobody saw it change.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_before: Option<Instant>,
}

/// A check after a cut-out, as a person confirmed it. When it was made is the effective time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Confirmation {
    /// The position that is cut out; of a check of the whole train, the last one cut out.
    #[serde(flatten)]
    pub at: PositionRef,
    /// The entry that recorded that cut-out.
    pub isolation: Seq,
    /// Which check.
    pub check: CheckKind,
    /// Who checked.
    pub by: PersonName,
}
