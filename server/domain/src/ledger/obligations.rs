//! What was touched on a car after a test of it: by the obligations of a task that makes the task
//! due at once, until it is done or its test passed again, and what the test proved before is void.

pub use super::work_done::{Touch, WorkDone, put_in_order};

use crate::configuration::car_type::PositionKind;
use crate::decision::due_at_once::DueAtOnce;
use crate::due::at_once::{AtOnce, AtOnceCause};
use crate::due::obligation::{Obligation, Touching};
use crate::due::task::Task;
use crate::identity::{CarTypeName, PositionCode, TestRecordId};
use crate::ledger::at_once::{self, Tested};
use crate::ledger::dossier::{Documents, DoneRecord};
use crate::ledger::entry::Seq;
use crate::ledger::standing::CarHistory;
use crate::test_record::verdict::TestOutcome;
use crate::time::{Day, Instant, Zone};
use std::sync::Arc;

/// What is known of a car beside what was touched.
#[derive(Debug, Clone, Copy)]
pub struct OfCar<'a> {
    /// Its type.
    pub car_type: &'a CarTypeName,
    /// Its tests.
    pub tests: &'a [Tested],
    /// The design data.
    pub documents: &'a Documents,
    /// The depot's time zone.
    pub zone: &'a Zone,
}

impl OfCar<'_> {
    /// The first of what was touched after a moment and an entry that opens an obligation to do a
    /// task. Linear in what was touched.
    pub fn first_opening<'t>(
        &self,
        task: &Task,
        touches: &'t [Touch],
        after: Option<(Instant, Seq)>,
    ) -> Option<&'t Touch> {
        self.opening(task, touches, after).map(|(touch, _)| touch)
    }

    fn opening<'t>(
        &self,
        task: &Task,
        touches: &'t [Touch],
        after: Option<(Instant, Seq)>,
    ) -> Option<(&'t Touch, Touching)> {
        let later = touches.iter();
        let later = later.filter(|touch| after < Some((touch.at, touch.by)));
        let opening = later.filter_map(|touch| Some((touch, self.opened_by(task, touch)?)));
        opening.min_by_key(|(touch, _)| (touch.at, touch.by))
    }

    /// Why a task is due at once: a test that was failed, or what was touched, whichever is of the
    /// earlier day.
    fn at_once(&self, task: &Task, known: (&[Touch], &[&DoneRecord])) -> Option<AtOnce> {
        let tested = (self.tests, known.1);
        let test = at_once::by_test(task, tested, self.documents, self.zone);
        let touch = by_touch(task, self, known);
        let found = [test, touch].into_iter().flatten();
        found.min_by_key(|found| found.on)
    }

    /// The tasks that are due at once since something was touched, given all that was touched, in
    /// order, and the work done.
    pub fn due_at_once(&self, touches: &[Touch], done: &[&DoneRecord]) -> Vec<DueAtOnce> {
        let tasks = self.documents.tasks_of_car_type(self.car_type).iter();
        let due = tasks.filter_map(|task| {
            let found = self.at_once(task, (touches, done))?;
            DueAtOnce::of_car(task.code.clone(), &found)
        });
        let mut due: Vec<DueAtOnce> = due.collect();
        due.sort();
        due
    }

    /// By which of the obligations of a task something that was touched opens it.
    fn opened_by(&self, task: &Task, touch: &Touch) -> Option<Touching> {
        let on = self.zone.day_of(touch.at);
        let all = self.documents.obligations_of(task);
        let held =
            all.filter(|(one, until)| one.from <= on && until.is_none_or(|until| touch.at < until));
        let mut in_force = held.map(|(one, _)| one).peekable();
        in_force.peek()?;
        let kinds = touch.work.place();
        let kinds = kinds.map_or_else(Vec::new, |place| {
            self.documents.kinds_at(self.car_type, place)
        });
        let opens = |one: &&Obligation| match (one.after, &touch.work) {
            (Touching::Exchanged(kind), WorkDone::Exchanged(_) | WorkDone::ExchangedInside(..))
            | (Touching::Set(kind), WorkDone::Set(_)) => kinds.contains(&kind),
            (Touching::CutOutEnded(kind), WorkDone::CutOutEnded(_, proof)) => {
                kinds.contains(&kind) && !self.is_proof_of(task, proof)
            }
            (Touching::Coupled, WorkDone::Coupled) => true,
            _ => false,
        };
        in_force.find(opens).map(|one| one.after)
    }

    /// Whether a test that was passed belongs to a task.
    fn is_proof_of(&self, task: &Task, proof: &TestRecordId) -> bool {
        let mut passed = passed(task, self.tests, self.documents);
        passed.any(|test| test.id == *proof)
    }
}

fn passed<'t>(
    task: &Task,
    tests: &'t [Tested],
    documents: &Documents,
) -> impl Iterator<Item = &'t Tested> {
    tests.iter().filter(move |test| {
        test.outcome == TestOutcome::Passed
            && documents.task_of_test(&test.procedure, &test.revision) == Some(&task.code)
    })
}

/// When a task was last done or its test passed, and by which entry.
fn answered(
    task: &Task,
    (tests, done): (&[Tested], &[&DoneRecord]),
    documents: &Documents,
) -> Option<(Instant, Seq)> {
    let passed = passed(task, tests, documents).map(|test| (test.at, test.by));
    let done = done.iter().filter(|done| done.task == task.code);
    passed.chain(done.map(|done| (done.at, done.by))).max()
}

/// What was touched that makes a task due at once: the first of it since the task was last done or
/// its test passed.
fn by_touch(
    task: &Task,
    of: &OfCar<'_>,
    (touches, done): (&[Touch], &[&DoneRecord]),
) -> Option<AtOnce> {
    let answered = answered(task, (of.tests, done), of.documents);
    let (touch, after) = of.opening(task, touches, answered)?;
    Some(AtOnce {
        on: of.zone.day_of(touch.at),
        cause: after.cause(),
        by: touch.by,
    })
}

impl CarHistory<'_> {
    /// From when what was touched on it must be known; none where that bears on no task of it.
    /// Linear in its tasks, tests and the work done.
    pub fn touched_since(&self, documents: &Documents, zone: &Zone) -> Option<Instant> {
        let tasks = documents
            .tasks_of_car_type(&self.record.car.car_type)
            .iter();
        let since = tasks.filter_map(|task| {
            let answered = answered(task, (&self.tests, &self.done), documents);
            let all = documents.obligations_of(task);
            let may_open = all.filter(|(_, until)| {
                until.is_none_or(|until| answered.is_none_or(|(at, _)| at < until))
            });
            let begins = zone.start_of(may_open.map(|(one, _)| one.from).min()?);
            Some(answered.map_or(begins, |(at, _)| begins.max(at)))
        });
        since.min()
    }

    /// Why a task of it is due at once.
    pub(super) fn at_once(
        &self,
        task: &Task,
        (documents, zone): (&Documents, &Zone),
    ) -> Option<AtOnce> {
        let of = OfCar {
            car_type: &self.record.car.car_type,
            tests: &self.tests,
            documents,
            zone,
        };
        of.at_once(task, (self.touches, &self.done))
    }
}

impl Documents {
    /// Whether a task of cars of a type is due at once after some work.
    pub fn opens_obligations(&self, car_type: &CarTypeName) -> bool {
        let mut tasks = self.tasks_of_car_type(car_type).iter();
        tasks.any(|task| self.obligations_of(task).next().is_some())
    }

    /// The first day on which something that is touched on cars of a type may make a task due at once;
    /// none where nothing does.
    pub fn obliged_from(&self, car_type: &CarTypeName) -> Option<Day> {
        let tasks = self.tasks_of_car_type(car_type).iter();
        let all = tasks.flat_map(|task| self.obligations_of(task));
        all.map(|(one, _)| one.from).min()
    }

    /// Whether one is after such work; of any car, where its type is not known.
    pub(super) fn opens_after(&self, car_type: Option<&CarTypeName>, cause: AtOnceCause) -> bool {
        let opens = |task: &Arc<Task>| {
            let mut obligations = self.obligations_of(task);
            obligations.any(|(one, _)| one.after.cause() == cause)
        };
        match car_type {
            Some(name) => self.tasks_of_car_type(name).iter().any(opens),
            None => self.tasks.values().any(|known| opens(&known.document)),
        }
    }

    /// The kinds of a place on cars of a type: its own, and those of the assemblies it is inside. By
    /// the first revision that knows the place, so that they stay what they are.
    fn kinds_at(&self, car_type: &CarTypeName, code: &PositionCode) -> Vec<PositionKind> {
        let of_type = self.car_types.iter();
        let of_type = of_type.filter(|((name, _), _)| name == car_type);
        let mut designs: Vec<_> = of_type.map(|(_, known)| known).collect();
        designs.sort_by_key(|known| known.by);
        for design in designs {
            let listed = design.document.positions.iter();
            let around = listed.filter(|one| one.code == *code || code.is_inside(&one.code));
            let mut kinds: Vec<PositionKind> = around.map(|one| one.kind).collect();
            let mut next = Some(code.clone());
            while let Some(place) = next.and_then(|at| self.place(&design.document, &at)) {
                kinds.push(place.position.kind);
                next = place.inside.map(|(assembly, _)| assembly);
            }
            if !kinds.is_empty() {
                return kinds;
            }
        }
        Vec::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::due::examples::overhaul;

    const TOUCHED: [&str; 2] = ["2026-03-01T09:00Z", "2026-03-05T09:00Z"];

    fn at(text: &str) -> Instant {
        text.parse().expect("a moment")
    }

    /// A task that is due at once after its unit was formed, from 2026-03-01 on.
    fn task() -> Task {
        Task {
            obligations: vec!["coupled 2026-03-01".parse().expect("an obligation")],
            ..overhaul()
        }
    }

    fn coupled(text: &str, by: i64) -> Touch {
        Touch {
            at: at(text),
            by: Seq(by),
            work: WorkDone::Coupled,
        }
    }

    fn opened(touches: &[Touch], after: Option<(Instant, Seq)>) -> Option<Seq> {
        let of = OfCar {
            car_type: &"T".parse().expect("a car type"),
            tests: &[],
            documents: &Documents::default(),
            zone: &Zone::UTC,
        };
        of.first_opening(&task(), touches, after)
            .map(|touch| touch.by)
    }

    #[test]
    fn the_first_that_was_touched_since_the_answer_opens_the_obligation() {
        let touches = TOUCHED.iter().zip(1..).map(|(text, by)| coupled(text, by));
        let touches: Vec<Touch> = touches.collect();
        assert_eq!(opened(&touches, None), Some(Seq(1)));
        let tested = at("2026-03-02T09:00Z");
        assert_eq!(opened(&touches, Some((tested, Seq(9)))), Some(Seq(2)));
        // In the same minute what was recorded later is later.
        let same = at("2026-03-05T09:00Z");
        assert_eq!(opened(&touches, Some((same, Seq(1)))), Some(Seq(2)));
        assert_eq!(opened(&touches, Some((same, Seq(3)))), None);
    }

    #[test]
    fn what_was_touched_before_the_obligation_was_in_force_opens_nothing() {
        let before = coupled("2026-02-28T23:59Z", 1);
        assert_eq!(opened(&[before], None), None);
        let set = Touch {
            work: WorkDone::Set("=B1-K1".parse().expect("a code")),
            ..coupled("2026-03-02T09:00Z", 2)
        };
        assert_eq!(opened(&[set], None), None);
        assert_eq!(Touching::Coupled.cause(), AtOnceCause::Coupled);
    }

    #[test]
    fn what_a_former_revision_made_due_at_once_stays_so_and_later_work_opens_nothing() {
        let since = "2026-03-04T00:00Z";
        let revised = Task {
            revision: "B".parse().expect("a revision"),
            ..overhaul()
        };
        let mut documents = Documents::default();
        documents.put_task(Seq(1), at("2026-02-01T00:00Z"), Arc::new(task()));
        documents.put_task(Seq(2), at(since), Arc::new(revised.clone()));
        let touches = [coupled(TOUCHED[0], 3), coupled(TOUCHED[1], 4)];
        let of = OfCar {
            car_type: &"T".parse().expect("a car type"),
            tests: &[],
            documents: &documents,
            zone: &Zone::UTC,
        };
        let opened = |after| {
            let touch = of.first_opening(&revised, &touches, after);
            touch.map(|touch| touch.by)
        };
        assert_eq!(opened(None), Some(Seq(3)));
        // Done since, it stays done: what was touched under the new revision opens nothing.
        assert_eq!(opened(Some((at("2026-03-02T09:00Z"), Seq(5)))), None);
        // Of a time before the revision nothing is told of it.
        let before = documents.with_tasks_at(at("2026-03-03T00:00Z"));
        let known = &before.tasks[&revised.code].document;
        assert_eq!(before.obligations_of(known).count(), 1);
        assert_eq!(documents.obligations_of(&revised).count(), 1);
    }
}
