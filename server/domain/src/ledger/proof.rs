//! Whether a test proves that the brake behind a cut-out is restored: it was passed on that car since
//! the cut-out was found, it measured that brake, no later test by the same procedure says
//! otherwise, and nothing was touched since that makes it void.

use crate::configuration::car_type::CarType;
use crate::configuration::component::{PositionRef, Subject};
use crate::identity::PositionCode;
use crate::isolation::measured_behind::measured_behind;
use crate::ledger::at_once::Tested;
use crate::ledger::dossier::{Documents, IsolationRecord, TestedRecord};
use crate::ledger::entry::Seq;
use crate::ledger::obligations::{OfCar, Touch};
use crate::test_record::procedure::MeasurandRole;
use crate::test_record::verdict::TestOutcome;
use crate::time::{Instant, Zone};
use std::fmt;

/// The end of a cut-out, which a test is to prove.
#[derive(Debug, Clone, Copy)]
pub struct Ending<'a> {
    /// The cut-out.
    pub isolation: &'a IsolationRecord,
    /// When it is to end.
    pub at: Instant,
    /// The design of its car then, if that is known.
    pub car_type: Option<&'a CarType>,
    /// What was touched on its car.
    pub touched: &'a [Touch],
    /// What the procedures measure, and what makes their tests void.
    pub documents: &'a Documents,
    /// The depot's time zone.
    pub zone: &'a Zone,
}

/// What a test lacks to prove it.
#[derive(Debug, Clone, PartialEq)]
pub enum Lack<'a> {
    /// It is not a test of that car that was passed between the cut-out and its end.
    NotPassedSince,
    /// None of its results is measured where the brake behind the cut-out is; here it would be.
    MeasuredElsewhere(Vec<&'a PositionCode>),
    /// A later test by the same procedure, before the end, was failed or is incomplete.
    NotPassedLater(&'a TestedRecord),
    /// Something was touched before the end that makes its task due at once.
    Void(&'a Touch),
}

impl fmt::Display for Lack<'_> {
    /// In a few words, after the name of the test.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotPassedSince => f.write_str("not passed since the cut-out"),
            Self::MeasuredElsewhere(_) => f.write_str("measured nothing behind the cut-out"),
            Self::NotPassedLater(later) => write!(
                f,
                "followed by test record {} of the same procedure, {}",
                later.record.id, later.outcome
            ),
            Self::Void(touch) => write!(f, "void since {} ({})", touch.by, touch.work),
        }
    }
}

impl<'a> Ending<'a> {
    /// What a test lacks to prove it, given all tests of the car that are known. Nothing is demanded
    /// of where it was measured where the circuit knows of no brake behind the cut-out.
    pub fn lacks(
        &self,
        test: &TestedRecord,
        tests: impl Iterator<Item = &'a TestedRecord> + Clone,
    ) -> Option<Lack<'a>> {
        if !self.is_passed_since(test) {
            return Some(Lack::NotPassedSince);
        }
        self.measured_elsewhere(test)
            .or_else(|| self.not_passed_later(test, tests.clone()))
            .or_else(|| self.void(test, tests))
    }

    /// Whether it is a test of that car that was passed between the cut-out and its end.
    pub fn is_passed_since(&self, test: &TestedRecord) -> bool {
        let car = &self.isolation.cut_out.at.car;
        let of_car = test.record.subject == Subject::Car(car.clone());
        let in_time = self.isolation.since <= test.record.at && test.record.at <= self.at;
        of_car && in_time && test.outcome == TestOutcome::Passed
    }

    fn measured_elsewhere(&self, test: &TestedRecord) -> Option<Lack<'a>> {
        let behind = measured_behind(self.car_type?, &self.isolation.cut_out.at.position)?;
        let key = (test.record.procedure.clone(), test.record.revision.clone());
        let procedure = self.documents.procedures.get(&key);
        let measurands = procedure.map(|known| &known.document.measurands);
        let mut results = measurands.into_iter().flat_map(|measurands| {
            let results = measurands.iter();
            results.filter(|measurand| measurand.role == MeasurandRole::Result)
        });
        let there = results.any(|result| {
            let mut places = result.measured_at.iter();
            places.any(|place| behind.contains(&place))
        });
        (!there).then_some(Lack::MeasuredElsewhere(behind))
    }

    fn not_passed_later(
        &self,
        test: &TestedRecord,
        tests: impl Iterator<Item = &'a TestedRecord>,
    ) -> Option<Lack<'a>> {
        let later = tests.filter(|other| speaks_against(other, test, self.at));
        later
            .max_by_key(|other| order(other))
            .map(Lack::NotPassedLater)
    }

    /// What a test proved is void once something was touched that makes its task due at once.
    fn void(
        &self,
        test: &TestedRecord,
        tests: impl Iterator<Item = &'a TestedRecord>,
    ) -> Option<Lack<'a>> {
        let record = &test.record;
        let code = self
            .documents
            .task_of_test(&record.procedure, &record.revision)?;
        let task = self.documents.tasks.get(code)?;
        let tests = tests.filter(|other| other.record.subject == record.subject);
        let tests: Vec<Tested> = tests.map(Tested::from).collect();
        let of = OfCar {
            car_type: &self.car_type?.name,
            tests: &tests,
            documents: self.documents,
            zone: self.zone,
        };
        let first = of.first_opening(&task.document, self.touched, Some((record.at, test.by)))?;
        (first.at <= self.at).then_some(Lack::Void(first))
    }
}

/// The order of tests: by when they were made, and of one time by which was recorded first.
fn order(tested: &TestedRecord) -> (Instant, Seq) {
    (tested.record.at, tested.by)
}

/// Whether another test of the same procedure, made after one and not after a moment, was not passed.
fn speaks_against(other: &TestedRecord, test: &TestedRecord, until: Instant) -> bool {
    other.record.subject == test.record.subject
        && other.record.procedure == test.record.procedure
        && order(test) < order(other)
        && other.record.at <= until
        && matches!(other.outcome, TestOutcome::Failed | TestOutcome::Incomplete)
}

/// A cut-out that ended, on the strength of a test.
#[derive(Debug, Clone, PartialEq)]
pub struct Ended {
    /// Where.
    pub position: PositionRef,
    /// When, and by which entry.
    pub ended: (Instant, Seq),
    /// The test.
    pub proof: TestedRecord,
}

impl Ended {
    /// Whether a test tells that the brake was not restored by then, though it was told later: with it
    /// the end would not have been recorded.
    pub fn is_unproved_by(&self, test: &TestedRecord) -> bool {
        speaks_against(test, &self.proof, self.ended.0)
    }
}

#[cfg(test)]
pub(crate) mod examples {
    use super::*;

    /// A test of car 4101.
    pub(crate) fn tested(by: i64, procedure: &str, at: &str, outcome: TestOutcome) -> TestedRecord {
        let record = serde_json::json!({
            "id": format!("T-{by}"), "subject": {"car": "4101"}, "procedure": procedure,
            "revision": "A", "at": at, "tester": "A. Tester", "instrument": {"number": "G-1"},
            "values": [],
        });
        TestedRecord {
            by: Seq(by),
            record: serde_json::from_value(record).expect("a test record"),
            outcome,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::examples::tested;
    use super::*;
    use serde_json::json;

    fn isolation() -> IsolationRecord {
        let cut_out = json!({"car": "4101", "position": "=BS-Q1", "state": "closed_vented",
            "cause": "leak"});
        IsolationRecord {
            id: Seq(1),
            cut_out: serde_json::from_value(cut_out).expect("a cut-out"),
            since: "2026-11-28T13:22Z".parse().expect("a moment"),
            first: "2026-11-28T13:22Z".parse().expect("a moment"),
            ended: None,
        }
    }

    #[test]
    fn a_later_test_of_the_same_procedure_that_was_not_passed_stands_against_it() {
        let (isolation, documents) = (isolation(), Documents::default());
        let ending = Ending {
            isolation: &isolation,
            at: "2026-11-28T13:30Z".parse().expect("a moment"),
            car_type: None,
            touched: &[],
            documents: &documents,
            zone: &Zone::UTC,
        };
        let passed = tested(2, "BT", "2026-11-28T13:24Z", TestOutcome::Passed);
        let lacks = |other: &TestedRecord| {
            let lack = ending.lacks(&passed, [&passed, other].into_iter());
            lack.is_some()
        };
        let other = |outcome| tested(3, "BT", "2026-11-28T13:28Z", outcome);
        assert!(lacks(&other(TestOutcome::Failed)));
        assert!(lacks(&other(TestOutcome::Incomplete)));
        assert!(!lacks(&other(TestOutcome::NotCounted)));
        assert!(!lacks(&other(TestOutcome::Passed)));
        let before = tested(3, "BT", "2026-11-28T13:23Z", TestOutcome::Failed);
        assert!(!lacks(&before), "it was put right since");
        let after = tested(3, "BT", "2026-11-28T13:31Z", TestOutcome::Failed);
        assert!(!lacks(&after), "after the end");
        let door = tested(3, "DOOR", "2026-11-28T13:28Z", TestOutcome::Failed);
        assert!(!lacks(&door), "another procedure");
    }
    #[test]
    fn an_end_is_unproved_by_what_was_failed_between_the_proof_and_it_alone() {
        let ended = Ended {
            position: isolation().cut_out.at,
            ended: ("2026-11-28T13:30Z".parse().expect("a moment"), Seq(3)),
            proof: tested(2, "BT", "2026-11-28T13:24Z", TestOutcome::Passed),
        };
        let told = |procedure, at, outcome| {
            let test = tested(4, procedure, at, outcome);
            ended.is_unproved_by(&test)
        };
        assert!(told("BT", "2026-11-28T13:24Z", TestOutcome::Failed));
        assert!(told("BT", "2026-11-28T13:30Z", TestOutcome::Incomplete));
        assert!(!told("BT", "2026-11-28T13:28Z", TestOutcome::Passed));
        assert!(!told("BT", "2026-11-28T13:23Z", TestOutcome::Failed));
        assert!(!told("BT", "2026-11-28T13:31Z", TestOutcome::Failed));
        assert!(!told("DOOR", "2026-11-28T13:28Z", TestOutcome::Failed));
    }
}
