//! Windows and re-anchoring: US Army TM 1-1500-328-23, 30 July 1999, chapter 2 (special
//! inspections) and the section on component change. Its tolerance is 10 % of the interval, at
//! most 5 hours or 30 days; work inside it counts from the due point, else from where it was
//! done, each metric by itself. Hours stand as thousandths.
//!
//! Source: US Army TM 1-1500-328-23, 30 July 1999, chapter 2.

use domain::due::point::Window;
use domain::due::task::{CountsFrom, Interval, Limit};
use domain::time::Day;
use domain::units::Amount;
use tests::tasks::{day, inspection, limit, moment, points_after, running_hours};

const SOURCE: &str = "TM 1-1500-328-23";

/// The window by hours and by calendar after a first moment and doings.
fn windows(
    limits: &[Limit],
    first: (&str, i64),
    done: &[(&str, i64)],
) -> (Option<Window<Day>>, Option<Window<Amount>>) {
    let task = inspection(SOURCE, limits, CountsFrom::DuePoint);
    let done: Vec<_> = done.iter().map(|&(on, hours)| moment(on, hours)).collect();
    let points = points_after(&task, moment(first.0, first.1), &done);
    let hours = points.meters.running_hours;
    (points.calendar.window().copied(), hours.window().copied())
}

fn hours(opens: i64, due: i64, latest: i64) -> Window<Amount> {
    Window {
        opens: Amount(opens),
        due: Amount(due),
        latest: Amount(latest),
    }
}

fn days(opens: &str, due: &str, latest: &str) -> Window<Day> {
    Window {
        opens: day(opens),
        due: day(due),
        latest: day(latest),
    }
}

#[test]
fn a_25_hour_inspection_due_at_1472_7_has_the_printed_window() {
    let every_25 = [limit(running_hours(25_000), 2_500, 2_500)];
    let (_, window) = windows(&every_25, ("1999-01-01", 1_447_700), &[]);
    assert_eq!(window, Some(hours(1_470_200, 1_472_700, 1_475_200)));
}

#[test]
fn a_50_hour_inspection_done_before_its_window_counts_from_where_it_was_done() {
    let every_50 = [limit(running_hours(50_000), 5_000, 5_000)];
    let first = ("1999-01-01", 1_256_400);
    let (_, due) = windows(&every_50, first, &[]);
    assert_eq!(due, Some(hours(1_301_400, 1_306_400, 1_311_400)));
    let (_, next) = windows(&every_50, first, &[("1999-02-01", 1_299_900)]);
    assert_eq!(next.map(|window| window.due), Some(Amount(1_349_900)));
}

#[test]
fn a_six_month_inspection_done_inside_its_window_counts_from_the_due_point() {
    let every_six_months = [limit(Interval::Months(6), 18, 18)];
    let first = ("1998-07-31", 0);
    let (due, _) = windows(&every_six_months, first, &[]);
    assert_eq!(due, Some(days("1999-01-13", "1999-01-31", "1999-02-18")));
    for inside in ["1999-01-13", "1999-01-25", "1999-02-18"] {
        let (next, _) = windows(&every_six_months, first, &[(inside, 0)]);
        assert_eq!(next.map(|window| window.due), Some(day("1999-07-31")));
    }
    let (next, _) = windows(&every_six_months, first, &[("1999-01-12", 0)]);
    assert_eq!(next.map(|window| window.due), Some(day("1999-07-12")));
}

/// 14 days or 10 hours, whichever first; tolerance 1 day and 1 hour.
const DUAL: [Limit; 2] = [
    limit(Interval::Days(14), 1, 1),
    limit(running_hours(10_000), 1_000, 1_000),
];

#[test]
fn an_inspection_by_days_and_hours_has_both_windows() {
    let (calendar, running) = windows(&DUAL, ("1997-05-22", 1_709_000), &[]);
    assert_eq!(
        calendar,
        Some(days("1997-06-04", "1997-06-05", "1997-06-06"))
    );
    assert_eq!(running, Some(hours(1_718_000, 1_719_000, 1_720_000)));
}

#[test]
fn being_inside_one_window_moves_only_that_side() {
    // The rule is the manual's, the numbers are ours: done on 4 June at 1712 hours.
    let done = [("1997-06-04", 1_712_000)];
    let (calendar, running) = windows(&DUAL, ("1997-05-22", 1_709_000), &done);
    assert_eq!(calendar.map(|window| window.due), Some(day("1997-06-19")));
    assert_eq!(running.map(|window| window.due), Some(Amount(1_722_000)));
}

#[test]
fn component_lives_have_the_printed_tolerances() {
    let first = ("1999-01-01", 0);
    let (_, life) = windows(
        &[limit(running_hours(1_000_000), 75_000, 75_000)],
        first,
        &[],
    );
    assert_eq!(life, Some(hours(925_000, 1_000_000, 1_075_000)));
    let (_, life) = windows(&[limit(running_hours(300_000), 30_000, 30_000)], first, &[]);
    assert_eq!(life, Some(hours(270_000, 300_000, 330_000)));
}
