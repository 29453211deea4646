//! Electronic records of locomotives: source 49 CFR 229.20(b) and (c). A record that was sent is not
//! modified or replaced; an amendment is stored apart from it and names its author. 21 CFR
//! 11.10(e) says the same of audit trails: changes do not obscure what was recorded.

use domain::due::facts::MeterFacts;
use domain::due::reforecast;
use domain::due::state::State;
use domain::due::task::{CountsFrom, Interval};
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::units::ByMeter;
use store::Recorded;
use tests::each_database;
use tests::facts::{at, read};
use tests::fleet;
use tests::register::{Register, command, correction, person};
use tests::tasks::{day, inspection, limit, moment, points_after};

/// 229.20(b)(2) and (3).
async fn an_amendment_is_stored_apart_and_the_first_version_stays(url: &str) {
    let mut register = Register::open(url).await;
    register.now_is("2029-01-01T06:00Z");
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let when = at("2029-02-01T00:00Z");
    register.now_is("2029-02-01T08:00Z");
    let first = register.send(person(Role::Technician), command(when, read("4101", 1_000)));
    let Recorded::Now(first) = first.await.unwrap() else {
        panic!("it was not known before");
    };
    register.now_is("2029-02-03T17:30Z");
    let amendment = correction(first.seq, when, read("4101", 1_010));
    let amendment = register.send(person(Role::Planner), amendment).await;
    let Recorded::Now(amendment) = amendment.unwrap() else {
        panic!("it was not known before");
    };
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(first.seq).await.unwrap().unwrap();
    let amended_by = kept.corrected_by;
    let kept = kept.entry;
    assert_eq!(kept, *first);
    assert_eq!(kept.fact, read("4101", 1_000));
    assert_eq!(amended_by, Some(amendment.seq));
    let kept = view.entry(amendment.seq).await.unwrap().unwrap().entry;
    assert_eq!(kept.corrects, Some(first.seq));
    assert_eq!(kept.actor, person(Role::Planner).name);
    assert_eq!(kept.recorded_at, at("2029-02-03T17:30Z"));
    assert!(!kept.reason.is_empty());
    register.proves().await;
}

/// 229.20(b)(2): nor does taking it back remove it.
async fn a_withdrawn_record_stays_readable(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let first = register
        .record("2029-02-01T00:00Z", read("4101", 1_000))
        .await;
    let withdrawal = register.withdraw(first).await;
    register.store.rebuild(|_| ()).await.unwrap();
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(first).await.unwrap().unwrap();
    assert!(matches!(kept.entry.fact, Fact::ReadingTaken(_)));
    assert_eq!(kept.corrected_by, Some(withdrawal));
}

/// 229.20(c)(1): whoever did the work makes the entry within 24 hours of its completion. The register
/// takes later ones too, and they are then late: what they change since is kept with them.
#[test]
fn an_entry_is_in_time_for_24_hours_after_the_work_and_a_minute_later_late() {
    let done = command(at("2029-02-01T16:00Z"), read("4101", 1_000));
    assert!(!done.is_back_dated(at("2029-02-02T16:00Z")));
    assert!(done.is_back_dated(at("2029-02-02T16:01Z")));
}

each_database!(
    an_amendment_is_stored_apart_and_the_first_version_stays,
    a_withdrawn_record_stays_readable,
);

/// 229.20(c)(2): the register says by itself when work is due: on the day its window opens the task
/// stands in it, though nobody recorded anything. The interval is that of 229.29, 368 days; the 30
/// days of notice are invented.
#[test]
fn work_enters_its_window_by_the_day_alone() {
    let limits = [limit(Interval::Days(368), 30, 0)];
    let task = inspection("49 CFR 229.29", &limits, CountsFrom::Done);
    let points = points_after(&task, moment("2024-01-15", 0), &[]);
    let forecast = reforecast(
        &points,
        (&ByMeter::from_fn(|_| MeterFacts::UNKNOWN), &|_, _| None),
    );
    for (on, state) in [
        ("2024-12-17", State::NotDue),
        ("2024-12-18", State::InWindow),
        ("2025-01-16", State::InWindow),
        ("2025-01-17", State::Due),
        ("2025-01-18", State::Overdue),
    ] {
        assert_eq!(forecast.state_on(day(on)), state, "{on}");
    }
}
