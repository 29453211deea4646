//! Work that is due at once, work that has no date, and what the first interval of a car counts
//! from.

use domain::configuration::component::{ComponentRef, Condition, RemovalReason, Subject};
use domain::configuration::location::Sent;
use domain::due::at_once::{AtOnce, AtOnceCause};
use domain::due::point::Lack;
use domain::due::state::State;
use domain::due::task::{ClockStart, CountsFrom, Interval, Limit};
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Brought, Fact, Receipt, Removal};
use domain::refusal::Refusal;
use domain::time::Day;
use domain::units::Amount;
use store::read::due::{DueFilter, DueItem};
use tests::assemblies::{self, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, car, component, done, done_on, fitted, fitted_at, inside, judged, leakage_tested, position,
    read, receipt,
};
use tests::fleet::{self, BRAKE_TEST, FIRST, OVERHAUL, SECOND, VALVE, overhaul};
use tests::register::Register;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn removed_because(component: &ComponentRef, reason: RemovalReason) -> Fact {
    Fact::Removed {
        component: component.clone(),
        from: None,
        removal: Removal {
            reason,
            to: "Workshop".parse().unwrap(),
            sent: Sent::default(),
            condition: Condition::RemovedToBeJudged,
            evidence: None,
        },
    }
}

async fn list(register: &Register, state: State) -> Vec<DueItem> {
    let filter = DueFilter {
        state: Some(state),
        ..DueFilter::all(day("2026-06-01"))
    };
    let mut view = register.store.view().await.unwrap();
    view.due(&filter).await.unwrap()
}

async fn brake_test(register: &Register, state: State) -> Option<DueItem> {
    let of_car = |item: &DueItem| item.subject == Subject::Car("4101".parse().unwrap());
    list(register, state).await.into_iter().find(of_car)
}

fn cause(due: &DueItem) -> Option<(Day, AtOnceCause, Seq)> {
    let AtOnce { on, cause, by } = due.forecast.at_once?;
    Some((on, cause, by))
}

async fn a_failed_test_makes_its_task_due_at_once_until_it_is_passed_or_done(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2026-01-01T00:00Z").await;
    let subject = Subject::Car("4101".parse().unwrap());
    register
        .record("2026-02-01T00:00Z", done_on(subject.clone(), BRAKE_TEST))
        .await;
    assert!(brake_test(&register, State::NotDue).await.is_some());

    let test = |id, when, value| leakage_tested(id, "4101", at(when), value);
    let failed = test("T-1", "2026-03-01T09:00Z", "0.9");
    let by = register.record("2026-03-01T09:00Z", failed).await;
    let due = brake_test(&register, State::Due).await.unwrap();
    let found = (day("2026-03-01"), AtOnceCause::FailedTest, by);
    assert_eq!(cause(&due), Some(found));
    assert_eq!(
        (due.forecast.on, due.forecast.set_by),
        (Some(found.0), None)
    );
    // Failed once more it is due since it failed first.
    let again = test("T-1b", "2026-03-01T15:00Z", "0.8");
    register.record("2026-03-01T15:00Z", again).await;
    let due = brake_test(&register, State::Due).await.unwrap();
    assert_eq!(cause(&due), Some(found));
    // Work done before it answers nothing.
    register
        .record("2026-02-20T00:00Z", done_on(subject.clone(), BRAKE_TEST))
        .await;
    assert!(brake_test(&register, State::Due).await.is_some());

    let passed = test("T-2", "2026-03-02T09:00Z", "0.1");
    register.record("2026-03-02T09:00Z", passed).await;
    assert!(brake_test(&register, State::NotDue).await.is_some());

    let failed = test("T-3", "2026-04-01T09:00Z", "0.9");
    register.record("2026-04-01T09:00Z", failed).await;
    assert!(brake_test(&register, State::Due).await.is_some());
    register
        .record("2026-04-02T00:00Z", done_on(subject, BRAKE_TEST))
        .await;
    let due = brake_test(&register, State::NotDue).await.unwrap();
    assert_eq!(due.forecast.on, Some(day("2027-04-02")));
    register.proves().await;
}

async fn a_removal_for_cause_makes_the_overhaul_due_until_judged_or_done(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2026-01-01T00:00Z").await;
    let [valve, other, third, ..] = &components.valves[..] else {
        unreachable!()
    };
    for (component, place) in [(valve, "4101"), (other, "4102"), (third, "4103")] {
        let at = position(place, FIRST);
        register
            .record("2026-02-01T00:00Z", fitted(component, &at))
            .await;
    }
    let off = "2026-03-01T08:00Z";
    let failed = removed_because(valve, RemovalReason::Failed);
    let by = register.record(off, failed).await;
    let suspected = removed_because(other, RemovalReason::Suspected);
    register.record(off, suspected).await;
    let due_work = removed_because(third, RemovalReason::Due);
    register.record(off, due_work).await;

    let due = register.due(valve, OVERHAUL).await;
    let found = (day("2026-03-01"), AtOnceCause::RemovedFailed, by);
    assert_eq!(cause(&due), Some(found));
    assert_eq!(list(&register, State::Due).await.len(), 2);
    assert_eq!(cause(&register.due(third, OVERHAUL).await), None);

    register
        .record("2026-03-02T08:00Z", judged(other, Condition::Serviceable))
        .await;
    assert_eq!(cause(&register.due(other, OVERHAUL).await), None);
    register
        .record("2026-03-03T08:00Z", done(valve, OVERHAUL))
        .await;
    let due = register.due(valve, OVERHAUL).await;
    assert_eq!(
        (cause(&due), due.forecast.on),
        (None, Some(day("2034-03-03")))
    );
    register.proves().await;
}

async fn what_failed_inside_a_panel_is_due_at_once_and_what_went_with_it_is_not(url: &str) {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, "2026-01-01T00:00Z").await;
    let [panel, ..] = assemblies::components();
    let valve = &components.valves[0];
    let put = fitted_at(valve, &inside(&panel, INNER_VALVE));
    register.record("2026-01-10T00:00Z", put).await;
    let on_car = fitted(&panel, &position("4101", PANEL_PLACE));
    register.record("2026-02-01T00:00Z", on_car).await;
    let failed = removed_because(&panel, RemovalReason::Failed);
    register.record("2026-03-01T08:00Z", failed).await;
    // To be judged again, though the panel was taken off and not the valve.
    let doubted = judged(valve, Condition::RemovedToBeJudged);
    register.record("2026-03-02T08:00Z", doubted).await;
    assert_eq!(cause(&register.due(valve, OVERHAUL).await), None);
    let out = removed_because(valve, RemovalReason::Failed);
    let by = register.record("2026-03-03T08:00Z", out).await;
    let found = (day("2026-03-03"), AtOnceCause::RemovedFailed, by);
    assert_eq!(cause(&register.due(valve, OVERHAUL).await), Some(found));
    let life = register.life(valve).await;
    assert_eq!(life.history().came_off.map(|end| end.by), Some(by));
    register.proves().await;
}

async fn no_work_is_due_on_what_is_scrapped(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2026-01-01T00:00Z").await;
    let valve = &components.valves[0];
    register
        .record("2026-02-01T00:00Z", judged(valve, Condition::Scrapped))
        .await;
    let life = register.life(valve).await;
    let mut view = register.store.view().await.unwrap();
    let due = view
        .due_of_component(life.record.id, day("2026-06-01"))
        .await;
    assert_eq!(due.unwrap(), []);
    drop(view);
    register.proves().await;
}

async fn a_car_counts_from_the_day_it_entered_service_if_that_is_known(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2026-01-01T00:00Z").await;
    assert!(brake_test(&register, State::Unknown).await.is_some());
    let entered = |on: &str| {
        let Fact::CarRegistered(mut known) = car("4101", "A", "North") else {
            unreachable!()
        };
        known.entered_service_on = Some(day(on));
        Fact::CarRegistered(known)
    };
    let refusal = register
        .refuses("2026-02-01T00:00Z", entered("2026-02-02"))
        .await;
    assert!(matches!(
        refusal,
        Refusal::Impossible {
            field: "entered_service_on",
            ..
        }
    ));
    register
        .record("2026-02-01T00:00Z", entered("2025-11-20"))
        .await;
    let due = brake_test(&register, State::NotDue).await.unwrap();
    assert_eq!(due.forecast.on, Some(day("2026-11-20")));
    register.proves().await;
}

async fn work_whose_clock_has_not_started_is_a_list_of_its_own(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2026-01-01T00:00Z").await;
    let valve = &components.valves[0];
    let mut waits = overhaul("B", 96);
    waits.clock_start = ClockStart::Fitting;
    waits.limits = vec![limit(96, 0)].try_into().unwrap();
    register
        .record("2026-02-01T00:00Z", Fact::TaskDefined(waits))
        .await;
    assert_eq!(register.due(valve, OVERHAUL).await.state, State::NoDate);
    let waiting = async |register: &Register| {
        let mut listed = list(register, State::NoDate).await;
        listed.retain(|item| item.task.as_str() == OVERHAUL);
        listed.len()
    };
    assert_eq!(waiting(&register).await, components.valves.len());
    register
        .record("2026-03-01T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    let due = register.due(valve, OVERHAUL).await;
    assert_eq!(due.forecast.on, Some(day("2034-03-01")));
    assert_eq!(waiting(&register).await, components.valves.len() - 1);
    register.proves().await;
}

/// A component that ran before it came in: nobody knows since when its clock runs, but no later than
/// from the end of its longest time in store, or from when it came in. Of one of which nobody knows
/// whether it ran, no later than from when it was on a car here.
async fn what_is_surely_past_its_limit_is_overdue_though_nobody_knows_since_when(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2026-01-01T00:00Z").await;
    let mut ages = overhaul("B", 12);
    ages.clock_start = ClockStart::Fitting;
    ages.longest_in_store_days = Some(730);
    let task = Fact::TaskDefined(ages);
    register.record("2026-01-02T00:00Z", task).await;
    let [old, young, ageless, silent] = ["8", "9", "10", "11"].map(|it| component(VALVE, it));
    let ran = Some(Amount::whole(150_000));
    for (one, made_on, odometer) in [
        (&old, Some("2019-01-01"), ran),
        (&young, Some("2025-01-01"), ran),
        (&ageless, None, ran),
        (&silent, Some("2025-01-01"), None),
    ] {
        let came = Receipt {
            manufactured_on: made_on.map(day),
            brought: Brought {
                odometer,
                ..Brought::default()
            },
            ..receipt(one, "2025-01-01")
        };
        let came = Fact::ComponentReceived(came);
        register.record("2026-01-03T00:00Z", came).await;
    }
    // 730 days in store, or the day on which it came in having run, then twelve months.
    for (one, due, state) in [
        (&old, "2021-12-31", State::Overdue),
        (&young, "2027-01-03", State::Unknown),
        (&ageless, "2027-01-03", State::Unknown),
        (&silent, "2028-01-01", State::Unknown),
    ] {
        let forecast = register.due(one, OVERHAUL).await.forecast;
        assert_eq!(forecast.on, Some(day(due)));
        let lacking = forecast.lacking.calendar;
        assert_eq!(lacking, Some(Lack::AnchorAtTheLatest));
        let listed = list(&register, state).await;
        let subject = Subject::Component(one.clone());
        assert!(listed.iter().any(|item| item.subject == subject), "{state}");
    }
    register.record("2026-02-01T00:00Z", read("4101", 0)).await;
    for (one, place) in [(&young, FIRST), (&silent, SECOND)] {
        let on = fitted(one, &position("4101", place));
        register.record("2026-03-01T00:00Z", on).await;
    }
    // A reading works the dates out anew from the points that are kept.
    register
        .record("2026-03-29T00:00Z", read("4101", 22_400))
        .await;
    for (one, last) in [(&young, "2027-01-03"), (&silent, "2027-03-01")] {
        let last = day(last);
        let forecast = register.due(one, OVERHAUL).await.forecast;
        assert_eq!(forecast.on, Some(last));
        assert_eq!(forecast.state_on(last), State::Unknown);
        assert_eq!(forecast.state_on(last.plus_days(1)), State::Overdue);
    }
    register.proves().await;
}

fn limit(months: u32, early: i64) -> Limit {
    Limit {
        interval: Interval::Months(months),
        early,
        late: 0,
    }
}

/// Revision A counts from the work, revision B from the due point, which lies on 2028-01-01.
async fn work_is_judged_by_the_revision_in_force_when_it_was_done(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2020-06-01T00:00Z").await;
    let [by_a, by_b, ..] = &components.valves[..] else {
        unreachable!()
    };
    let mut task = overhaul("B", 96);
    task.counts_from = CountsFrom::DuePoint;
    task.limits = vec![limit(96, 60)].try_into().unwrap();
    register
        .record("2027-12-01T00:00Z", Fact::TaskDefined(task))
        .await;
    for (valve, when, due) in [
        (by_a, "2027-11-25", "2035-11-25"),
        (by_b, "2027-12-20", "2036-01-01"),
    ] {
        register
            .record(&format!("{when}T00:00Z"), done(valve, OVERHAUL))
            .await;
        let next = register.due(valve, OVERHAUL).await.forecast.on;
        assert_eq!(next, Some(day(due)), "done on {when}");
    }
    register.proves().await;
}

each_database!(
    a_failed_test_makes_its_task_due_at_once_until_it_is_passed_or_done,
    a_removal_for_cause_makes_the_overhaul_due_until_judged_or_done,
    what_failed_inside_a_panel_is_due_at_once_and_what_went_with_it_is_not,
    no_work_is_due_on_what_is_scrapped,
    a_car_counts_from_the_day_it_entered_service_if_that_is_known,
    work_whose_clock_has_not_started_is_a_list_of_its_own,
    what_is_surely_past_its_limit_is_overdue_though_nobody_knows_since_when,
    work_is_judged_by_the_revision_in_force_when_it_was_done,
);
