use super::*;
use crate::due::compute;
use crate::due::examples::{MONTHS_24, day, fitted_new, km, limits, moment, odometer, overhaul};
use crate::due::point::{DuePoints, Lack, Point};
use crate::due::state::State;
use crate::due::task::Limit;

fn points(task: &Task, subject: &SubjectFacts) -> DuePoints {
    compute(task, subject, &odometer("2024-03-01", 60_000)).points
}

fn due_day(task: &Task, subject: &SubjectFacts) -> Option<Day> {
    points(task, subject)
        .calendar
        .window()
        .map(|window| window.due)
}

fn due_km(task: &Task, subject: &SubjectFacts) -> Option<i64> {
    let points = points(task, subject);
    points
        .meters
        .odometer
        .window()
        .map(|window| window.due.0 / 1000)
}

#[test]
fn before_it_was_ever_done_a_task_counts_from_the_making_or_the_last_overhaul() {
    let new = fitted_new();
    assert_eq!(due_day(&overhaul(), &new), Some(day("2026-01-31")));
    assert_eq!(due_km(&overhaul(), &new), Some(250_000));
    let overhauled = SubjectFacts {
        overhauled: Some(moment("2025-05-01", Some(30_000))),
        ..new
    };
    assert_eq!(due_day(&overhaul(), &overhauled), Some(day("2027-05-01")));
    assert_eq!(due_km(&overhaul(), &overhauled), Some(280_000));
}

#[test]
fn an_unknown_beginning_leaves_the_limit_unknown_rather_than_nought() {
    let unknown = SubjectFacts {
        made: Moment {
            on: None,
            ..moment("2024-01-31", None)
        },
        ..fitted_new()
    };
    let points = points(&overhaul(), &unknown);
    assert_eq!(points.calendar, Point::Unknown(Lack::Anchor));
    assert_eq!(points.meters.odometer, Point::Unknown(Lack::Anchor));
    assert_eq!(points.meters.running_hours, Point::NoLimit);
}

#[test]
fn a_component_of_unknown_past_counts_from_work_done_since() {
    let task = overhaul();
    let done = [Done {
        moment: moment("2025-01-10", Some(12_000)),
        task: &task,
    }];
    let subject = SubjectFacts {
        made: Moment {
            on: None,
            ..moment("2024-01-31", None)
        },
        doings: &done,
        ..fitted_new()
    };
    assert_eq!(due_day(&task, &subject), Some(day("2027-01-10")));
    assert_eq!(due_km(&task, &subject), Some(262_000));
}

#[test]
fn a_life_limit_is_never_reset_and_has_no_late_tolerance() {
    let life = Task {
        kind: TaskKind::LifeLimit,
        counts_from: CountsFrom::DuePoint,
        ..overhaul()
    };
    let done = [Done {
        moment: moment("2026-01-31", Some(200_000)),
        task: &life,
    }];
    let subject = SubjectFacts {
        overhauled: Some(moment("2025-01-01", Some(100_000))),
        doings: &done,
        ..fitted_new()
    };
    let points = points(&life, &subject);
    let calendar = points.calendar.window().expect("known");
    let odometer = points.meters.odometer.window().expect("known");
    assert_eq!(calendar.due, day("2026-01-31"));
    assert_eq!(odometer.due, Amount::whole(250_000));
    assert_eq!(calendar.latest, calendar.due);
    assert_eq!(odometer.latest, odometer.due);
}

#[test]
fn brought_in_use_shortens_what_is_left_of_a_life() {
    let life = Task {
        kind: TaskKind::LifeLimit,
        ..overhaul()
    };
    let made = Moment::made(
        Some(day("2020-01-01")),
        FirstFitting::UNKNOWN,
        &km(Some(150_000)),
    );
    let used = SubjectFacts {
        made,
        ..fitted_new()
    };
    assert_eq!(due_km(&life, &used), Some(100_000));
}

#[test]
fn a_clock_that_starts_at_fitting_waits_in_store_but_not_longer_than_it_may() {
    // Elastomers age on the shelf: common practice, no source.
    let waits = Task {
        clock_start: ClockStart::Fitting,
        ..overhaul()
    };
    let ages = Task {
        longest_in_store_days: Some(365),
        ..waits.clone()
    };
    let with = |fitted| SubjectFacts {
        made: Moment {
            fitted,
            ..moment("2024-01-31", Some(0))
        },
        ..fitted_new()
    };
    let in_store = with(FirstFitting::NotYet);
    assert_eq!(points(&waits, &in_store).calendar, Point::NotStarted);
    assert_eq!(due_day(&ages, &in_store), Some(day("2027-01-30")));
    let soon = with(FirstFitting::On(day("2024-07-01")));
    assert_eq!(due_day(&waits, &soon), Some(day("2026-07-01")));
    assert_eq!(due_day(&ages, &soon), Some(day("2026-07-01")));
    let after_two_years = with(FirstFitting::On(day("2026-01-31")));
    assert_eq!(due_day(&waits, &after_two_years), Some(day("2028-01-31")));
    assert_eq!(due_day(&ages, &after_two_years), Some(day("2027-01-30")));
}

/// What was on a car at some time before it came in, or was not: its clock began between its making
/// and the end of the longest time in store.
#[test]
fn a_clock_of_unknown_beginning_runs_out_at_the_latest_by_the_last_day_that_is_possible() {
    let waits = Task {
        clock_start: ClockStart::Fitting,
        limits: limits(&[MONTHS_24]),
        ..overhaul()
    };
    let ages = Task {
        longest_in_store_days: Some(730),
        ..waits.clone()
    };
    let made = |on: Option<&str>, fitted| SubjectFacts {
        made: Moment {
            on: on.map(day),
            fitted,
            ..moment("2019-01-01", Some(0))
        },
        ..fitted_new()
    };
    let latest = |task: &Task, subject: &SubjectFacts| match points(task, subject).calendar {
        Point::AtTheLatest(window) => Some(window.due),
        Point::Unknown(Lack::Anchor) => None,
        other => panic!("{other:?}"),
    };
    let unknown = made(Some("2019-01-01"), FirstFitting::UNKNOWN);
    assert_eq!(latest(&ages, &unknown), Some(day("2022-12-31")));
    assert_eq!(latest(&waits, &unknown), None);
    let on_car = FirstFitting::unknown_until(day("2020-06-01"));
    let on_car = made(Some("2019-01-01"), on_car);
    assert_eq!(latest(&ages, &on_car), Some(day("2022-06-01")));
    assert_eq!(latest(&waits, &on_car), Some(day("2022-06-01")));
    let of_unknown_age = made(None, FirstFitting::On(day("2020-06-01")));
    assert_eq!(latest(&ages, &of_unknown_age), Some(day("2022-06-01")));
    let nothing_known = made(None, FirstFitting::UNKNOWN);
    assert_eq!(latest(&ages, &nothing_known), None);
    let state = |on| {
        let row = compute(&ages, &unknown, &odometer("2024-03-01", 60_000));
        row.forecast.state_on(day(on))
    };
    // 30 days late; until they are over it may be due or not.
    assert_eq!(state("2023-01-30"), State::Unknown);
    assert_eq!(state("2023-01-31"), State::Overdue);
}

/// Whether it was done within tolerance of a point that nobody knows cannot be said.
#[test]
fn work_done_counts_from_where_it_was_done_after_a_point_that_is_known_only_at_the_latest() {
    let task = Task {
        clock_start: ClockStart::Fitting,
        counts_from: CountsFrom::DuePoint,
        longest_in_store_days: Some(730),
        limits: limits(&[MONTHS_24]),
        ..overhaul()
    };
    let done = [Done {
        moment: moment("2022-12-20", Some(0)),
        task: &task,
    }];
    let subject = SubjectFacts {
        made: Moment {
            fitted: FirstFitting::UNKNOWN,
            ..moment("2019-01-01", Some(0))
        },
        doings: &done,
        ..fitted_new()
    };
    assert_eq!(due_day(&task, &subject), Some(day("2024-12-20")));
}

#[test]
fn due_points_months_apart_do_not_drift_to_the_beginning_of_the_month() {
    let monthly = Task {
        limits: limits(&[Limit {
            interval: Interval::Months(1),
            early: 5,
            late: 5,
        }]),
        counts_from: CountsFrom::DuePoint,
        ..overhaul()
    };
    let subject = SubjectFacts {
        made: moment("2025-01-31", Some(0)),
        ..fitted_new()
    };
    let done = ["2025-02-27", "2025-03-31", "2025-04-30"].map(|on| Done {
        moment: moment(on, Some(0)),
        task: &monthly,
    });
    for (times, due) in ["2025-02-28", "2025-03-31", "2025-04-30", "2025-05-31"]
        .into_iter()
        .enumerate()
    {
        let subject = SubjectFacts {
            doings: &done[..times],
            ..subject
        };
        assert_eq!(due_day(&monthly, &subject), Some(day(due)));
    }
}

#[test]
fn a_changed_interval_does_not_move_what_was_counted_before() {
    let before = Task {
        counts_from: CountsFrom::DuePoint,
        ..overhaul()
    };
    let after = Task {
        limits: limits(&[Limit {
            interval: Interval::Months(36),
            early: 0,
            late: 0,
        }]),
        ..before.clone()
    };
    let done = [Done {
        moment: moment("2026-01-10", Some(150_000)),
        task: &before,
    }];
    let subject = SubjectFacts {
        doings: &done,
        ..fitted_new()
    };
    // Done inside its window then: counted on from 2026-01-31 by the new interval.
    assert_eq!(due_day(&after, &subject), Some(day("2029-01-31")));
}
