//! Whether a test proves that the brake behind a cut-out is restored: it was passed on that car since
//! the cut-out was found, it measured that brake, and no later test by the same procedure says
//! otherwise.

use crate::configuration::car_type::CarType;
use crate::configuration::component::Subject;
use crate::identity::PositionCode;
use crate::isolation::measured_behind::measured_behind;
use crate::ledger::dossier::{Documents, IsolationRecord, TestedRecord};
use crate::test_record::procedure::MeasurandRole;
use crate::test_record::verdict::TestOutcome;
use crate::time::Instant;

/// The end of a cut-out, which a test is to prove.
#[derive(Debug, Clone, Copy)]
pub struct Ending<'a> {
    /// The cut-out.
    pub isolation: &'a IsolationRecord,
    /// When it is to end.
    pub at: Instant,
    /// The design of its car then, if that is known.
    pub car_type: Option<&'a CarType>,
    /// What the procedures measure.
    pub documents: &'a Documents,
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
}

impl<'a> Ending<'a> {
    /// What a test lacks to prove it, given all tests of the car that are known. Nothing is demanded
    /// of where it was measured where the circuit knows of no brake behind the cut-out.
    pub fn lacks(
        &self,
        test: &TestedRecord,
        tests: impl Iterator<Item = &'a TestedRecord>,
    ) -> Option<Lack<'a>> {
        if !self.is_passed_since(test) {
            return Some(Lack::NotPassedSince);
        }
        self.measured_elsewhere(test)
            .or_else(|| self.not_passed_later(test, tests))
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
        let order = |tested: &TestedRecord| (tested.record.at, tested.by);
        let later = tests
            .filter(|other| other.record.subject == test.record.subject)
            .filter(|other| other.record.procedure == test.record.procedure)
            .filter(|other| order(test) < order(other) && other.record.at <= self.at)
            .filter(|other| matches!(other.outcome, TestOutcome::Failed | TestOutcome::Incomplete));
        later
            .max_by_key(|other| order(other))
            .map(Lack::NotPassedLater)
    }
}

#[cfg(test)]
pub(crate) mod examples {
    use super::*;
    use crate::ledger::entry::Seq;

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
    use crate::ledger::entry::Seq;
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
            documents: &documents,
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
}
