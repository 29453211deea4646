//! The 100-hour inspection: 14 CFR 91.409(b). The limit may be exceeded by at most 10 hours,
//! and the excess is included in the next 100 hours. The numbers are ours.
//!
//! Source: 14 CFR 91.409(b).

use domain::due::facts::{LastReading, MeterFacts};
use domain::due::reforecast;
use domain::due::state::State;
use domain::due::task::{CountsFrom, Task};
use domain::units::{Amount, ByMeter};
use domain::usage::rate::DailyRate;
use tests::tasks::{day, inspection, limit, moment, points_after, running_hours};

fn hundred_hours() -> Task {
    let limits = [limit(running_hours(100_000), 0, 10_000)];
    inspection("14 CFR 91.409(b)", &limits, CountsFrom::DuePoint)
}

/// Last done at 1,000 hours and done again at so many: when due next?
fn next_due_hours(done_at: i64) -> Option<Amount> {
    let done = [moment("2025-03-01", done_at * 1000)];
    let points = points_after(&hundred_hours(), moment("2025-01-01", 1_000_000), &done);
    points
        .meters
        .running_hours
        .window()
        .map(|window| window.due)
}

/// The state when a reading shows so many hours, last done at 1,000.
fn state_at(hours: i64) -> State {
    let points = points_after(&hundred_hours(), moment("2025-01-01", 1_000_000), &[]);
    let mut meters = ByMeter::from_fn(|_| MeterFacts::UNKNOWN);
    meters.running_hours = MeterFacts {
        last: Some(LastReading {
            on: day("2025-03-01"),
            usage: Amount::whole(hours),
        }),
        rate: Some(DailyRate::STILL),
    };
    reforecast(&points, (&meters, &|_, _| None)).state_on(day("2025-03-01"))
}

#[test]
fn the_excess_is_included_in_the_next_interval() {
    assert_eq!(next_due_hours(1_100), Some(Amount::whole(1_200)));
    assert_eq!(next_due_hours(1_108), Some(Amount::whole(1_200)));
    assert_eq!(next_due_hours(1_110), Some(Amount::whole(1_200)));
}

#[test]
fn work_done_early_counts_from_where_it_was_done() {
    assert_eq!(next_due_hours(1_090), Some(Amount::whole(1_190)));
}

#[test]
fn an_excess_above_ten_hours_is_overdue() {
    assert_eq!(state_at(1_100), State::Due);
    assert_eq!(state_at(1_108), State::InLateTolerance);
    assert_eq!(state_at(1_110), State::InLateTolerance);
    assert_eq!(state_at(1_111), State::Overdue);
}
