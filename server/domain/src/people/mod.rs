//! Who acts, in which role, and what each role may record.

pub mod account;
pub mod agreement;
pub mod refused;
pub mod roles;
pub mod session;
pub mod sign_on;
pub mod tries;

use crate::identity::PersonName;
use crate::ledger::fact::Fact;
use crate::ledger::proposal::Proposal;
use crate::words::word_list;

word_list! {
    /// What a person does here. A person may hold several.
    Role, "role" {
        /// Plans visits and work.
        Planner = "planner",
        /// Decides whether trains may run.
        Controller = "controller",
        /// Keeps stock and custody.
        Stores = "stores",
        /// Does and tests the work.
        Technician = "technician",
        /// Owns baselines, rule sets, procedures and concessions.
        BrakeEngineer = "brake_engineer",
        /// Reads everything and writes nothing.
        Auditor = "auditor",
        /// Keeps accounts, and nothing else.
        Administrator = "administrator",
    }
}

/// On whose authority somebody acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Authority {
    /// Their own roles: what needs two people, needs two.
    Own,
    /// Whoever runs the machine, on the command line: brings in what was agreed before.
    Founder,
}

/// Somebody who acts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Actor {
    /// The account's name, as it stands in every entry.
    pub name: PersonName,
    /// The roles held.
    pub roles: Vec<Role>,
    /// On whose authority.
    pub authority: Authority,
}

impl Actor {
    /// Somebody signed in with an account.
    pub fn account(name: PersonName, roles: Vec<Role>) -> Self {
        Self {
            name,
            roles,
            authority: Authority::Own,
        }
    }

    /// Whether one of the roles is held.
    pub fn holds(&self, roles: &[Role]) -> bool {
        self.roles.iter().any(|role| roles.contains(role))
    }

    /// Whether one of the roles may record facts of that kind.
    pub fn may_record(&self, fact: &Fact) -> bool {
        self.holds(roles_for(fact))
    }
}

use Role::{BrakeEngineer, Controller, Planner, Stores, Technician};

/// Who may name locations, receive components and move them between locations.
pub const KEEPS_STOCK: &[Role] = &[Stores, BrakeEngineer];
/// Who may fit, remove, move and swap components, and judge their condition.
pub const HANDLES_COMPONENTS: &[Role] = &[Technician, Stores, BrakeEngineer];
/// Who may record readings and replacements of meters.
pub const READS_METERS: &[Role] = &[Planner, Technician, Controller, BrakeEngineer];
/// Who may record work, tests and settings.
pub const DOES_WORK: &[Role] = &[Technician, BrakeEngineer];

/// Who may say which cars there are and in which units they run.
pub const REGISTERS_CARS: &[Role] = &[BrakeEngineer, Planner];
/// Who may form trains.
pub const FORMS_TRAINS: &[Role] = &[Controller, Planner, BrakeEngineer];
/// Who may record cut-outs and end them.
pub const ISOLATES: &[Role] = &[Controller, Technician, BrakeEngineer];
/// Who may decide whether a train runs.
pub const DECIDES: &[Role] = &[Controller, BrakeEngineer];

/// Who may open a check of the fleet.
pub const OPENS_FLEET_CHECKS: &[Role] = &[Planner, BrakeEngineer];

/// Who may plan visits and cancel them.
pub const PLANS_VISITS: &[Role] = &[Planner];

/// Who may put something under an evidence hold: the controller, who hears of an accident first,
/// and the brake engineer, who then works with the investigators. Each lifts only their own; that of
/// another they may propose to lift.
pub const HOLDS_EVIDENCE: &[Role] = &[Controller, BrakeEngineer];

/// Who may approve what somebody else proposed.
pub const APPROVES: &[Role] = &[BrakeEngineer];

/// The roles that may record a kind of fact.
pub fn roles_for(fact: &Fact) -> &'static [Role] {
    match fact {
        Fact::CarTypeDefined(_)
        | Fact::RevisionEffective(_)
        | Fact::ConcessionGranted(_)
        | Fact::ConcessionProlonged { .. }
        | Fact::ConcessionWithdrawn { .. }
        | Fact::ModificationIssued(_)
        | Fact::PartDefined(_)
        | Fact::TaskDefined(_)
        | Fact::ProcedureDefined(_)
        | Fact::RuleSetIssued(_) => &[BrakeEngineer],
        Fact::Proposed(proposal) => roles_for_proposal(proposal),
        Fact::Approved { .. } | Fact::Rejected { .. } => APPROVES,
        Fact::CarRegistered(_) | Fact::UnitFormed(_) => REGISTERS_CARS,
        Fact::TrainFormed(_) => FORMS_TRAINS,
        Fact::ComponentReceived(_) | Fact::Relocated(_) | Fact::LocationDefined(_) => KEEPS_STOCK,
        Fact::Fitted(_)
        | Fact::Removed { .. }
        | Fact::Moved { .. }
        | Fact::Swapped { .. }
        | Fact::PlateChanged(_)
        | Fact::ConditionJudged { .. } => HANDLES_COMPONENTS,
        Fact::ReadingTaken(_) | Fact::MeterReplaced { .. } => READS_METERS,
        Fact::TaskDone { .. }
        | Fact::TestRecorded(_)
        | Fact::Embodied { .. }
        | Fact::SettingMade(_)
        | Fact::FleetCheckAnswered(_) => DOES_WORK,
        Fact::Isolated(_) | Fact::IsolationEnded { .. } | Fact::CheckConfirmed(_) => ISOLATES,
        Fact::DecisionTaken(_) => DECIDES,
        Fact::HeldAsEvidence { .. } | Fact::HoldLifted { .. } => HOLDS_EVIDENCE,
        Fact::FleetCheckOpened(_) => OPENS_FLEET_CHECKS,
        Fact::VisitPlanned(_) | Fact::VisitCancelled { .. } => PLANS_VISITS,
        // A withdrawal is checked against the fact it withdraws.
        Fact::Withdrawn => &[Planner, Controller, Stores, Technician, BrakeEngineer],
    }
}

fn roles_for_proposal(proposal: &Proposal) -> &'static [Role] {
    match proposal {
        Proposal::RuleSet(_)
        | Proposal::CarType(_)
        | Proposal::Effectivity(_)
        | Proposal::Task(_)
        | Proposal::Procedure(_)
        | Proposal::Concession(_)
        | Proposal::Prolongation { .. }
        | Proposal::Release { .. } => &[BrakeEngineer],
        Proposal::Car(_) => REGISTERS_CARS,
        Proposal::Lifting { .. } => HOLDS_EVIDENCE,
    }
}
