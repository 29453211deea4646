//! A procedure with its limits and a record of measured values, for checks of verdicts against
//! published limits.

use domain::configuration::component::Subject;
use domain::due::task::AppliesTo;
use domain::test_record::procedure::{Bounds, Measurand, MeasurandRole, Procedure};
use domain::test_record::record::{Instrument, MeasuredValue, TestRecord};
use domain::test_record::verdict::{TestOutcome, verdict};
use domain::time::Zone;

/// One limit: what is measured, its role, unit, lower and upper bound; "" for none.
pub type LimitRow<'a> = (&'a str, MeasurandRole, &'a str, &'a str, &'a str);

/// The outcome of measuring the values under the limits, with a calibrated instrument.
///
/// # Panics
/// When limits or values cannot be read.
pub fn outcome(source: &str, limits: &[LimitRow], values: &[(&str, &str)]) -> TestOutcome {
    let procedure = procedure(source, limits);
    let verdict = verdict(&procedure, &record(values), &Zone::UTC);
    verdict.expect("a record of the procedure").outcome
}

/// A procedure with these limits.
///
/// # Panics
/// When they cannot be read.
pub fn procedure(source: &str, limits: &[LimitRow]) -> Procedure {
    let measurand = |&(name, role, unit, lower, upper): &LimitRow| Measurand {
        name: name.parse().expect("a name"),
        load: None,
        role,
        unit: unit.to_owned(),
        bounds: Bounds::new(lower.parse().ok(), upper.parse().ok()).expect("bounds"),
        measured_at: Vec::new(),
        during: None,
    };
    let measurands: Vec<Measurand> = limits.iter().map(measurand).collect();
    Procedure {
        code: "P-1".parse().expect("a code"),
        revision: "A".parse().expect("a revision"),
        title: "Test".to_owned(),
        applies_to: AppliesTo::CarType("T-1".parse().expect("a type")),
        measurands: measurands.try_into().expect("each once"),
        task: None,
        source: source.to_owned(),
    }
}

fn record(values: &[(&str, &str)]) -> TestRecord {
    let value = |&(name, value): &(&str, &str)| MeasuredValue {
        measurand: name.parse().expect("a name"),
        load: None,
        value: value.parse().expect("a decimal"),
    };
    TestRecord {
        id: "T-1".parse().expect("an identity"),
        subject: Subject::Car("1".parse().expect("a number")),
        procedure: "P-1".parse().expect("a code"),
        revision: "A".parse().expect("a revision"),
        at: "2025-06-01T10:00Z".parse().expect("a time"),
        tester: "A. Tester".parse().expect("a name"),
        instrument: Instrument {
            number: "G-1".parse().expect("a number"),
            calibrated_until: "2025-12-31".parse().ok(),
        },
        values: values.iter().map(value).collect(),
    }
}
