//! Limits of the Class I brake test: 49 CFR 232.205(c) (2015 edition), and the piston travel
//! of passenger equipment, 49 CFR 238.313(g)(3).
//!
//! Source: 49 CFR 232.205(c) and 238.313(g)(3) (2015 edition).

use domain::test_record::procedure::MeasurandRole::{Condition, Result};
use domain::test_record::verdict::TestOutcome::{self, Failed, NotCounted, Passed};
use tests::measuring::{LimitRow, outcome};

fn one(source: &str, limit: LimitRow, value: &str) -> TestOutcome {
    outcome(source, &[limit], &[(limit.0, value)])
}

#[test]
fn leakage_of_5_psi_a_minute_passes_and_5_1_fails() {
    let leakage = ("leakage", Result, "psi/min", "", "5");
    let source = "49 CFR 232.205(c)(1)";
    assert_eq!(one(source, leakage, "5.0"), Passed);
    assert_eq!(one(source, leakage, "5.1"), Failed);
}

#[test]
fn an_air_flow_of_60_cubic_feet_a_minute_passes_and_61_fails() {
    let flow = ("air flow", Result, "CFM", "", "60");
    let source = "49 CFR 232.205(c)(1)";
    assert_eq!(one(source, flow, "60"), Passed);
    assert_eq!(one(source, flow, "61"), Failed);
}

#[test]
fn rear_pressure_lies_within_15_psi_of_operating_and_not_below_75() {
    // 49 CFR 232.205(c)(1)(i)(A); "within 15" is read as at most 15.
    let rear = |operating: u32, value| {
        let lower = 75.max(operating - 15).to_string();
        let limit = ("rear pressure", Result, "psi", lower.as_str(), "");
        one("49 CFR 232.205(c)(1)(i)(A)", limit, value)
    };
    assert_eq!(rear(90, "75"), Passed);
    assert_eq!(rear(90, "74"), Failed);
    assert_eq!(rear(95, "76"), Failed);
    assert_eq!(rear(95, "80"), Passed);
}

#[test]
fn a_piston_travel_of_6_5_inches_passes_in_freight_and_fails_in_passenger_service() {
    let freight = ("piston travel", Result, "in", "6", "9");
    let passenger = ("piston travel", Result, "in", "7", "9");
    assert_eq!(one("49 CFR 232.205(c)(5)", freight, "6.5"), Passed);
    assert_eq!(one("49 CFR 238.313(g)(3)", passenger, "6.5"), Failed);
    // Both adjust to 7½ inches.
    assert_eq!(one("49 CFR 232.205(c)(5)", freight, "7.5"), Passed);
    assert_eq!(one("49 CFR 238.313(g)(3)", passenger, "7.5"), Passed);
}

#[test]
fn a_leakage_read_too_soon_after_lapping_does_not_count() {
    // 49 CFR 232.205(c)(1)(i)(D): read after 45 to 60 seconds.
    let limits = [
        ("time from lapping", Condition, "s", "45", "60"),
        ("leakage", Result, "psi/min", "", "5"),
    ];
    let after = |seconds| {
        let values = [("time from lapping", seconds), ("leakage", "4.2")];
        outcome("49 CFR 232.205(c)(1)(i)(D)", &limits, &values)
    };
    assert_eq!(after("44"), NotCounted);
    assert_eq!(after("45"), Passed);
    assert_eq!(after("60"), Passed);
    assert_eq!(after("61"), NotCounted);
}
