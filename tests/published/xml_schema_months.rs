//! Adding months: W3C XML Schema part 2, appendix E, which clips to the end of the month. The
//! dates were computed by that rule; the example of order is the appendix's own (E.2, where the
//! republished text misprints a year).
//!
//! Source: W3C XML Schema part 2, appendix E; RFC 7529, `SKIP=BACKWARD`, by the test vectors of a
//! calendar library (secondary).

use domain::due::task::{CountsFrom, Interval};
use tests::tasks::{day, inspection, limit, moment, points_after};

#[test]
fn a_day_that_the_month_lacks_becomes_its_last() {
    for (from, months, expected) in [
        ("2024-01-31", 1, "2024-02-29"),
        ("2025-01-31", 1, "2025-02-28"),
        ("2025-01-31", 3, "2025-04-30"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2023-08-31", 6, "2024-02-29"),
        ("2025-08-31", 6, "2026-02-28"),
    ] {
        assert_eq!(
            day(from).plus_months(months),
            day(expected),
            "{from} + {months}"
        );
    }
}

#[test]
fn months_added_one_by_one_drift_and_due_points_do_not() {
    let first = day("2025-01-31");
    let one_by_one = (0..4).fold(first, |day, _| day.plus_months(1));
    assert_eq!(one_by_one, day("2025-05-28"));
    assert_eq!(first.plus_months(4), day("2025-05-31"));

    let limits = [limit(Interval::Months(1), 3, 3)];
    let monthly = inspection("XML Schema part 2", &limits, CountsFrom::DuePoint);
    let done = ["2025-02-28", "2025-03-31", "2025-04-30"].map(|on| moment(on, 0));
    let points = points_after(&monthly, moment("2025-01-31", 0), &done);
    let due = points.calendar.window().map(|window| window.due);
    assert_eq!(due, Some(day("2025-05-31")));
}

#[test]
fn the_order_of_days_and_months_matters() {
    let day_then_month = day("2000-03-30").plus_days(1).plus_months(1);
    let month_then_day = day("2000-03-30").plus_months(1).plus_days(1);
    assert_eq!(day_then_month, day("2000-04-30"));
    assert_eq!(month_then_day, day("2000-05-01"));
}

/// RFC 7529 names three ways out of a day that the month lacks; this is the one taken here.
#[test]
fn a_task_of_every_month_falls_where_a_calendar_that_skips_backward_puts_it() {
    let limits = [limit(Interval::Months(1), 3, 3)];
    let monthly = inspection("RFC 7529", &limits, CountsFrom::DuePoint);
    let first = moment("2014-01-31", 0);
    let mut done = Vec::new();
    for expected in ["2014-02-28", "2014-03-31", "2014-04-30"] {
        let points = points_after(&monthly, first, &done);
        let due = points.calendar.window().map(|window| window.due);
        assert_eq!(due, Some(day(expected)));
        done.push(moment(expected, 0));
    }
}
