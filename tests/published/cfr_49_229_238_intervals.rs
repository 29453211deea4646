//! Intervals of brake maintenance in days: 49 CFR 238.309, 229.23, 229.27 and 229.29
//! (2015 edition). All read "not to exceed", counted from the day done.
//!
//! Source: 49 CFR 229.23, 229.27, 229.29, 238.309 (2015 edition).

use domain::due::task::{CountsFrom, Interval};
use tests::tasks::{day, inspection, limit, moment, points_after};

/// Done on 2024-01-15, when due next?
fn next_due(place: &str, days: u32) -> String {
    let task = inspection(
        place,
        &[limit(Interval::Days(days), 0, 0)],
        CountsFrom::Done,
    );
    let points = points_after(&task, moment("2020-06-01", 0), &[moment("2024-01-15", 0)]);
    let window = *points.calendar.window().expect("a calendar limit");
    assert_eq!(window.due, window.latest, "{place} allows no more");
    window.due.to_string()
}

fn check(rows: &[(&str, u32, &str)]) {
    for &(place, days, expected) in rows {
        assert_eq!(next_due(place, days), expected, "{place}");
    }
}

#[test]
fn periodic_brake_equipment_maintenance_of_passenger_equipment() {
    check(&[
        ("49 CFR 238.309(b)(1)", 736, "2026-01-20"),
        ("49 CFR 238.309(b)(2)", 1_104, "2027-01-23"),
        ("49 CFR 238.309(b)(3)", 1_840, "2029-01-28"),
        ("49 CFR 238.309(b)(4)", 736, "2026-01-20"),
        ("49 CFR 238.309(d)(1)", 2_208, "2030-01-31"),
        ("49 CFR 238.309(d)(2)", 1_476, "2028-01-30"),
        ("49 CFR 238.309(d)(3)", 1_104, "2027-01-23"),
        ("49 CFR 238.309(e)(1)", 1_840, "2029-01-28"),
        ("49 CFR 238.309(e)(2)", 1_476, "2028-01-30"),
        ("49 CFR 238.309(e)(3)", 1_104, "2027-01-23"),
        ("49 CFR 238.309(e)(4)", 736, "2026-01-20"),
    ]);
}

#[test]
fn locomotive_tests_and_brake_maintenance() {
    check(&[
        ("49 CFR 229.23(a)", 92, "2024-04-16"),
        ("49 CFR 229.23(b)(1)", 184, "2024-07-17"),
        ("49 CFR 229.27(a)", 368, "2025-01-17"),
        ("49 CFR 229.29(b)", 92, "2024-04-16"),
        ("49 CFR 229.29(d)", 368, "2025-01-17"),
        ("49 CFR 229.29(e), level 2", 368, "2025-01-17"),
        ("49 CFR 229.29(e), level 3", 736, "2026-01-20"),
        ("49 CFR 229.29(f)(1)", 1_104, "2027-01-23"),
        ("49 CFR 229.29(f)(2)", 1_472, "2028-01-26"),
        ("49 CFR 229.29(f)(3)", 1_840, "2029-01-28"),
    ]);
}

#[test]
fn each_portion_of_one_vehicle_has_its_own_clock() {
    // 49 CFR 238.309(e)(2) and (3): two portions of one cab car, done on different days.
    let portion = |place, days, done| {
        let limits = [limit(Interval::Days(days), 0, 0)];
        let task = inspection(place, &limits, CountsFrom::Done);
        let points = points_after(&task, moment("2020-06-01", 0), &[moment(done, 0)]);
        points.calendar.window().map(|window| window.due)
    };
    let coach_portion = portion("49 CFR 238.309(e)(2)", 1_476, "2024-01-15");
    let locomotive_portion = portion("49 CFR 238.309(e)(3)", 1_104, "2025-01-17");
    assert_eq!(coach_portion, Some(day("2028-01-30")));
    assert_eq!(locomotive_portion, Some(day("2028-01-26")));
}
