//! Design data in force: parts, car types, tasks, procedures and rule sets.

use crate::circuit::compiled::CompiledCircuit;
use crate::configuration::car_type::CarType;
use crate::configuration::concession::ConcessionRecord;
use crate::configuration::effectivity::Effectivity;
use crate::configuration::location::{Location, LocationKind};
use crate::configuration::modification::Modification;
use crate::configuration::part::{InnerPosition, Part};
use crate::due::obligation::Obligation;
use crate::due::task::{AppliesTo, Task};
use crate::identity::{
    CarTypeName, ConcessionNumber, LocationName, ModificationNumber, PartNumber, PositionCode,
    ProcedureCode, Revision, RuleSetName, TaskCode, fold,
};
use crate::ledger::entry::Seq;
use crate::rule_set::RuleSet;
use crate::test_record::procedure::Procedure;
use crate::time::Instant;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// A document in force with the entry that brought it.
#[derive(Debug, Clone, PartialEq)]
pub struct InForce<T> {
    /// The entry.
    pub by: Seq,
    /// The document.
    pub document: T,
}

/// A modification with the entry that issued it.
#[derive(Debug, Clone, PartialEq)]
pub struct Issued {
    /// The entry.
    pub by: Seq,
    /// When it was issued.
    pub at: Instant,
    /// The modification.
    pub document: Modification,
}

/// How far a part reaches inside itself.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Depth {
    /// How many assemblies are inside one another, itself counted; none for what is no assembly.
    pub(crate) levels: usize,
    /// The most characters that the codes of all levels have together.
    pub(crate) reach: usize,
}

/// All design data: small, wanted by nearly every command, and shared between them.
#[derive(Debug, Clone, Default)]
pub struct Documents {
    /// Car types by name and revision.
    pub car_types: BTreeMap<(CarTypeName, Revision), InForce<Arc<CarType>>>,
    /// The same, numbered for the evaluation of trains.
    pub(super) circuits: BTreeMap<(CarTypeName, Revision), Arc<CompiledCircuit>>,
    /// From when which revision of a car type holds for which cars, by car type.
    pub(super) effectivities: HashMap<CarTypeName, Vec<(Seq, Effectivity)>>,
    /// Concessions, in force or not.
    pub concessions: BTreeMap<ConcessionNumber, ConcessionRecord>,
    /// Modifications.
    pub modifications: BTreeMap<ModificationNumber, Issued>,
    /// The numbers of those that were withdrawn, each with the first entry that did.
    withdrawn_modifications: BTreeMap<ModificationNumber, Seq>,
    /// Parts.
    pub parts: BTreeMap<PartNumber, InForce<Arc<Part>>>,
    /// From when each location is of which kind, in the order of time.
    locations: BTreeMap<LocationName, Vec<(Instant, Seq, LocationKind)>>,
    /// How far each part reaches inside itself.
    depths: HashMap<PartNumber, Depth>,
    /// Tasks in their revision in force.
    pub tasks: BTreeMap<TaskCode, InForce<Arc<Task>>>,
    /// Procedures by code and revision.
    pub procedures: BTreeMap<(ProcedureCode, Revision), InForce<Arc<Procedure>>>,
    /// Rule sets by name and revision.
    pub rule_sets: BTreeMap<(RuleSetName, Revision), InForce<Arc<RuleSet>>>,
    /// Every revision that a task ever had.
    task_revisions: HashMap<(TaskCode, Revision), Seq>,
    /// The same by code, each with the time from which it was in force, in that order.
    tasks_since: HashMap<TaskCode, Vec<(Instant, Arc<Task>)>>,
    /// After what work tasks were due at once by revisions that are not in force any more, each with
    /// the moment from which another revision was.
    former_obligations: HashMap<TaskCode, Vec<(Obligation, Instant)>>,
    /// Tasks by what they apply to.
    by_subject: HashMap<AppliesTo, Vec<Arc<Task>>>,
}

impl Documents {
    /// Enters a part in the catalogue.
    pub fn put_part(&mut self, by: Seq, part: Arc<Part>) {
        let number = part.number.clone();
        self.depths
            .insert(number.clone(), self.depth(&part.positions));
        self.parts.insert(number, InForce { by, document: part });
    }

    /// Whether a car type has a position in any revision; else what would be allowed.
    pub fn has_position(&self, name: &CarTypeName, code: &PositionCode) -> Result<(), String> {
        let mut revisions = self
            .car_types
            .iter()
            .filter(|((known, _), _)| known == name);
        let has = revisions.any(|(_, known)| known.document.position(code).is_some());
        has.then_some(())
            .ok_or_else(|| format!("a position that car type {name} has"))
    }

    /// Says of which kind a location is from a time on.
    pub fn put_location(&mut self, by: Seq, since: Instant, location: Location) {
        let kinds = self.locations.entry(location.name).or_default();
        let place = kinds.partition_point(|(other, _, _)| *other <= since);
        kinds.insert(place, (since, by, location.kind));
    }

    /// Of which kind a location was at a moment, and by which entry; none where that was not said.
    pub fn location_kind(&self, name: &LocationName, at: Instant) -> Option<(LocationKind, Seq)> {
        let kinds = self.locations.get(name)?;
        let until = kinds.partition_point(|(since, _, _)| *since <= at);
        let (_, by, kind) = kinds.get(until.checked_sub(1)?)?;
        Some((*kind, *by))
    }

    /// Whether a location was said to be one, at whatever time.
    pub fn knows_location(&self, name: &LocationName) -> bool {
        self.locations.contains_key(name)
    }

    /// Another location whose name is told from this one by case, blanks or hyphens alone. Linear in
    /// the locations, which are few.
    pub fn location_like(&self, name: &LocationName) -> Option<&LocationName> {
        let folded = fold(name.as_str());
        let mut names = self.locations.keys();
        names.find(|other| *other != name && fold(other.as_str()) == folded)
    }

    /// Whether no location was ever said to be one.
    pub fn names_no_location(&self) -> bool {
        self.locations.is_empty()
    }

    /// All locations that were named with a kind until a moment, by name.
    pub fn locations(&self, at: Instant) -> impl Iterator<Item = (&LocationName, LocationKind)> {
        let names = self.locations.keys();
        names.filter_map(move |name| Some((name, self.location_kind(name, at)?.0)))
    }

    /// Adds a modification that was issued at a time.
    pub fn put_modification(&mut self, by: Seq, at: Instant, document: Modification) {
        let number = document.number.clone();
        self.modifications
            .insert(number, Issued { by, at, document });
    }

    /// Takes back that a modification was issued.
    pub fn withdraw_modification(&mut self, by: Seq, number: &ModificationNumber) {
        self.modifications.remove(number);
        let withdrawn = self.withdrawn_modifications.entry(number.clone());
        withdrawn.or_insert(by);
    }

    /// Whether a modification of that number had been withdrawn before an entry.
    pub fn was_withdrawn_before(&self, number: &ModificationNumber, entry: Seq) -> bool {
        let withdrawn = self.withdrawn_modifications.get(number);
        withdrawn.is_some_and(|by| *by < entry)
    }

    /// The modifications that had been issued by a moment, by number.
    pub fn modifications_issued(&self, by: Instant) -> impl Iterator<Item = &Issued> {
        let all = self.modifications.values();
        all.filter(move |issued| issued.at <= by)
    }

    /// How far a part of these positions reaches inside itself.
    pub(crate) fn depth(&self, positions: &[InnerPosition]) -> Depth {
        let mut depth = Depth::default();
        for position in positions {
            let inner = position
                .approved
                .iter()
                .filter_map(|part| self.depths.get(part));
            let (levels, reach) = inner.fold((0, 0), |(levels, reach), inner| {
                (inner.levels.max(levels), inner.reach.max(reach))
            });
            let own = position.code.as_str().chars().count();
            depth.levels = depth.levels.max(1 + levels);
            depth.reach = depth.reach.max(own + reach);
        }
        depth
    }

    /// Puts a car type in force with its circuit.
    pub fn put_car_type(&mut self, by: Seq, car_type: Arc<CarType>) {
        let key = (car_type.name.clone(), car_type.revision.clone());
        // A circuit with a fault was never recorded; without one there is no answer.
        if let Ok(circuit) = CompiledCircuit::new(&car_type) {
            self.circuits.insert(key.clone(), Arc::new(circuit));
        }
        let document = car_type;
        self.car_types.insert(key, InForce { by, document });
    }

    /// The newest revision of each procedure, by code.
    pub fn newest_procedures(&self) -> Vec<Arc<Procedure>> {
        let mut newest: BTreeMap<&ProcedureCode, &InForce<Arc<Procedure>>> = BTreeMap::new();
        for known in self.procedures.values() {
            let before = newest.get(&known.document.code);
            if before.is_none_or(|before| before.by < known.by) {
                newest.insert(&known.document.code, known);
            }
        }
        let newest = newest.into_values();
        newest.map(|known| Arc::clone(&known.document)).collect()
    }

    /// Puts a task in force from a time on; an earlier revision of it no longer is.
    pub fn put_task(&mut self, by: Seq, since: Instant, task: Arc<Task>) {
        if let Some(old) = self.tasks.get(&task.code) {
            let former = self.former_obligations.entry(task.code.clone());
            let replaced = old.document.obligations.iter();
            former
                .or_default()
                .extend(replaced.map(|one| (*one, since)));
            if let Some(list) = self.by_subject.get_mut(&old.document.applies_to) {
                list.retain(|other| other.code != task.code);
            }
        }
        let revision = (task.code.clone(), task.revision.clone());
        self.task_revisions.insert(revision, by);
        let revisions = self.tasks_since.entry(task.code.clone()).or_default();
        let place = revisions.partition_point(|(other, _)| *other <= since);
        revisions.insert(place, (since, Arc::clone(&task)));
        self.by_subject
            .entry(task.applies_to.clone())
            .or_default()
            .push(Arc::clone(&task));
        self.tasks
            .insert(task.code.clone(), InForce { by, document: task });
    }

    /// The entry that brought a revision of a task, in force or not.
    pub fn task_revision(&self, code: &TaskCode, revision: &Revision) -> Option<Seq> {
        let key = (code.clone(), revision.clone());
        self.task_revisions.get(&key).copied()
    }

    /// A task in the revision that was in force at a moment; before all of them, in the first.
    pub fn task_at(&self, code: &TaskCode, at: Instant) -> Option<&Arc<Task>> {
        let revisions = self.tasks_since.get(code)?;
        let until = revisions.partition_point(|(since, _)| *since <= at);
        let (_, task) = revisions.get(until.saturating_sub(1))?;
        Some(task)
    }

    /// After what work a task is due at once: by its revision in force, and by former ones for what
    /// was touched until the moment given. What became due under these stays due until it is done:
    /// a brake that was touched is proved by no change of a document.
    pub fn obligations_of<'d>(
        &'d self,
        task: &'d Task,
    ) -> impl Iterator<Item = (&'d Obligation, Option<Instant>)> {
        let former = self.former_obligations.get(&task.code);
        let former = former.into_iter().flatten();
        let former = former.map(|(one, until)| (one, Some(*until)));
        let in_force = task.obligations.iter();
        in_force.map(|one| (one, None)).chain(former)
    }

    /// The same with the tasks that were in force at a moment. Linear in the revisions of tasks.
    #[must_use]
    pub fn with_tasks_at(&self, at: Instant) -> Self {
        let mut then = Self {
            tasks: BTreeMap::new(),
            task_revisions: HashMap::new(),
            tasks_since: HashMap::new(),
            former_obligations: HashMap::new(),
            by_subject: HashMap::new(),
            ..self.clone()
        };
        let revisions = self
            .tasks
            .keys()
            .filter_map(|code| self.tasks_since.get(code));
        for (since, task) in revisions.flatten().filter(|(since, _)| *since <= at) {
            if let Some(by) = self.task_revision(&task.code, &task.revision) {
                then.put_task(by, *since, Arc::clone(task));
            }
        }
        then
    }

    /// The task that a test by a revision of a procedure belongs to, if it belongs to one.
    pub fn task_of_test(&self, code: &ProcedureCode, revision: &Revision) -> Option<&TaskCode> {
        let key = (code.clone(), revision.clone());
        self.procedures.get(&key)?.document.task.as_ref()
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
}
