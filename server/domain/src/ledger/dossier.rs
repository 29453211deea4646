//! The part of the register's state that some commands touch, as loaded for them. Commands are
//! decided against it and folded into it; what was changed is noted so that it can be kept.
//! Looking things up is constant time.

use crate::circuit::compiled::CompiledCircuit;
use crate::configuration::car::{Car, Orientation, Train, Unit};
use crate::configuration::car_type::CarType;
use crate::configuration::component::Subject;
use crate::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
use crate::configuration::part::Part;
use crate::due::task::{AppliesTo, Task};
use crate::identity::{
    CarNumber, CarTypeName, LocationName, PartNumber, ProcedureCode, Revision, RuleSetName,
    TaskCode, TestRecordId, TrainId, UnitNumber,
};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{Brought, CutOut};
use crate::rule_set::RuleSet;
use crate::test_record::procedure::Procedure;
use crate::test_record::record::TestRecord;
use crate::test_record::verdict::TestOutcome;
use crate::time::{Day, Instant, Zone};
use crate::units::{Amount, ByMeter, Meter};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

/// What a car has run by each meter at a moment, continuous over replacements; `None` where it
/// is unknown.
pub type MeterValues = ByMeter<Option<Amount>>;

/// A document in force with the entry that brought it.
#[derive(Debug, Clone, PartialEq)]
pub struct InForce<T> {
    /// The entry.
    pub by: Seq,
    /// The document.
    pub document: T,
}

/// All design data: small, wanted by nearly every command, and shared between them.
#[derive(Debug, Clone, Default)]
pub struct Documents {
    /// Car types by name and revision.
    pub car_types: BTreeMap<(CarTypeName, Revision), InForce<Arc<CarType>>>,
    /// The same, numbered for the evaluation of trains.
    circuits: BTreeMap<(CarTypeName, Revision), Arc<CompiledCircuit>>,
    /// Parts.
    pub parts: BTreeMap<PartNumber, InForce<Arc<Part>>>,
    /// Tasks in their revision in force.
    pub tasks: BTreeMap<TaskCode, InForce<Arc<Task>>>,
    /// Procedures by code and revision.
    pub procedures: BTreeMap<(ProcedureCode, Revision), InForce<Arc<Procedure>>>,
    /// Rule sets by name and revision.
    pub rule_sets: BTreeMap<(RuleSetName, Revision), InForce<Arc<RuleSet>>>,
    /// Tasks by what they apply to.
    by_subject: HashMap<AppliesTo, Vec<Arc<Task>>>,
}

impl Documents {
    /// Puts a car type in force with its circuit.
    pub fn put_car_type(&mut self, by: Seq, car_type: Arc<CarType>) {
        let key = (car_type.name.clone(), car_type.revision.clone());
        // A circuit with a fault was never recorded; without one there is no answer.
        if let Ok(circuit) = CompiledCircuit::new(&car_type) {
            self.circuits.insert(key.clone(), Arc::new(circuit));
        }
        self.car_types.insert(
            key,
            InForce {
                by,
                document: car_type,
            },
        );
    }

    /// The circuit in force for a car.
    pub fn circuit(&self, car: &Car) -> Option<&Arc<CompiledCircuit>> {
        self.circuits
            .get(&(car.car_type.clone(), car.revision.clone()))
    }

    /// Puts a task in force; an earlier revision of it no longer is.
    pub fn put_task(&mut self, by: Seq, task: Arc<Task>) {
        if let Some(old) = self.tasks.get(&task.code)
            && let Some(list) = self.by_subject.get_mut(&old.document.applies_to)
        {
            list.retain(|other| other.code != task.code);
        }
        self.by_subject
            .entry(task.applies_to.clone())
            .or_default()
            .push(Arc::clone(&task));
        self.tasks
            .insert(task.code.clone(), InForce { by, document: task });
    }

    /// The tasks that every component of a part has.
    pub fn tasks_of_part(&self, part: &PartNumber) -> &[Arc<Task>] {
        self.by_subject
            .get(&AppliesTo::Part(part.clone()))
            .map_or(&[], Vec::as_slice)
    }

    /// The tasks that every car of a type has.
    pub fn tasks_of_car_type(&self, name: &CarTypeName) -> &[Arc<Task>] {
        self.by_subject
            .get(&AppliesTo::CarType(name.clone()))
            .map_or(&[], Vec::as_slice)
    }

    /// The baseline in force for a car.
    pub fn car_type(&self, car: &Car) -> Option<&Arc<CarType>> {
        let key = (car.car_type.clone(), car.revision.clone());
        self.car_types.get(&key).map(|found| &found.document)
    }
}

/// A car as the register has it.
#[derive(Debug, Clone, PartialEq)]
pub struct CarRecord {
    /// The entry that brought it in.
    pub id: Seq,
    /// What was registered last.
    pub car: Car,
    /// Its place in a unit.
    pub unit: Option<Membership>,
}

/// A car's place in a unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Membership {
    /// The unit.
    pub unit: UnitNumber,
    /// Its place from the unit's first car, from 1.
    pub place: u16,
    /// Which way it stands.
    pub orientation: Orientation,
}

/// A unit or train with the entries that made it.
#[derive(Debug, Clone, PartialEq)]
pub struct Formed<T> {
    /// The entry that first formed it.
    pub id: Seq,
    /// The entry that formed it as it is.
    pub by: Seq,
    /// When that was.
    pub formed_at: Instant,
    /// As it is.
    pub formation: T,
}

/// A component as the register has it.
#[derive(Debug, Clone, PartialEq)]
pub struct ComponentRecord {
    /// The entry that brought it in.
    pub id: Seq,
    /// Its identity.
    pub component: ComponentRef,
    /// When it came in.
    pub received_at: Instant,
    /// Its condition.
    pub condition: Condition,
    /// Where it is while not fitted.
    pub location: Option<LocationName>,
    /// Since when it is where it is.
    pub since: Instant,
    /// The entry that says so.
    pub since_by: Seq,
    /// The day it was made.
    pub manufactured_on: Option<Day>,
    /// The day of the overhaul before it came in.
    pub overhauled_on: Option<Day>,
    /// What it had run before it came in.
    pub brought: Brought,
    /// What it had run since its overhaul when it came in.
    pub since_overhaul: Brought,
    /// The certificate it came with.
    pub certificate: Option<String>,
}

/// The identity of a fitment: two a ledger entry at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FitmentId(pub i64);

impl FitmentId {
    /// The first or second fitment that an entry begins.
    pub fn of(entry: Seq, which: Which) -> Self {
        Self(entry.0 * 2 + i64::from(which == Which::Second))
    }
}

/// The first or second of two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The first.
    First,
    /// The second, of a swap.
    Second,
}

/// A component at a position over a period, closed at the start and open at the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitment {
    /// Its identity.
    pub id: FitmentId,
    /// The component.
    pub component: ComponentRef,
    /// The position.
    pub at: PositionRef,
    /// From when.
    pub from: Instant,
    /// The entry that began it.
    pub fitted_by: Seq,
    /// Where the component came from, unless from another position.
    pub from_location: Option<LocationName>,
    /// How it ended.
    pub end: Option<FitmentEnd>,
    /// What the car's meters showed at its beginning.
    pub meters_from: MeterValues,
    /// What the car's meters showed at its end.
    pub meters_until: MeterValues,
}

/// The end of a fitment.
#[derive(Debug, Clone, PartialEq)]
pub struct FitmentEnd {
    /// When.
    pub at: Instant,
    /// The entry that ended it.
    pub by: Seq,
    /// Why.
    pub reason: RemovalReason,
    /// Where the component went, unless to another position.
    pub to: Option<LocationName>,
}

impl Fitment {
    /// Whether the two share a moment. An open end lasts for ever.
    pub fn overlaps(&self, from: Instant, until: Option<Instant>) -> bool {
        let starts_before_other_ends = until.is_none_or(|until| self.from < until);
        let ends_after_other_starts = self.end.as_ref().is_none_or(|end| from < end.at);
        starts_before_other_ends && ends_after_other_starts
    }
}

/// A task as it was done.
#[derive(Debug, Clone, PartialEq)]
pub struct DoneRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// On what.
    pub subject: Subject,
    /// Which task; a task done with another has a record of its own.
    pub task: TaskCode,
    /// When.
    pub at: Instant,
    /// The car it was fitted to then, or the car itself.
    pub car: Option<CarNumber>,
    /// What that car's meters showed.
    pub meters: MeterValues,
}

/// A test as it was recorded, with what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct TestedRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// The values.
    pub record: TestRecord,
    /// What they come to by the limits of the procedure's revision.
    pub outcome: TestOutcome,
}

/// A cut-out in force or ended.
#[derive(Debug, Clone, PartialEq)]
pub struct IsolationRecord {
    /// The entry that recorded it.
    pub id: Seq,
    /// What is isolated.
    pub cut_out: CutOut,
    /// Since when.
    pub since: Instant,
    /// When it ended, by which entry.
    pub ended: Option<(Instant, Seq)>,
}

/// One meter reading as kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// When it was taken.
    pub at: Instant,
    /// What the meter showed.
    pub value: Amount,
}

/// One replacement of a meter as kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReplacementRecord {
    /// The entry that recorded it.
    pub by: Seq,
    /// When.
    pub at: Instant,
    /// What the old one showed last.
    pub last_value: Amount,
    /// What the new one showed first.
    pub first_value: Amount,
}

/// The readings and replacements of one meter, each by its time.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MeterRecord {
    /// Readings.
    pub readings: BTreeMap<Instant, ReadingRecord>,
    /// Replacements.
    pub replacements: BTreeMap<Instant, ReplacementRecord>,
}

/// The state that some commands touch.
#[derive(Debug, Default)]
pub struct Dossier {
    /// The depot's time zone.
    pub zone: Zone,
    /// Design data.
    pub documents: Arc<Documents>,
    /// Cars.
    pub cars: HashMap<CarNumber, CarRecord>,
    /// Units.
    pub units: HashMap<UnitNumber, Formed<Unit>>,
    /// Trains.
    pub trains: HashMap<TrainId, Formed<Train>>,
    /// Components.
    pub components: HashMap<ComponentRef, ComponentRecord>,
    /// Meters.
    pub meters: HashMap<(CarNumber, Meter), MeterRecord>,
    /// Tasks done, of entries that are to be corrected.
    pub done: HashMap<Seq, Vec<DoneRecord>>,
    /// Test records.
    pub tests: HashMap<TestRecordId, TestedRecord>,
    /// The isolations of each position.
    pub isolations: HashMap<PositionRef, Vec<IsolationRecord>>,
    /// Entries that are to be corrected, with the entry that already corrects them.
    pub corrected: HashMap<Seq, (Entry, Option<Seq>)>,
    fitments: HashMap<FitmentId, Fitment>,
    fitments_of: HashMap<ComponentRef, BTreeSet<FitmentId>>,
    fitments_at: HashMap<PositionRef, BTreeSet<FitmentId>>,
    /// What was changed since the dossier was loaded.
    pub changes: Changes,
}

/// Which things a fold has changed.
#[derive(Debug, Default)]
pub struct Changes {
    /// Entries that brought a document.
    pub documents: Vec<Seq>,
    /// Cars.
    pub cars: BTreeSet<CarNumber>,
    /// Units.
    pub units: BTreeSet<UnitNumber>,
    /// Trains.
    pub trains: BTreeSet<TrainId>,
    /// Components.
    pub components: HashSet<ComponentRef>,
    /// Fitments that are new or changed, or are no more.
    pub fitments: BTreeSet<FitmentId>,
    /// Readings that are new, or are no more.
    pub readings: BTreeSet<(CarNumber, Meter, Instant)>,
    /// Replacements that are new, or are no more.
    pub replacements: BTreeSet<(CarNumber, Meter, Instant)>,
    /// Entries whose records of work done are new, or are no more.
    pub done: BTreeSet<Seq>,
    /// Test records that are new.
    pub tests: BTreeSet<TestRecordId>,
    /// Positions whose isolations are changed.
    pub isolations: BTreeSet<PositionRef>,
    /// Cars whose meters, and what was marked by them, must be worked out anew.
    pub stale_cars: BTreeSet<CarNumber>,
    /// Things with a task that is new or revised: all of their due dates must be worked out
    /// anew.
    pub stale_subjects: Vec<AppliesTo>,
    /// Components whose due dates must be worked out anew.
    pub stale_components: HashSet<ComponentRef>,
}

impl Dossier {
    /// A dossier with the design data and nothing else.
    pub fn new(documents: Arc<Documents>, zone: Zone) -> Self {
        Self {
            zone,
            documents,
            ..Self::default()
        }
    }

    /// A fitment, if it is in the dossier.
    pub fn fitment(&self, id: FitmentId) -> Option<&Fitment> {
        self.fitments.get(&id)
    }

    /// The fitments of a component.
    pub fn fitments_of(&self, component: &ComponentRef) -> impl Iterator<Item = &Fitment> {
        let ids = self.fitments_of.get(component).into_iter().flatten();
        ids.filter_map(|id| self.fitments.get(id))
    }

    /// The fitments at a position.
    pub fn fitments_at(&self, position: &PositionRef) -> impl Iterator<Item = &Fitment> {
        let ids = self.fitments_at.get(position).into_iter().flatten();
        ids.filter_map(|id| self.fitments.get(id))
    }

    /// The fitment that a component is in now.
    pub fn open_fitment(&self, component: &ComponentRef) -> Option<&Fitment> {
        self.fitments_of(component)
            .find(|fitment| fitment.end.is_none())
    }

    /// Puts a loaded fitment into the dossier, which is no change.
    pub fn load_fitment(&mut self, fitment: Fitment) {
        self.fitments_of
            .entry(fitment.component.clone())
            .or_default()
            .insert(fitment.id);
        self.fitments_at
            .entry(fitment.at.clone())
            .or_default()
            .insert(fitment.id);
        self.fitments.insert(fitment.id, fitment);
    }

    /// Begins or changes a fitment.
    pub(crate) fn put_fitment(&mut self, fitment: Fitment) {
        self.changes.fitments.insert(fitment.id);
        self.changes.stale_cars.insert(fitment.at.car.clone());
        self.changes
            .stale_components
            .insert(fitment.component.clone());
        self.load_fitment(fitment);
    }

    /// Takes a fitment back as if it had never been.
    pub(crate) fn drop_fitment(&mut self, id: FitmentId) -> Option<Fitment> {
        let fitment = self.fitments.remove(&id)?;
        if let Some(ids) = self.fitments_of.get_mut(&fitment.component) {
            ids.remove(&id);
        }
        if let Some(ids) = self.fitments_at.get_mut(&fitment.at) {
            ids.remove(&id);
        }
        self.changes.fitments.insert(id);
        self.changes.stale_cars.insert(fitment.at.car.clone());
        self.changes
            .stale_components
            .insert(fitment.component.clone());
        Some(fitment)
    }
}
