//! Which things a command touches, so that the store can load them in a fixed number of
//! statements.

use crate::configuration::car::{Car, Train, Unit, Vehicle};
use crate::configuration::component::Subject;
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::effectivity::{CarRange, CarRanges};
use crate::configuration::fleet_check::CheckAnswer;
use crate::configuration::held::Held;
use crate::configuration::host::HostPosition;
use crate::configuration::plate::PlateChange;
use crate::due::visit::Visit;
use crate::identity::{CarNumber, DepotName, TestRecordId, TrainId, UnitNumber, VisitNumber};
use crate::ledger::bearing::Bearing;
use crate::ledger::command::Command;
use crate::ledger::entry::Seq;
use crate::ledger::fact::{Fact, Relocation};
use crate::ledger::proposal::Proposal;
use crate::ledger::subjects::{EntrySubject, SubjectKind};
use crate::time::Instant;
use crate::units::Meter;
use crate::vehicle_number::VehicleNumber;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Display;

/// The things that some commands touch.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Touched {
    /// Cars.
    pub cars: BTreeSet<CarNumber>,
    /// Vehicle numbers, with the cars that bear them.
    pub vehicle_numbers: BTreeSet<VehicleNumber>,
    /// Cars, units and trains of which it matters what was told of them, each from the earliest
    /// moment that matters.
    pub told: BTreeMap<EntrySubject, Instant>,
    /// Units with their cars.
    pub units: BTreeSet<UnitNumber>,
    /// Trains.
    pub trains: BTreeSet<TrainId>,
    /// Components with all their fitments, all that was ever inside them, and all that they were
    /// ever inside.
    pub components: BTreeSet<ComponentRef>,
    /// Components that somebody judges, with the doubts about them; they are among the components.
    pub judged: BTreeSet<ComponentRef>,
    /// Assemblies that something is put into; they are among the components.
    pub assemblies: BTreeSet<ComponentRef>,
    /// Positions of cars with all their fitments.
    pub positions: BTreeSet<PositionRef>,
    /// Cars in which modifications are embodied, with all those that are already.
    pub embodied: BTreeSet<CarNumber>,
    /// Test records.
    pub tests: BTreeSet<TestRecordId>,
    /// Cars with all the test records of them.
    pub tested: BTreeSet<CarNumber>,
    /// Positions with all their isolations.
    pub isolations: BTreeSet<PositionRef>,
    /// Meters, each from the earliest moment that matters.
    pub meters: BTreeMap<(CarNumber, Meter), Instant>,
    /// Entries that are corrected.
    pub corrected: BTreeSet<Seq>,
    /// Proposals that are decided on.
    pub proposals: BTreeSet<Seq>,
    /// Evidence holds that somebody proposes to lift, whose setters may be there to do it.
    pub lifted_by_two: BTreeSet<Seq>,
    /// Trains that are decided about, and when: all that a verdict on them rests on.
    pub decided: BTreeMap<TrainId, Instant>,
    /// Decisions that stand and can become void.
    pub decisions: DecisionsTouched,
    /// Checks of the fleet with those of their cars that answer.
    pub fleet_checks: BTreeMap<Seq, BTreeSet<CarNumber>>,
    /// Depots that visits are at.
    pub depots: BTreeSet<DepotName>,
    /// Visits.
    pub visits: BTreeSet<VisitNumber>,
    /// Units with all visits that are planned for them.
    pub visiting: BTreeSet<UnitNumber>,
    /// Plates, with the components that bear or bore them.
    pub plates: BTreeSet<ComponentRef>,
    /// The earliest moment that any of them speaks of: evidence holds that lasted then matter.
    pub earliest: Option<Instant>,
}

/// Which of the decisions that stand can become void.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DecisionsTouched {
    /// None.
    #[default]
    None,
    /// Those about the cars and trains that are touched.
    OfCars,
    /// Any.
    All,
}

impl DecisionsTouched {
    fn by(fact: &Fact) -> Self {
        match (fact, fact.bearing()) {
            (
                Fact::CarTypeDefined(_)
                | Fact::RevisionEffective(_)
                | Fact::RuleSetIssued(_)
                | Fact::ConcessionGranted(_)
                | Fact::ConcessionProlonged { .. }
                | Fact::ConcessionWithdrawn { .. }
                | Fact::Approved { .. },
                _,
            ) => DecisionsTouched::All,
            (
                Fact::DecisionTaken(_)
                | Fact::SettingMade(_)
                | Fact::Embodied { .. }
                | Fact::ConditionJudged { .. }
                | Fact::TestRecorded(_)
                | Fact::TaskDone { .. },
                _,
            )
            | (_, Bearing::Verdict) => DecisionsTouched::OfCars,
            (_, Bearing::Board | Bearing::Nothing) => DecisionsTouched::None,
        }
    }
}

impl Touched {
    /// What a command touches.
    pub fn by(command: &Command) -> Self {
        let mut touched = Self::default();
        touched.add(command);
        touched
    }

    /// Adds what another command touches. Constant cost, but for formations.
    pub fn add(&mut self, command: &Command) {
        self.corrected.extend(command.corrects);
        self.add_fact(&command.fact, command.effective_at);
    }

    /// Adds what a fact that became true at a time touches.
    pub fn add_fact(&mut self, fact: &Fact, at: Instant) {
        self.earliest = Some(self.earliest.map_or(at, |known| known.min(at)));
        self.decisions = self.decisions.max(DecisionsTouched::by(fact));
        match fact {
            Fact::CarTypeDefined(_)
            | Fact::ConcessionProlonged { .. }
            | Fact::ConcessionWithdrawn { .. }
            | Fact::ModificationIssued(_)
            | Fact::LocationDefined(_)
            | Fact::PartDefined(_)
            | Fact::TaskDefined(_)
            | Fact::ProcedureDefined(_)
            | Fact::RuleSetIssued(_)
            | Fact::HoldLifted { .. }
            | Fact::Withdrawn => {}
            Fact::RevisionEffective(effectivity) => self.ends(&effectivity.cars),
            Fact::ConcessionGranted(concession) => self.ends(&concession.cars),
            Fact::Proposed(proposal) => self.proposed(proposal, at),
            Fact::Approved { proposal } | Fact::Rejected { proposal } => {
                self.proposals.insert(*proposal);
            }
            Fact::CarRegistered(car) => self.registered(car, at),
            Fact::UnitFormed(unit) => self.formed(unit, at),
            Fact::TrainFormed(train) => self.train(train, at),
            Fact::ComponentReceived(receipt) => self.plate(&receipt.component),
            Fact::Relocated(Relocation { component, .. }) | Fact::Removed { component, .. } => {
                self.component(component);
            }
            Fact::ConditionJudged { component, .. } => {
                self.component(component);
                self.judged.insert(component.clone());
            }
            Fact::PlateChanged(change) => self.plates(change),
            Fact::Fitted(fitting) => self.put_at(&fitting.component, &fitting.at),
            Fact::Moved { component, to, .. } => self.put_at(component, to),
            Fact::Swapped { first, second, .. } => {
                self.component(first);
                self.component(second);
            }
            Fact::SettingMade(made) => self.place(&made.at.clone().into()),
            Fact::ReadingTaken(reading) => self.meter(&reading.car, reading.meter, at),
            Fact::MeterReplaced { car, meter, .. } => self.meter(car, *meter, at),
            Fact::TaskDone { subject, .. } => self.subject(subject),
            Fact::Embodied { subject, .. } => self.embodied(subject),
            Fact::TestRecorded(record) => {
                self.tests.insert(record.id.clone());
                self.subject(&record.subject);
            }
            Fact::Isolated(cut_out) => self.isolation(&cut_out.at),
            Fact::IsolationEnded { at, proved_by } => {
                self.isolation(at);
                self.tests.insert(proved_by.clone());
                self.tested.insert(at.car.clone());
            }
            Fact::CheckConfirmed(confirmation) => self.isolation(&confirmation.at),
            Fact::HeldAsEvidence { held, .. } => self.held(held),
            Fact::FleetCheckOpened(check) => self.cars.extend(check.cars.iter().cloned()),
            Fact::FleetCheckAnswered(answer) => self.answer(answer),
            Fact::VisitPlanned(visit) => self.visit(visit),
            Fact::VisitCancelled { visit, .. } => drop(self.visits.insert(visit.clone())),
            Fact::DecisionTaken(taken) => {
                self.trains.insert(taken.train.clone());
                self.decided.insert(taken.train.clone(), at);
            }
        }
    }

    fn proposed(&mut self, proposal: &Proposal, at: Instant) {
        if let Proposal::Lifting { hold, .. } = proposal {
            self.lifted_by_two.insert(*hold);
        }
        self.add_fact(&proposal.fact(), at);
    }

    fn ends(&mut self, cars: &CarRanges) {
        for (first, last) in cars.ranges().iter().map(CarRange::ends) {
            self.car(first);
            self.car(last);
        }
    }

    /// What was told of something matters from a moment on.
    fn told(&mut self, kind: SubjectKind, name: impl Display, at: Instant) {
        let name = name.to_string();
        let from = self.told.entry(EntrySubject { kind, name }).or_insert(at);
        *from = (*from).min(at);
    }

    fn registered(&mut self, car: &Car, at: Instant) {
        self.car(&car.number);
        self.vehicle_numbers.extend(car.vehicle_number);
        self.told(SubjectKind::Car, &car.number, at);
    }

    fn train(&mut self, train: &Train, at: Instant) {
        self.trains.insert(train.id.clone());
        self.told(SubjectKind::Train, &train.id, at);
        for vehicle in &train.vehicles {
            self.vehicle(vehicle);
            if let Vehicle::Unit(unit, _) = vehicle {
                self.told(SubjectKind::Unit, unit, at);
            }
        }
    }

    fn formed(&mut self, unit: &Unit, at: Instant) {
        self.told(SubjectKind::Unit, &unit.number, at);
        self.units.insert(unit.number.clone());
        let cars = unit.cars.iter().map(|place| place.car.clone());
        self.cars.extend(cars);
    }

    fn visit(&mut self, visit: &Visit) {
        self.units.insert(visit.unit.clone());
        self.visits.insert(visit.number.clone());
        self.visiting.insert(visit.unit.clone());
        self.depots.insert(visit.depot.clone());
    }

    fn answer(&mut self, answer: &CheckAnswer) {
        let cars = self.fleet_checks.entry(answer.check).or_default();
        cars.insert(answer.car.clone());
    }

    fn car(&mut self, car: &CarNumber) {
        self.cars.insert(car.clone());
    }

    fn held(&mut self, held: &Held) {
        match held {
            Held::Component(component) => self.component(component),
            Held::Car(car) => self.car(car),
            Held::Entry(_) => {}
        }
    }

    fn vehicle(&mut self, vehicle: &Vehicle) {
        match vehicle {
            Vehicle::Unit(unit, _) => {
                self.units.insert(unit.clone());
            }
            Vehicle::Car(car, _) => self.car(car),
        }
    }

    fn component(&mut self, component: &ComponentRef) {
        self.components.insert(component.clone());
    }

    fn plates(&mut self, change: &PlateChange) {
        self.component(&change.component);
        self.plate(&ComponentRef {
            part: change.component.part.clone(),
            serial: change.plate.clone(),
        });
    }

    fn plate(&mut self, plate: &ComponentRef) {
        self.component(plate);
        self.plates.insert(plate.clone());
    }

    fn put_at(&mut self, component: &ComponentRef, at: &HostPosition) {
        self.component(component);
        self.place(at);
    }

    fn place(&mut self, at: &HostPosition) {
        if let Some(assembly) = at.assembly() {
            self.component(assembly);
            self.assemblies.insert(assembly.clone());
        }
        if let Some(at) = at.on_car() {
            self.car(&at.car);
            self.positions.insert(at);
        }
    }

    fn isolation(&mut self, at: &PositionRef) {
        self.car(&at.car);
        self.isolations.insert(at.clone());
    }

    fn meter(&mut self, car: &CarNumber, meter: Meter, at: Instant) {
        self.car(car);
        let from = self.meters.entry((car.clone(), meter)).or_insert(at);
        *from = (*from).min(at);
    }

    fn embodied(&mut self, subject: &Subject) {
        self.subject(subject);
        if let Subject::Car(car) = subject {
            self.embodied.insert(car.clone());
        }
    }

    fn subject(&mut self, subject: &Subject) {
        match subject {
            Subject::Component(component) => self.component(component),
            Subject::Car(car) => self.car(car),
        }
    }
}
