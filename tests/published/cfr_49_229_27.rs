//! Electronic indication of air pressure: 49 CFR 229.27(b), which asks for correction of an
//! error greater than 5 % or greater than 3 psi. The pressures are ours.
//!
//! Source: 49 CFR 229.27(b).

use domain::test_record::procedure::MeasurandRole;
use domain::test_record::verdict::TestOutcome;
use tests::measuring::outcome;

/// The indication at a true pressure in psi, whose bounds are the tighter of the two errors.
fn shown(true_psi: u32, value: &str) -> TestOutcome {
    let thousandths = (true_psi * 50).min(3_000);
    let bound = |thousandths: u32| format!("{}.{:03}", thousandths / 1000, thousandths % 1000);
    let lower = bound(true_psi * 1000 - thousandths);
    let upper = bound(true_psi * 1000 + thousandths);
    let limit = (
        "indication",
        MeasurandRole::Result,
        "psi",
        lower.as_str(),
        upper.as_str(),
    );
    outcome("49 CFR 229.27(b)", &[limit], &[("indication", value)])
}

#[test]
fn an_error_of_exactly_3_psi_and_5_percent_is_not_greater() {
    assert_eq!(shown(60, "63.0"), TestOutcome::Passed);
    assert_eq!(shown(60, "57.0"), TestOutcome::Passed);
    assert_eq!(shown(60, "63.1"), TestOutcome::Failed);
}

#[test]
fn the_tighter_of_both_errors_decides() {
    assert_eq!(shown(100, "104"), TestOutcome::Failed);
    assert_eq!(shown(100, "103"), TestOutcome::Passed);
    assert_eq!(shown(40, "42.5"), TestOutcome::Failed);
}
