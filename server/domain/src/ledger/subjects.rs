//! What an entry is about: the things that it names, and the cars on which it put something or
//! took something off, so that the ledger can be asked for one of them.

use crate::configuration::car::{Train, Vehicle};
use crate::configuration::component::{ComponentRef, Subject};
use crate::configuration::concession::Allowed;
use crate::configuration::held::Held;
use crate::configuration::host::{Host, HostPosition};
use crate::configuration::location::Sent;
use crate::due::task::AppliesTo;
use crate::due::visit::Visit;
use crate::identity::{CarNumber, ConcessionNumber, LocationName};
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::words::word_list;
use std::collections::BTreeSet;
use std::fmt::Display;

word_list! {
    /// What kind of thing an entry is about.
    SubjectKind, "kind of thing" {
        /// A car, by its number.
        Car = "car",
        /// A unit, by its number.
        Unit = "unit",
        /// A train.
        Train = "train",
        /// A component, as `part serial number`.
        Component = "component",
        /// A part.
        Part = "part",
        /// A car type.
        CarType = "car_type",
        /// A task, by its code.
        Task = "task",
        /// A procedure, by its code.
        Procedure = "procedure",
        /// A rule set, by its name.
        RuleSet = "rule_set",
        /// A concession, by its number.
        Concession = "concession",
        /// A modification, by its number.
        Modification = "modification",
        /// A visit, by its number.
        Visit = "visit",
        /// A location.
        Location = "location",
    }
}

/// A thing that an entry is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct EntrySubject {
    /// What it is.
    pub kind: SubjectKind,
    /// Its name.
    pub name: String,
}

/// The things that entries name.
#[derive(Debug, Default)]
struct Named(BTreeSet<EntrySubject>);

impl Entry {
    /// Whether the fact of an entry names a component.
    pub(crate) fn names(&self, component: &ComponentRef) -> bool {
        self.is_told_of(&EntrySubject::component(component))
    }

    /// Whether it names a car.
    pub(crate) fn names_car(&self, number: &CarNumber) -> bool {
        self.is_told_of(&EntrySubject::car(number))
    }

    fn is_told_of(&self, subject: &EntrySubject) -> bool {
        let mut named = Named::default();
        named.fact(&self.fact);
        named.0.contains(subject)
    }
}

impl EntrySubject {
    /// A car as entries are about it.
    pub fn car(number: &CarNumber) -> Self {
        Self {
            kind: SubjectKind::Car,
            name: number.to_string(),
        }
    }

    /// A component as entries are about it.
    pub fn component(component: &ComponentRef) -> Self {
        Self {
            kind: SubjectKind::Component,
            name: component.to_string(),
        }
    }
}

impl Dossier {
    /// What an entry is about, once it is folded: what its fact names, and the cars on which the
    /// components that it names were put or were taken off by it.
    pub(crate) fn subjects(&self, entry: &Entry) -> BTreeSet<EntrySubject> {
        let mut named = Named::default();
        named.fact(&entry.fact);
        match &entry.fact {
            Fact::HoldLifted { hold, .. } => {
                if let Some(hold) = self.holds.get(hold) {
                    named.held(&hold.held);
                }
            }
            Fact::Approved { proposal } | Fact::Rejected { proposal } => {
                if let Some(record) = self.proposals.get(proposal) {
                    named.fact(&record.proposal.fact());
                }
            }
            fact => {
                for component in moved(fact) {
                    self.cars_by(component, entry.seq, &mut named);
                }
            }
        }
        named.0
    }

    fn cars_by(&self, component: &ComponentRef, by: Seq, named: &mut Named) {
        for fitment in self.fitments_of(component) {
            let ended = fitment.end.as_ref().is_some_and(|end| end.by == by);
            if ended || fitment.fitted_by == by {
                named.put(SubjectKind::Car, &fitment.at.car);
            }
        }
    }
}

/// The components that a fact puts somewhere or takes off.
pub(super) fn moved(fact: &Fact) -> Vec<&ComponentRef> {
    match fact {
        Fact::Fitted(fitting) => vec![&fitting.component],
        Fact::Removed { component, .. } | Fact::Moved { component, .. } => vec![component],
        Fact::Swapped { first, second, .. } => vec![first, second],
        _ => Vec::new(),
    }
}

impl Named {
    fn put(&mut self, kind: SubjectKind, name: impl Display) {
        let name = name.to_string();
        self.0.insert(EntrySubject { kind, name });
    }

    fn fact(&mut self, fact: &Fact) {
        use SubjectKind::{Car, Component, Unit};
        match fact {
            Fact::CarRegistered(car) => self.put(Car, &car.number),
            Fact::UnitFormed(unit) => {
                self.put(Unit, &unit.number);
                unit.cars.iter().for_each(|place| self.put(Car, &place.car));
            }
            Fact::TrainFormed(it) => self.train(it),
            Fact::ReadingTaken(it) => self.put(Car, &it.car),
            Fact::MeterReplaced { car, .. } => self.put(Car, car),
            Fact::SettingMade(it) => self.put(Car, &it.at.car),
            Fact::Isolated(it) => self.put(Car, &it.at.car),
            Fact::IsolationEnded { at, .. } => self.put(Car, &at.car),
            Fact::CheckConfirmed(it) => self.put(Car, &it.at.car),
            Fact::FleetCheckOpened(it) => it.cars.iter().for_each(|car| self.put(Car, car)),
            Fact::FleetCheckAnswered(it) => {
                let cars = it.asked_too.iter().chain([&it.car]);
                cars.for_each(|car| self.put(Car, car));
            }
            Fact::DecisionTaken(it) => {
                self.put(SubjectKind::Train, &it.train);
                self.put(SubjectKind::RuleSet, &it.rule_set);
                it.found
                    .cars
                    .iter()
                    .for_each(|it| self.put(Car, &it.number));
            }
            Fact::VisitPlanned(it) => self.visit(it),
            Fact::VisitCancelled { visit, .. } => self.put(SubjectKind::Visit, visit),
            Fact::HeldAsEvidence { held, .. } => self.held(held),
            Fact::ConditionJudged { component, .. } => self.put(Component, component),
            Fact::PlateChanged(it) => self.put(Component, &it.component),
            Fact::TaskDone { subject, task, .. } => {
                self.subject(subject);
                self.put(SubjectKind::Task, task);
            }
            Fact::TestRecorded(it) => {
                self.subject(&it.subject);
                self.put(SubjectKind::Procedure, &it.procedure);
            }
            Fact::Proposed(proposal) => self.fact(&proposal.fact()),
            Fact::HoldLifted { .. }
            | Fact::Withdrawn
            | Fact::Approved { .. }
            | Fact::Rejected { .. } => {}
            Fact::ComponentReceived(_)
            | Fact::Fitted(_)
            | Fact::Removed { .. }
            | Fact::Moved { .. }
            | Fact::Swapped { .. }
            | Fact::Relocated(_) => self.whereabouts(fact),
            Fact::CarTypeDefined(_)
            | Fact::RevisionEffective(_)
            | Fact::ConcessionGranted(_)
            | Fact::ConcessionProlonged { .. }
            | Fact::ConcessionWithdrawn { .. }
            | Fact::ModificationIssued(_)
            | Fact::Embodied { .. }
            | Fact::LocationDefined(_)
            | Fact::PartDefined(_)
            | Fact::TaskDefined(_)
            | Fact::ProcedureDefined(_)
            | Fact::RuleSetIssued(_) => self.document(fact),
        }
    }

    fn train(&mut self, train: &Train) {
        self.put(SubjectKind::Train, &train.id);
        for vehicle in &train.vehicles {
            match vehicle {
                Vehicle::Unit(unit, _) => self.put(SubjectKind::Unit, unit),
                Vehicle::Car(car, _) => self.put(SubjectKind::Car, car),
            }
        }
    }

    fn visit(&mut self, visit: &Visit) {
        self.put(SubjectKind::Visit, &visit.number);
        self.put(SubjectKind::Unit, &visit.unit);
        for modification in &visit.modifications {
            self.put(SubjectKind::Modification, modification);
        }
    }

    /// Where a component is.
    fn whereabouts(&mut self, fact: &Fact) {
        let component = SubjectKind::Component;
        match fact {
            Fact::ComponentReceived(it) => {
                self.put(component, &it.component);
                self.put(SubjectKind::Part, &it.component.part);
                self.put(SubjectKind::Location, &it.location);
            }
            Fact::Fitted(it) => {
                self.put(component, &it.component);
                self.place(&it.at);
                self.concessions(it.concession.as_ref());
                if let Some(ended) = &it.ended {
                    self.kept(&ended.removal.to, &ended.removal.sent);
                }
            }
            Fact::Removed {
                component: one,
                removal,
                ..
            } => {
                self.put(component, one);
                self.kept(&removal.to, &removal.sent);
            }
            Fact::Moved {
                component: one,
                to,
                concession,
                ..
            } => {
                self.put(component, one);
                self.place(to);
                self.concessions(concession.as_ref());
            }
            Fact::Swapped {
                first,
                second,
                first_concession,
                second_concession,
                ..
            } => {
                self.put(component, first);
                self.put(component, second);
                self.concessions(first_concession.iter().chain(second_concession));
            }
            Fact::Relocated(it) => {
                self.put(component, &it.component);
                self.kept(&it.to, &it.sent);
            }
            _ => {}
        }
    }

    /// Design data, and what is said of them.
    fn document(&mut self, fact: &Fact) {
        use SubjectKind::{CarType, Concession, Modification, Part, Procedure, RuleSet, Task};
        match fact {
            Fact::CarTypeDefined(it) => self.put(CarType, &it.name),
            Fact::RevisionEffective(it) => self.put(CarType, &it.car_type),
            Fact::ConcessionGranted(it) => {
                self.put(Concession, &it.number);
                if let Allowed::Part(part) = &it.allows {
                    self.put(Part, part);
                }
            }
            Fact::ConcessionProlonged { number, .. } | Fact::ConcessionWithdrawn { number } => {
                self.put(Concession, number);
            }
            Fact::ModificationIssued(it) => self.put(Modification, &it.number),
            Fact::Embodied {
                modification,
                subject,
                ..
            } => {
                self.put(Modification, modification);
                self.subject(subject);
            }
            Fact::LocationDefined(it) => self.put(SubjectKind::Location, &it.name),
            Fact::PartDefined(it) => self.put(Part, &it.number),
            Fact::TaskDefined(it) => {
                self.put(Task, &it.code);
                match &it.applies_to {
                    AppliesTo::Part(part) => self.put(Part, part),
                    AppliesTo::CarType(name) => self.put(CarType, name),
                }
            }
            Fact::ProcedureDefined(it) => self.put(Procedure, &it.code),
            Fact::RuleSetIssued(it) => self.put(RuleSet, &it.name),
            _ => {}
        }
    }

    fn concessions<'a>(&mut self, numbers: impl IntoIterator<Item = &'a ConcessionNumber>) {
        for number in numbers {
            self.put(SubjectKind::Concession, number);
        }
    }

    /// Where a component went, and where it is bound for.
    fn kept(&mut self, to: &LocationName, sent: &Sent) {
        self.put(SubjectKind::Location, to);
        if let Some(name) = &sent.bound_for {
            self.put(SubjectKind::Location, name);
        }
    }

    fn place(&mut self, at: &HostPosition) {
        match &at.host {
            Host::Car(car) => self.put(SubjectKind::Car, car),
            Host::Assembly(assembly) => self.put(SubjectKind::Component, assembly),
        }
    }

    fn subject(&mut self, subject: &Subject) {
        match subject {
            Subject::Component(component) => self.put(SubjectKind::Component, component),
            Subject::Car(car) => self.put(SubjectKind::Car, car),
        }
    }

    fn held(&mut self, held: &Held) {
        match held {
            Held::Component(component) => self.put(SubjectKind::Component, component),
            Held::Car(car) => self.put(SubjectKind::Car, car),
            Held::Entry(_) => {}
        }
    }
}
