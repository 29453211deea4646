//! Decisions that people took about trains, and which of them a change has made void. That is
//! computed as entries are folded; nobody sets it.

use super::Dossier;
use super::fitted_work::FittedWork;
use crate::configuration::component::Subject;
use crate::decision::TrainCar;
use crate::decision::taken::DecisionTaken;
use crate::identity::{CarNumber, PersonName, TrainId};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::test_record::verdict::TestOutcome;
use crate::time::{Day, Instant};
use crate::words::word_list;
use crate::worked::Missing;
use std::collections::BTreeSet;

/// A decision as it was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecisionRecord {
    /// The entry that recorded it.
    pub id: Seq,
    /// When it was taken.
    pub at: Instant,
    /// Who recorded it.
    pub recorded_by: PersonName,
    /// What was decided.
    pub taken: DecisionTaken,
    /// What made it void; none while it stands.
    pub void: Option<Void>,
    /// The last entry recorded since, a correction or one told late, with which it would have found
    /// something else; not one that changes only what is told beside a verdict that another has moved.
    pub told_late: Option<Seq>,
}

/// The first change after a decision that can move its verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Void {
    /// The entry that recorded the change.
    pub by: Seq,
    /// What it changed.
    pub because: VoidBecause,
}

word_list! {
    /// What makes a decision void.
    VoidBecause, "reason of voidness" {
        /// A train or unit was formed anew.
        Formation = "formation_changed",
        /// A cut-out was made or ended.
        CutOuts = "cut_outs_changed",
        /// A component was fitted or removed.
        Components = "components_changed",
        /// A car was registered anew.
        Cars = "car_changed",
        /// A car type or rule set was issued.
        Design = "rules_or_design_changed",
        /// A concession for one of its cars was granted, prolonged or withdrawn.
        Concession = "concession_changed",
        /// A setting, a modification state or a condition on one of its cars was told: what departs
        /// from its baseline may be otherwise.
        Departures = "departures_changed",
        /// A test of one of its cars or of what is fitted to them was recorded: which were failed may be
        /// otherwise.
        Tests = "tests_changed",
        /// A task of one of its cars, or of what is fitted to them, was done that was due at once.
        WorkDone = "work_done",
        /// An earlier entry was taken back.
        Correction = "entry_corrected",
        /// The same train was decided about again.
        DecidedAnew = "decided_anew",
    }
}

impl VoidBecause {
    fn of(entry: &Entry) -> Self {
        match &entry.fact {
            _ if entry.corrects.is_some() => Self::Correction,
            Fact::TrainFormed(_) | Fact::UnitFormed(_) => Self::Formation,
            Fact::Isolated(_) | Fact::IsolationEnded { .. } => Self::CutOuts,
            Fact::CarRegistered(_) => Self::Cars,
            Fact::CarTypeDefined(_) | Fact::RevisionEffective(_) | Fact::RuleSetIssued(_) => {
                Self::Design
            }
            Fact::ConcessionGranted(_)
            | Fact::ConcessionProlonged { .. }
            | Fact::ConcessionWithdrawn { .. } => Self::Concession,
            Fact::SettingMade(_) | Fact::Embodied { .. } | Fact::ConditionJudged { .. } => {
                Self::Departures
            }
            Fact::TestRecorded(_) => Self::Tests,
            Fact::TaskDone { .. } => Self::WorkDone,
            Fact::DecisionTaken(_) => Self::DecidedAnew,
            _ => Self::Components,
        }
    }
}

/// A train as it stands when a decision about it is recorded.
#[derive(Debug)]
pub struct TrainAsItStands {
    /// Its cars, or why nothing can be said of them.
    pub cars: Result<Vec<TrainCar>, Missing>,
    /// Since when it stands so: it was formed, and every cut-out in force was made, by then.
    pub since: Instant,
    /// The trains formed later that cars of it are in, by name: these cars run there now.
    pub formed_later: Vec<TrainId>,
}

/// What an entry has changed of what verdicts rest on.
#[derive(Debug, Default)]
pub(crate) struct Moved {
    pub(crate) cars: BTreeSet<CarNumber>,
    pub(crate) trains: BTreeSet<TrainId>,
    /// Cars on which nothing is moved, and something may depart otherwise than it did.
    pub(crate) departing: BTreeSet<CarNumber>,
    /// Cars of which a test was failed, or what a test had told is taken back.
    failed: BTreeSet<CarNumber>,
    /// Cars of which a test was passed.
    passed: BTreeSet<CarNumber>,
    /// Cars on which a task was done.
    done: BTreeSet<CarNumber>,
    /// Cars on which it is taken back that one was.
    undone: BTreeSet<CarNumber>,
    /// What is told of components that are fitted.
    fitted: FittedWork,
}

impl Moved {
    /// All cars of which something is told, whether or not anything on them was moved.
    fn told_of(&self) -> impl Iterator<Item = &CarNumber> {
        let tested = self.failed.iter().chain(&self.passed);
        let done = self.done.iter().chain(&self.undone);
        let told = self.cars.iter().chain(&self.departing);
        told.chain(tested).chain(done)
    }

    /// Whether what a decision told of failed tests may be otherwise now.
    fn retests(&self, taken: &DecisionTaken, car: &CarNumber) -> bool {
        let told = taken.found.failed_tests.as_ref();
        told.is_some_and(|failed| {
            let again = self.passed.contains(car) && failed.contains(car);
            again || self.failed.contains(car)
        })
    }

    /// Whether what a decision told of work that is due at once may be otherwise now. What makes
    /// such work due moves the car, or makes void by what departs on it.
    fn redoes(&self, taken: &DecisionTaken, car: &CarNumber) -> bool {
        let told = taken.found.due_at_once.as_ref();
        told.is_some_and(|due| {
            let done = self.done.contains(car) || self.passed.contains(car);
            (done && due.contains(car)) || self.undone.contains(car)
        })
    }
}

impl Dossier {
    /// Makes every decision void whose verdict the entry can move, and forgets what it moved.
    /// Cost: the decisions that stand in the dossier times what was moved.
    pub(crate) fn void_decisions(&mut self, entry: &Entry) {
        let mut moved = std::mem::take(&mut self.moved);
        moved.departing = self.departing_by(entry);
        self.note_tested(&mut moved, entry);
        self.note_done(&mut moved, entry);
        moved.fitted = FittedWork::told_by(self, entry);
        self.changes.moved_cars.extend(moved.told_of().cloned());
        let today = self.zone.day_of(entry.effective_at);
        for (id, decision) in &mut self.decisions {
            if decision.void.is_none()
                && *id < entry.seq
                && concerns((&moved, today), &decision.taken, entry)
            {
                decision.void = Some(Void {
                    by: entry.seq,
                    because: VoidBecause::of(entry),
                });
                self.changes.decisions.insert(*id);
            }
        }
    }

    /// Notes the car of which an entry tells, or takes back, what a test came to.
    fn note_tested(&self, moved: &mut Moved, entry: &Entry) {
        let corrected = entry.corrects.and_then(|seq| self.corrected.get(&seq));
        if let Some(car) = corrected.and_then(|(wrong, _)| tested_car(&wrong.fact)) {
            moved.failed.insert(car.clone());
        }
        let (Fact::TestRecorded(record), Some(car)) = (&entry.fact, tested_car(&entry.fact)) else {
            return;
        };
        let tested = self.tests.get(&record.id);
        match tested.map(|tested| tested.outcome) {
            Some(TestOutcome::Failed) => drop(moved.failed.insert(car.clone())),
            Some(TestOutcome::Passed) => drop(moved.passed.insert(car.clone())),
            Some(TestOutcome::Incomplete | TestOutcome::NotCounted) | None => {}
        }
    }

    /// Notes the car on which an entry tells, or takes back, that a task was done.
    fn note_done(&self, moved: &mut Moved, entry: &Entry) {
        let corrected = entry.corrects.and_then(|seq| self.corrected.get(&seq));
        let undone = corrected.and_then(|(wrong, _)| worked_car(&wrong.fact));
        moved.undone.extend(undone.cloned());
        moved.done.extend(worked_car(&entry.fact).cloned());
    }

    /// The cars on which an entry tells, or takes back, what can depart from a baseline though
    /// nothing is moved: a setting, or of a component that is there its modification state or
    /// condition.
    fn departing_by(&self, entry: &Entry) -> BTreeSet<CarNumber> {
        let corrected = entry.corrects.and_then(|seq| self.corrected.get(&seq));
        let corrected = corrected.map(|(wrong, _)| &wrong.fact);
        let facts = corrected.into_iter().chain([&entry.fact]);
        let cars = facts.filter_map(|fact| match fact {
            Fact::SettingMade(made) => Some(made.at.car.clone()),
            Fact::ConditionJudged { component, .. }
            | Fact::Embodied {
                subject: Subject::Component(component),
                ..
            } => Some(self.open_fitment(component)?.at.car.clone()),
            _ => None,
        });
        cars.collect()
    }
}

fn worked_car(fact: &Fact) -> Option<&CarNumber> {
    match fact {
        Fact::TaskDone {
            subject: Subject::Car(car),
            ..
        } => Some(car),
        _ => None,
    }
}

fn tested_car(fact: &Fact) -> Option<&CarNumber> {
    match fact {
        Fact::TestRecorded(record) => match &record.subject {
            Subject::Car(car) => Some(car),
            Subject::Component(_) => None,
        },
        _ => None,
    }
}

fn concerns((moved, today): (&Moved, Day), taken: &DecisionTaken, entry: &Entry) -> bool {
    let mut cars = taken.found.cars.iter();
    match &entry.fact {
        // What becomes valid later makes it void on that day: the set that it was decided by is not
        // in force any more, which is looked at whenever it is shown.
        Fact::RuleSetIssued(rules) => rules.name == taken.rule_set && rules.is_valid_on(today),
        Fact::CarTypeDefined(car_type) => {
            cars.any(|car| car.car_type == car_type.name && car.revision == car_type.revision)
        }
        Fact::RevisionEffective(it) => {
            it.from <= today
                && cars.any(|car| {
                    let another = car.car_type == it.car_type && car.revision != it.revision;
                    another && it.cars.hold(&car.number)
                })
        }
        Fact::DecisionTaken(again) => again.train == taken.train,
        _ => {
            let departs_told = taken.found.departing.is_some();
            moved.trains.contains(&taken.train)
                || cars.any(|car| {
                    let departs = departs_told && moved.departing.contains(&car.number);
                    let beside = moved.retests(taken, &car.number)
                        || moved.redoes(taken, &car.number)
                        || moved.fitted.moves(taken, &car.number);
                    moved.cars.contains(&car.number) || departs || beside
                })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::dossier::{Documents, TestedRecord};
    use crate::time::Zone;
    use serde_json::json;
    use std::sync::Arc;
    use uuid::Uuid;

    /// A decision about train T1 of car 4101, which told of so many departures.
    fn decided(departing: Option<usize>) -> DecisionRecord {
        let all = json!({"operative": 1, "total": 1});
        let car =
            json!({"number": "4101", "orientation": "forward", "car_type": "A", "revision": "1"});
        let mut found = json!({
            "cars": [car], "cut_outs": [], "permission": "may_run", "rules": [],
            "operative": {"axles": all, "bogies": all, "cars": all},
        });
        if let Some(departing) = departing {
            found["departing"] = departing.into();
        }
        let taken = json!({
            "train": "T1", "formed_by": 1, "rule_set": "Rules", "revision": "1", "asked": {},
            "found": found, "decided_by": "C. Controller",
        });
        DecisionRecord {
            id: Seq(2),
            at: Instant::LATEST,
            recorded_by: "C. Controller".parse().expect("a name"),
            taken: serde_json::from_value(taken).expect("a decision"),
            void: None,
            told_late: None,
        }
    }

    /// What becomes of it once a test of car 4101 has come to something.
    fn once_tested(mut decision: DecisionRecord, told: Option<&[&str]>, to: TestOutcome) -> bool {
        let told = told.map(|cars| cars.iter().map(|car| car.parse().expect("a car")).collect());
        decision.taken.found.failed_tests = told;
        let mut dossier = Dossier::new(Arc::new(Documents::default()), Zone::UTC);
        dossier.decisions.insert(decision.id, decision);
        let at: Instant = "2026-11-25T12:00:00Z".parse().expect("a moment");
        let fact = json!({"test_recorded": {
            "id": "T-1", "subject": {"car": "4101"}, "procedure": "BT", "revision": "A", "at": at,
            "tester": "A. Tester", "instrument": {"number": "G-1"}, "values": [],
        }});
        let entry = entry(fact, at);
        if let Fact::TestRecorded(record) = &entry.fact {
            let tested = TestedRecord {
                by: entry.seq,
                record: record.clone(),
                outcome: to,
            };
            dossier.tests.insert(record.id.clone(), tested);
        }
        dossier.void_decisions(&entry);
        let void = dossier.decisions[&Seq(2)].void;
        void.is_some_and(|void| void.because == VoidBecause::Tests)
    }

    fn entry(fact: serde_json::Value, at: Instant) -> Entry {
        Entry {
            seq: Seq(3),
            command: Uuid::nil(),
            recorded_at: at,
            effective_at: at,
            actor: "T. Technician".parse().expect("a name"),
            reason: String::new(),
            corrects: None,
            fact: serde_json::from_value(fact).expect("a fact"),
            consequences: None,
        }
    }

    /// What becomes of it once a setting of a car is told.
    fn once_set(decision: DecisionRecord, car: &str) -> Option<Void> {
        let mut dossier = Dossier::new(Arc::new(Documents::default()), Zone::UTC);
        dossier.decisions.insert(decision.id, decision);
        let made = json!({"setting_made": {"car": car, "position": "=AS-QN1",
            "setting": "opening pressure", "value": "7.8 bar", "how": "found"}});
        let at: Instant = "2026-11-25T12:00:00Z".parse().expect("a moment");
        let entry = entry(made, at);
        dossier.void_decisions(&entry);
        dossier.decisions[&Seq(2)].void
    }

    #[test]
    fn what_is_told_of_departures_makes_void_only_what_had_told_of_them() {
        let void = Void {
            by: Seq(3),
            because: VoidBecause::Departures,
        };
        assert_eq!(once_set(decided(Some(0)), "4101"), Some(void));
        assert_eq!(once_set(decided(Some(0)), "4102"), None, "another train");
        // Of decisions taken before, a rebuild must find again what became of them then.
        assert_eq!(once_set(decided(None), "4101"), None);
    }

    #[test]
    fn a_failed_test_makes_void_and_a_passed_one_what_had_told_of_a_failed_one() {
        let void = |told, to| once_tested(decided(Some(0)), told, to);
        assert!(void(Some(&[]), TestOutcome::Failed));
        assert!(
            !void(Some(&[]), TestOutcome::Passed),
            "nothing is otherwise"
        );
        assert!(void(Some(&["4101"]), TestOutcome::Passed));
        assert!(!void(Some(&["4102"]), TestOutcome::Passed), "another car");
        assert!(!void(Some(&["4101"]), TestOutcome::Incomplete));
        assert!(!void(None, TestOutcome::Failed), "it had not told of tests");
    }
}
