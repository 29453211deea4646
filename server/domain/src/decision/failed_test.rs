//! Tests of the cars of a train that were failed, and that none by the same procedure passed since.
//! What was measured then moves no verdict, since nobody said which position does not work; whoever
//! reads one must know of it.

use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, ProcedureCode, TestRecordId};
use crate::ledger::dossier::TestedRecord;
use crate::test_record::verdict::TestOutcome;
use serde::Serialize;
use std::collections::BTreeMap;

/// The last test of a car by a procedure that counts: it was failed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct FailedTest {
    /// The procedure.
    pub procedure: ProcedureCode,
    /// The test record.
    pub record: TestRecordId,
    /// The positions whose cut-outs had ended on the strength of an earlier test by that procedure
    /// when it was recorded: with it, their ends are not proved.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unproved: Vec<PositionRef>,
}

/// The same in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FailedTestInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// Which.
    #[serde(flatten)]
    pub failed: FailedTest,
}

impl FailedTest {
    /// Those that were failed last by their procedures, of the tests of one car. A test that is
    /// incomplete or does not count says neither. What it leaves unproved is not looked for. Linear in
    /// the tests, but for a logarithm.
    pub fn last_of(tests: &[TestedRecord]) -> Vec<Self> {
        let order = |tested: &TestedRecord| (tested.record.at, tested.by);
        let mut last: BTreeMap<&ProcedureCode, &TestedRecord> = BTreeMap::new();
        for tested in tests {
            let counts = matches!(tested.outcome, TestOutcome::Passed | TestOutcome::Failed);
            let known = last.get(&tested.record.procedure);
            if counts && known.is_none_or(|known| order(known) < order(tested)) {
                last.insert(&tested.record.procedure, tested);
            }
        }
        let failed = last.into_values();
        let failed = failed.filter(|tested| tested.outcome == TestOutcome::Failed);
        failed
            .map(|tested| Self {
                procedure: tested.record.procedure.clone(),
                record: tested.record.id.clone(),
                unproved: Vec::new(),
            })
            .collect()
    }

    /// "BT-A (test record T-2)".
    pub(super) fn in_words(&self) -> String {
        let Self {
            procedure,
            record,
            unproved,
        } = self;
        if unproved.is_empty() {
            return format!("{procedure} (test record {record})");
        }
        let places = unproved.iter().map(|at| at.position.as_str());
        let places: Vec<&str> = places.collect();
        format!(
            "{procedure} (test record {record}, told after the cut-out of {} was ended on an earlier \
             test: that it is restored is not proved)",
            places.join(" and of ")
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::proof::examples::tested;

    #[test]
    fn of_each_procedure_the_last_test_that_counts_is_told_where_it_was_failed() {
        use TestOutcome::{Failed, Incomplete, NotCounted, Passed};
        let tests = [
            tested(1, "BT-A", "2026-11-01T08:00Z", Passed),
            tested(2, "BT-A", "2026-11-02T08:00Z", Failed),
            tested(3, "BT-A", "2026-11-03T08:00Z", Incomplete),
            tested(4, "BT-B", "2026-11-02T08:00Z", Failed),
            tested(5, "BT-B", "2026-11-02T08:00Z", Passed),
            tested(6, "BT-C", "2026-11-05T08:00Z", Failed),
            tested(7, "BT-C", "2026-11-04T08:00Z", Passed),
            tested(8, "BT-D", "2026-11-04T08:00Z", NotCounted),
        ];
        let failed = FailedTest::last_of(&tests);
        let told: Vec<String> = failed.iter().map(FailedTest::in_words).collect();
        assert_eq!(told, ["BT-A (test record T-2)", "BT-C (test record T-6)"]);
    }
}
