//! The dates of due points.

use super::*;
use crate::due::examples::{day, fitted_new, limits, moment, odometer, overhaul, scale};
use crate::due::facts::{ScaleBegins, SubjectFacts};
use crate::due::state::State;
use crate::due::task::{Interval, Limit, Task};
use crate::due::{compute, compute_read};
use proptest::prelude::*;

fn forecast(meters: &ByMeter<MeterFacts>) -> Forecast {
    compute(&overhaul(), &fitted_new(), meters).forecast
}

#[test]
fn each_lacking_fact_is_said_with_its_limit() {
    let known = Lacking::default();
    assert_eq!(known.in_words(), None);
    let meters = ByMeter {
        odometer: Some(Lack::Reading),
        running_hours: None,
        compressor_hours: Some(Lack::Rate),
    };
    let facts = Lacking { meters, ..known }.in_words().unwrap();
    let expected = "odometer: no reading to tell the date by; compressor hours read too rarely to tell its daily gain";
    assert_eq!(facts, expected);
}

#[test]
fn the_first_limit_sets_the_date_and_is_named() {
    // 200,000 km from 50,000 on; 24 months from 2024-01-31.
    let hard_run = forecast(&odometer("2025-06-01", 230_000));
    assert_eq!(hard_run.on, Some(day("2025-07-21")));
    assert_eq!(hard_run.early, Some(day("2025-07-11")));
    assert_eq!(hard_run.late, Some(day("2025-08-06")));
    assert_eq!(hard_run.opens, Some(day("2025-06-01")));
    assert_eq!(hard_run.latest, Some(day("2025-08-15")));
    assert_eq!(hard_run.set_by, Some(Metric::Odometer));
    let little_run = forecast(&odometer("2025-06-01", 60_000));
    assert_eq!(little_run.on, Some(day("2026-01-31")));
    assert_eq!(little_run.set_by, Some(Metric::Calendar));
}

#[test]
fn a_meter_that_stands_still_gives_no_date_and_leaves_the_calendar() {
    let mut meters = odometer("2025-06-01", 230_000);
    meters.odometer.rate = Some(DailyRate::STILL);
    let standing = forecast(&meters);
    assert_eq!(standing.on, Some(day("2026-01-31")));
    assert_eq!(standing.set_by, Some(Metric::Calendar));
    assert!(standing.lacking.is_nothing());
}

#[test]
fn without_readings_or_a_rate_the_limit_is_listed_as_unknown() {
    let mut meters = odometer("2025-06-01", 230_000);
    meters.odometer.rate = None;
    let unrated: Vec<_> = forecast(&meters).lacking.iter().collect();
    assert_eq!(unrated, [(Metric::Odometer, Lack::Rate)]);
    meters.odometer.last = None;
    let unread: Vec<_> = forecast(&meters).lacking.iter().collect();
    assert_eq!(unread, [(Metric::Odometer, Lack::Reading)]);
    let on_unread_car = SubjectFacts {
        made: moment("2024-01-31", None),
        scale: scale(0, ScaleBegins::AfterAGap),
        ..fitted_new()
    };
    let unknown = compute(&overhaul(), &on_unread_car, &meters).forecast;
    let unknown: Vec<_> = unknown.lacking.iter().collect();
    assert_eq!(unknown, [(Metric::Odometer, Lack::Use)]);
}

#[test]
fn what_a_reading_has_passed_is_past_whatever_the_rate() {
    let mut meters = odometer("2025-06-01", 260_001);
    for rate in [
        DailyRate::new(Amount(0), Amount::whole(100_000), Amount::whole(100_000)),
        Some(DailyRate::STILL),
        None,
    ] {
        meters.odometer.rate = rate;
        let passed = forecast(&meters);
        assert_eq!(passed.state_on(day("2025-06-01")), State::Overdue);
        assert_eq!(passed.set_by, Some(Metric::Odometer));
    }
}

#[test]
fn a_window_that_has_begun_began_between_the_readings_around_it() {
    let opens = Amount::whole(230_000);
    for km in [230_000, 235_000] {
        let meters = odometer("2025-06-01", km);
        let passed = |_, value| (value < opens).then(|| day("2025-03-09"));
        let row = compute_read(&overhaul(), &fitted_new(), (&meters, &passed));
        assert!(row.points.are_passed(&meters), "{km}");
        assert_eq!(row.forecast.opens, Some(day("2025-03-10")), "{km}");
        assert_eq!(row.forecast.state_on(day("2025-06-01")), State::InWindow);
    }
    let unread_before = forecast(&odometer("2025-06-01", 235_000));
    assert_eq!(unread_before.opens, Some(day("2025-05-20")));
    let meters = odometer("2025-06-01", 229_999);
    let ahead = compute(&overhaul(), &fitted_new(), &meters);
    assert!(!ahead.points.are_passed(&meters));
}

#[test]
fn a_component_at_rest_is_judged_by_what_it_has_run() {
    let in_store = SubjectFacts {
        scale: scale(0, ScaleBegins::WithItsLife),
        ..fitted_new()
    };
    let state = |km| {
        let mut meters = odometer("2025-06-01", 0);
        meters.odometer = MeterFacts::at_rest(Amount::whole(km), day("2024-06-01"));
        let row = compute(&overhaul(), &in_store, &meters);
        row.forecast.state_on(day("2025-06-01"))
    };
    assert_eq!(state(100_000), State::NotDue);
    assert_eq!(state(180_000), State::InWindow);
    assert_eq!(state(210_001), State::Overdue);
}

fn by_km(interval_km: i64) -> Task {
    Task {
        limits: limits(&[Limit {
            interval: Interval::Usage(Meter::Odometer, Amount::whole(interval_km)),
            early: 0,
            late: 0,
        }]),
        ..overhaul()
    }
}

proptest! {
    #[test]
    fn a_shorter_interval_is_never_due_later(
        interval in 2_i64..2_000_000,
        less in 1_i64..2_000_000,
        read_km in 0_i64..3_000_000,
    ) {
        let less = less.min(interval - 1);
        let meters = odometer("2025-06-01", read_km);
        let on = |km| compute(&by_km(km), &fitted_new(), &meters).forecast.on;
        prop_assert!(on(interval - less) <= on(interval));
    }

    #[test]
    fn a_shorter_calendar_interval_is_never_due_later(
        months in 2_u32..600,
        less in 1_u32..600,
    ) {
        let by_months = |months| Task {
            limits: limits(&[Limit {
                interval: Interval::Months(months),
                early: 0,
                late: 0,
            }]),
            ..overhaul()
        };
        let meters = odometer("2025-06-01", 60_000);
        let on = |m| compute(&by_months(m), &fitted_new(), &meters).forecast.on;
        prop_assert!(on(months - less.min(months - 1)) < on(months));
    }

    #[test]
    fn dates_stand_in_order(interval in 1_i64..2_000_000, read_km in 0_i64..3_000_000) {
        let meters = odometer("2025-06-01", read_km);
        let dates = compute(&by_km(interval), &fitted_new(), &meters).forecast;
        prop_assert!(dates.early <= dates.on && dates.on <= dates.late);
        prop_assert!(dates.opens <= dates.on && dates.on <= dates.latest);
    }

    #[test]
    fn a_reading_that_was_forecast_moves_no_date(days in 0_i64..1_000) {
        let point = by_km(500_000);
        let first = odometer("2025-06-01", 60_000);
        let on = day("2025-06-01").plus_days(days).to_string();
        let later = odometer(&on, 60_000 + 400 * days);
        let of = |meters| compute(&point, &fitted_new(), meters).forecast.on;
        prop_assert_eq!(of(&first), of(&later));
    }
}
