//! A test in words: each value beside its limit, and what it comes to.

use domain::test_record::procedure::{Measurand, MeasurandRole, Procedure};
use domain::test_record::record::TestRecord;
use domain::test_record::verdict::{
    Finding, Judged, NotCounted, RecordRefused, TestOutcome, verdict,
};
use domain::time::Zone;

/// What a test comes to.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// The class by which it is drawn.
    pub(crate) class: &'static str,
    pub(crate) mark: &'static str,
    pub(crate) words: &'static str,
    /// Why it does not count, where it does not.
    pub(crate) why: String,
    pub(crate) values: Vec<ValueRow>,
}

/// A value beside its limit.
#[derive(Debug)]
pub(crate) struct ValueRow {
    pub(crate) name: String,
    pub(crate) limits: String,
    pub(crate) value: String,
    pub(crate) class: &'static str,
    pub(crate) finding: String,
}

/// The name of what is measured, with its load and whether it is a condition of the test.
pub(crate) fn name(measurand: &Measurand) -> String {
    let load = measurand
        .load
        .map_or(String::new(), |load| format!(", {load} load"));
    let condition = match measurand.role {
        MeasurandRole::Result => "",
        MeasurandRole::Condition => " (a condition of the test)",
    };
    format!("{}{load}{condition}", measurand.name)
}

/// The limits with their unit.
pub(crate) fn limits(measurand: &Measurand) -> String {
    format!("{} {}", measurand.bounds, measurand.unit)
}

/// Judges a record by the limits of its procedure.
pub(crate) fn outcome(
    procedure: &Procedure,
    record: &TestRecord,
    zone: &Zone,
) -> Result<Outcome, RecordRefused> {
    let verdict = verdict(procedure, record, zone)?;
    let (class, mark, words) = match verdict.outcome {
        TestOutcome::Passed => ("may_run", "✓", "Passed"),
        TestOutcome::Failed => ("may_not_run", "✕", "Failed"),
        TestOutcome::Incomplete => ("no_verdict", "?", "Incomplete: values are lacking"),
        TestOutcome::NotCounted => ("no_verdict", "?", "Does not count"),
    };
    Ok(Outcome {
        class,
        mark,
        words,
        why: verdict.not_counted.map_or(String::new(), not_counted),
        values: verdict.values.iter().map(value).collect(),
    })
}

fn not_counted(why: NotCounted) -> String {
    match why {
        NotCounted::OutOfCalibration {
            calibrated_until,
            tested_on,
        } => format!(
            "the instrument was calibrated until {calibrated_until}, the test was on {tested_on}"
        ),
        NotCounted::CalibrationUnknown => {
            "nobody said until when the instrument is calibrated".to_owned()
        }
        NotCounted::ConditionNotMet => "a condition of the test was not met".to_owned(),
    }
}

fn value(judged: &Judged<'_>) -> ValueRow {
    let measurand = judged.measurand;
    ValueRow {
        name: name(measurand),
        limits: limits(measurand),
        value: judged
            .value
            .map_or(String::new(), |value| format!("{value} {}", measurand.unit)),
        class: match judged.finding {
            Finding::Within => "complete",
            Finding::TooLow | Finding::TooHigh | Finding::NotMeasured => "lost",
        },
        finding: match judged.finding {
            Finding::Within => "✓ within".to_owned(),
            other => format!("✕ {other}"),
        },
    }
}
