//! What follows from a test record.

use crate::identity::{MeasurandName, ProcedureCode, Revision};
use crate::test_record::decimal::Decimal;
use crate::test_record::procedure::{Measurand, MeasurandRole, Procedure};
use crate::test_record::record::{MeasuredValue, TestRecord};
use crate::time::{Day, Zone};
use crate::words::word_list;
use serde::Serialize;

word_list! {
    /// What a test comes to.
    TestOutcome, "test outcome" {
        /// All values were measured and lie within their limits.
        Passed = "passed",
        /// A value lies outside its limits.
        Failed = "failed",
        /// A value is lacking, and none that was measured fails.
        Incomplete = "incomplete",
        /// The instrument or a condition of the test was not as it must be. It counts neither
        /// as done nor as failed; the values stand for what they are.
        NotCounted = "not_counted",
    }
}

word_list! {
    /// Where a value lies.
    Finding, "finding" {
        /// Within its limits.
        Within = "within",
        /// Below the lower limit.
        TooLow = "too_low",
        /// Above the upper limit.
        TooHigh = "too_high",
        /// Not measured.
        NotMeasured = "not_measured",
    }
}

/// A value beside its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Judged<'a> {
    /// What was to be measured, with its unit and limits.
    pub measurand: &'a Measurand,
    /// What was measured.
    pub value: Option<Decimal>,
    /// Where it lies.
    pub finding: Finding,
}

/// Why a test does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NotCounted {
    /// The instrument's calibration ended before the test.
    OutOfCalibration {
        /// Its last valid day.
        calibrated_until: Day,
        /// The day of the test.
        tested_on: Day,
    },
    /// Nothing says until when the instrument was calibrated.
    CalibrationUnknown,
    /// A condition of the test was outside its bounds; it is among the values.
    ConditionNotMet,
}

/// What a test comes to, with each value beside its limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TestVerdict<'a> {
    /// The outcome.
    pub outcome: TestOutcome,
    /// Why it does not count, where it does not.
    pub not_counted: Option<NotCounted>,
    /// The values in the order of the procedure.
    pub values: Vec<Judged<'a>>,
}

/// Why a record cannot be judged by a procedure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RecordRefused {
    /// It follows another procedure or revision.
    #[error("the record follows procedure {code} revision {revision}, not the one given")]
    OtherProcedure {
        /// The record's procedure.
        code: ProcedureCode,
        /// The record's revision.
        revision: Revision,
    },
    /// It holds a value that the procedure does not ask for.
    #[error("“{0}” is not measured by this procedure under that load")]
    NotAsked(MeasurandName),
    /// It holds two values of one measurand.
    #[error("“{0}” has two values under the same load; one record holds one")]
    Twice(MeasurandName),
}

/// The verdict on a record by the limits of its procedure. The zone tells the day of the test,
/// on which the instrument must have been in calibration; its last valid day still counts.
pub fn verdict<'a>(
    procedure: &'a Procedure,
    record: &TestRecord,
    zone: &Zone,
) -> Result<TestVerdict<'a>, RecordRefused> {
    fits(procedure, record)?;
    let judged = |measurand| judge(measurand, &record.values);
    let values: Vec<Judged> = procedure.measurands.iter().map(judged).collect();
    let not_counted = calibration(record, zone.day_of(record.at)).or_else(|| {
        let condition = outside(&values, MeasurandRole::Condition);
        condition.then_some(NotCounted::ConditionNotMet)
    });
    let lacking = values.iter().any(|v| v.finding == Finding::NotMeasured);
    let outcome = if not_counted.is_some() {
        TestOutcome::NotCounted
    } else if outside(&values, MeasurandRole::Result) {
        TestOutcome::Failed
    } else if lacking {
        TestOutcome::Incomplete
    } else {
        TestOutcome::Passed
    };
    Ok(TestVerdict {
        outcome,
        not_counted,
        values,
    })
}

/// Checks that the record follows the procedure and holds each of its values at most once.
fn fits(procedure: &Procedure, record: &TestRecord) -> Result<(), RecordRefused> {
    if (&record.procedure, &record.revision) != (&procedure.code, &procedure.revision) {
        return Err(RecordRefused::OtherProcedure {
            code: record.procedure.clone(),
            revision: record.revision.clone(),
        });
    }
    let values = record.values.iter().enumerate();
    let mut values = values.map(|(place, value)| (value, &record.values[..place]));
    values.try_for_each(|(value, before)| procedure.takes(value, before))
}

impl Procedure {
    /// Whether a record of it may hold a value after others: one that it asks for, once.
    pub fn takes(
        &self,
        value: &MeasuredValue,
        before: &[MeasuredValue],
    ) -> Result<(), RecordRefused> {
        if !self.measurands.iter().any(|m| is_of(m, value)) {
            return Err(RecordRefused::NotAsked(value.measurand.clone()));
        }
        let same =
            |other: &MeasuredValue| other.measurand == value.measurand && other.load == value.load;
        if before.iter().any(same) {
            return Err(RecordRefused::Twice(value.measurand.clone()));
        }
        Ok(())
    }
}

fn is_of(measurand: &Measurand, value: &MeasuredValue) -> bool {
    measurand.name == value.measurand && measurand.load == value.load
}

fn judge<'a>(measurand: &'a Measurand, values: &[MeasuredValue]) -> Judged<'a> {
    let measured = values.iter().find(|value| is_of(measurand, value));
    let value = measured.map(|measured| measured.value);
    let bounds = measurand.bounds;
    let finding = match value {
        None => Finding::NotMeasured,
        Some(value) if bounds.lower().is_some_and(|lower| value < lower) => Finding::TooLow,
        Some(value) if bounds.upper().is_some_and(|upper| upper < value) => Finding::TooHigh,
        Some(_) => Finding::Within,
    };
    Judged {
        measurand,
        value,
        finding,
    }
}

fn calibration(record: &TestRecord, tested_on: Day) -> Option<NotCounted> {
    match record.instrument.calibrated_until {
        None => Some(NotCounted::CalibrationUnknown),
        Some(calibrated_until) if calibrated_until < tested_on => {
            Some(NotCounted::OutOfCalibration {
                calibrated_until,
                tested_on,
            })
        }
        Some(_) => None,
    }
}

fn outside(values: &[Judged], role: MeasurandRole) -> bool {
    values.iter().any(|judged| {
        judged.measurand.role == role
            && matches!(judged.finding, Finding::TooLow | Finding::TooHigh)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::component::Subject;
    use crate::due::task::AppliesTo;
    use crate::test_record::procedure::Bounds;
    use crate::test_record::record::Instrument;

    fn decimal(text: &str) -> Decimal {
        text.parse().expect("a decimal")
    }

    fn measurand(name: &str, role: MeasurandRole, lower: &str, upper: &str) -> Measurand {
        Measurand {
            name: name.parse().expect("a name"),
            load: None,
            role,
            unit: "bar".to_owned(),
            measured_at: Vec::new(),
            during: None,
            bounds: Bounds::new(lower.parse().ok(), upper.parse().ok()).expect("bounds"),
        }
    }

    /// Cylinder pressure 3.7 to 3.9 bar, supply at least 8 bar.
    fn procedure() -> Procedure {
        let measurands = vec![
            measurand("cylinder pressure", MeasurandRole::Result, "3.7", "3.9"),
            measurand("supply pressure", MeasurandRole::Condition, "8", ""),
        ];
        Procedure {
            code: "BT-1".parse().expect("a code"),
            revision: "B".parse().expect("a revision"),
            title: "Brake test".to_owned(),
            applies_to: AppliesTo::CarType("BX-M".parse().expect("a type")),
            measurands: measurands.try_into().expect("each once"),
            task: None,
            source: "own justification".to_owned(),
        }
    }

    fn record(values: &[(&str, &str)], calibrated_until: &str) -> TestRecord {
        let value = |&(name, value): &(&str, &str)| MeasuredValue {
            measurand: name.parse().expect("a name"),
            load: None,
            value: decimal(value),
        };
        TestRecord {
            id: "T-1".parse().expect("an identity"),
            subject: Subject::Car("4101".parse().expect("a number")),
            procedure: "BT-1".parse().expect("a code"),
            revision: "B".parse().expect("a revision"),
            at: "2026-03-31T23:30+01:00".parse().expect("a time"),
            tester: "A. Tester".parse().expect("a name"),
            instrument: Instrument {
                number: "G-7".parse().expect("a number"),
                calibrated_until: calibrated_until.parse().ok(),
            },
            values: values.iter().map(value).collect(),
        }
    }

    fn outcome(values: &[(&str, &str)], calibrated_until: &str) -> TestOutcome {
        let record = record(values, calibrated_until);
        let verdict = verdict(&procedure(), &record, &Zone::UTC).map(|v| v.outcome);
        verdict.expect("follows the procedure")
    }

    #[test]
    fn the_verdict_follows_from_the_values() {
        let at = |cylinder, supply| {
            let values = [("cylinder pressure", cylinder), ("supply pressure", supply)];
            outcome(&values, "2026-12-31")
        };
        assert_eq!(at("3.7", "8"), TestOutcome::Passed);
        assert_eq!(at("3.9", "9.5"), TestOutcome::Passed);
        assert_eq!(at("3.699999", "9"), TestOutcome::Failed);
        assert_eq!(at("3.91", "9"), TestOutcome::Failed);
        assert_eq!(at("3.8", "7.9"), TestOutcome::NotCounted);
    }

    #[test]
    fn a_lacking_value_leaves_the_test_incomplete_unless_another_fails() {
        let supply = ("supply pressure", "9");
        assert_eq!(outcome(&[supply], "2026-12-31"), TestOutcome::Incomplete);
        let failing = ("cylinder pressure", "3.5");
        assert_eq!(outcome(&[failing], "2026-12-31"), TestOutcome::Failed);
    }

    #[test]
    fn an_instrument_counts_until_the_last_day_of_its_calibration() {
        // 23:30 at +01:00 is still 31 March in UTC.
        let good = [("cylinder pressure", "3.8"), ("supply pressure", "9")];
        assert_eq!(outcome(&good, "2026-03-31"), TestOutcome::Passed);
        assert_eq!(outcome(&good, "2026-03-30"), TestOutcome::NotCounted);
        assert_eq!(outcome(&good, "not known"), TestOutcome::NotCounted);
        let (procedure, late) = (procedure(), record(&good, "2026-03-30"));
        let verdict = verdict(&procedure, &late, &Zone::UTC).expect("follows the procedure");
        let reason = NotCounted::OutOfCalibration {
            calibrated_until: "2026-03-30".parse().expect("a day"),
            tested_on: "2026-03-31".parse().expect("a day"),
        };
        assert_eq!(verdict.not_counted, Some(reason));
    }

    #[test]
    fn each_value_stands_beside_its_limit() {
        let procedure = procedure();
        let record = record(&[("cylinder pressure", "3.95")], "2026-12-31");
        let verdict = verdict(&procedure, &record, &Zone::UTC).expect("follows the procedure");
        let cylinder = verdict.values[0];
        assert_eq!(cylinder.finding, Finding::TooHigh);
        assert_eq!(cylinder.value, Some(decimal("3.95")));
        assert_eq!(cylinder.measurand.bounds.to_string(), "3.7 to 3.9");
        assert_eq!(verdict.values[1].finding, Finding::NotMeasured);
        assert_eq!(verdict.values[1].measurand.bounds.to_string(), "at least 8");
    }

    #[test]
    fn a_record_of_another_procedure_or_with_foreign_or_double_values_is_refused() {
        let refused = |record: &TestRecord| {
            let procedure = procedure();
            verdict(&procedure, record, &Zone::UTC).err()
        };
        let other = TestRecord {
            revision: "A".parse().expect("a revision"),
            ..record(&[], "2026-12-31")
        };
        assert!(matches!(
            refused(&other),
            Some(RecordRefused::OtherProcedure { .. })
        ));
        let foreign = record(&[("leakage", "1")], "2026-12-31");
        assert!(matches!(
            refused(&foreign),
            Some(RecordRefused::NotAsked(_))
        ));
        let supply = ("supply pressure", "9");
        let double = record(&[supply, supply], "2026-12-31");
        assert!(matches!(refused(&double), Some(RecordRefused::Twice(_))));
    }

    #[test]
    fn bounds_bound_something() {
        assert!(Bounds::new(None, None).is_err());
        assert!(Bounds::new(Some(decimal("2")), Some(decimal("1"))).is_err());
        assert!(Bounds::new(Some(decimal("1")), Some(decimal("1"))).is_ok());
    }
}
