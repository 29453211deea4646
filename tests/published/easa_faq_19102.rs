//! What the next interval counts from: EASA frequently asked question 19102. Normally the day
//! done; after an extension under the approved procedure the original due date; for a component
//! the clock may start at its overhaul or, if its data say so, at installation. The dates are
//! ours.
//!
//! Source: EASA frequently asked question 19102.

use domain::due::facts::{FirstFitting, Moment};
use domain::due::task::{ClockStart, CountsFrom, Interval, Task};
use domain::time::Day;
use tests::tasks::{day, inspection, limit, moment, points_after};

fn yearly() -> Task {
    // An extension by 30 days is granted.
    let limits = [limit(Interval::Months(12), 0, 30)];
    inspection("EASA FAQ 19102", &limits, CountsFrom::DuePoint)
}

fn next_due(task: &Task, first: Moment, done: &[Moment]) -> Option<Day> {
    let points = points_after(task, first, done);
    points.calendar.window().map(|window| window.due)
}

#[test]
fn without_extension_the_next_is_counted_from_the_day_done() {
    let early = next_due(
        &yearly(),
        moment("2024-03-10", 0),
        &[moment("2025-02-20", 0)],
    );
    assert_eq!(early, Some(day("2026-02-20")));
}

#[test]
fn after_an_extension_the_next_is_counted_from_the_original_due_date() {
    let extended = next_due(
        &yearly(),
        moment("2024-03-10", 0),
        &[moment("2025-04-02", 0)],
    );
    assert_eq!(extended, Some(day("2026-03-10")));
}

#[test]
fn the_clock_of_a_component_starts_at_its_overhaul_or_at_installation() {
    let overhauled = Moment {
        fitted: FirstFitting::On(day("2024-09-01")),
        ..moment("2024-03-10", 0)
    };
    let at_overhaul = yearly();
    assert_eq!(
        next_due(&at_overhaul, overhauled, &[]),
        Some(day("2025-03-10"))
    );
    let at_installation = Task {
        clock_start: ClockStart::Fitting,
        ..yearly()
    };
    assert_eq!(
        next_due(&at_installation, overhauled, &[]),
        Some(day("2025-09-01"))
    );
}
