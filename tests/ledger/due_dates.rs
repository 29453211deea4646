//! Due dates move with the entry that moves them, in the same transaction.

use domain::configuration::component::{Condition, Subject};
use domain::due::point::Lack;
use domain::due::state::State;
use domain::due::task::Metric;
use domain::ledger::fact::Fact;
use domain::time::Day;
use domain::units::Amount;
use store::read::due::{DueFilter, DueItem};
use tests::each_database;
use tests::facts::{
    car, done, done_on, fitted, fitted_until, moved, position, read, read_confirmed, removed,
    removed_as,
};
use tests::fleet::{self, BRAKE_TEST, Components, FIRST, OVERHAUL, overhaul};
use tests::register::Register;

/// Made on 2020-01-01, due after 96 months.
const BY_CALENDAR: &str = "2028-01-01";

/// A fleet whose first two cars run 400 and 100 km a day, the first from 0 km on, the second
/// from 900,000 km on.
async fn running(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2021-01-01T00:00Z").await;
    for (car, from, until) in [("4101", 0, 12_000), ("4102", 900_000, 903_000)] {
        register.record("2021-02-01T00:00Z", read(car, from)).await;
        register.record("2021-03-03T00:00Z", read(car, until)).await;
    }
    (register, components)
}

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// The brake test of a car, in a state.
async fn brake_test(register: &Register, car: &str, state: Option<State>) -> Option<DueItem> {
    let filter = DueFilter {
        car: Some(car.parse().unwrap()),
        state,
        ..DueFilter::all(day("2021-06-01"))
    };
    let due = register
        .store
        .view()
        .await
        .unwrap()
        .due(&filter)
        .await
        .unwrap();
    let of_car = |item: &DueItem| matches!(item.subject, Subject::Car(_));
    due.into_iter()
        .find(|item| of_car(item) && item.task.as_str() == BRAKE_TEST)
}

async fn a_fitment_a_move_and_a_removal_move_the_date(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    let in_store = register.due(valve, OVERHAUL).await;
    assert_eq!(in_store.forecast.on, Some(day(BY_CALENDAR)));
    assert_eq!((in_store.car, in_store.depot), (None, None));

    register
        .record("2021-02-01T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    let fast = register.due(valve, OVERHAUL).await;
    // From 12,000 km on 3 March, 588,000 km at 400 km a day.
    assert_eq!(fast.forecast.on, Some(day("2021-03-03").plus_days(1_470)));
    assert_eq!(fast.forecast.set_by, Some(Metric::Odometer));
    assert_eq!(fast.car, Some("4101".parse().unwrap()));

    register
        .record("2021-02-11T00:00Z", moved(valve, &position("4102", FIRST)))
        .await;
    let slow = register.due(valve, OVERHAUL).await;
    assert_eq!(slow.forecast.on, Some(day(BY_CALENDAR)));
    assert_eq!(slow.car, Some("4102".parse().unwrap()));

    register.record("2021-03-03T00:00Z", removed(valve)).await;
    let off = register.due(valve, OVERHAUL).await;
    assert_eq!((off.car, off.forecast.on), (None, Some(day(BY_CALENDAR))));
    register.proves().await;
}

/// A rate is told from half a year; what was marked before that, on the car itself and on its
/// components, must not be told anew from the readings that are left.
async fn what_lies_long_before_a_reading_stays_as_it_was(url: &str) {
    let (mut register, components) = running(url).await;
    let [valve, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let at = position("4101", FIRST);
    let on_car = || Subject::Car("4101".parse().unwrap());
    register
        .record("2021-02-10T00:00Z", fitted(valve, &at))
        .await;
    register
        .record("2021-02-12T00:00Z", done_on(on_car(), BRAKE_TEST))
        .await;
    register
        .record("2021-02-14T00:00Z", done(valve, OVERHAUL))
        .await;
    for (when, km) in [
        ("2022-03-03T00:00Z", 160_000),
        ("2022-04-02T00:00Z", 172_000),
    ] {
        register.record(when, read("4101", km)).await;
    }
    // Fitted before the time that is looked at, removed in it.
    register.record("2022-04-10T00:00Z", removed(valve)).await;
    register
        .record("2022-04-11T00:00Z", fitted(other, &at))
        .await;
    register
        .record("2022-04-12T00:00Z", done_on(on_car(), BRAKE_TEST))
        .await;
    register.proves().await;
    let last = register
        .record("2023-01-07T00:00Z", read("4101", 280_000))
        .await;
    register.proves().await;
    register.withdraw(last).await;
    register.proves().await;
}

async fn a_reading_moves_the_date_of_all_that_is_on_the_car(url: &str) {
    let (mut register, components) = running(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    register
        .record("2021-02-01T00:00Z", fitted(one, &position("4101", FIRST)))
        .await;
    register
        .record(
            "2021-02-01T00:00Z",
            fitted(other, &position("4101", fleet::SECOND)),
        )
        .await;
    // 600 km a day in the last month: 500 km a day is the middle of all slopes.
    let reading = register
        .record("2021-04-02T00:00Z", read("4101", 30_000))
        .await;
    for valve in [one, other] {
        let due = register.due(valve, OVERHAUL).await.forecast.on;
        assert_eq!(due, Some(day("2021-04-02").plus_days(570_000 / 500)));
    }
    register.withdraw(reading).await;
    let due = register.due(one, OVERHAUL).await.forecast.on;
    assert_eq!(due, Some(day("2021-03-03").plus_days(1_470)));
    register.proves().await;
}

async fn work_done_moves_the_date(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    register
        .record("2021-02-01T00:00Z", fitted(valve, &position("4102", FIRST)))
        .await;
    let overhaul = register
        .record("2021-03-03T00:00Z", done(valve, OVERHAUL))
        .await;
    let due = register.due(valve, OVERHAUL).await.forecast.on;
    assert_eq!(due, Some(day("2029-03-03")));
    register
        .correct(overhaul, "2021-03-02T00:00Z", done(valve, OVERHAUL))
        .await;
    let due = register.due(valve, OVERHAUL).await.forecast.on;
    assert_eq!(due, Some(day("2029-03-02")));
    register.proves().await;
}

async fn work_on_a_car_is_unknown_until_it_was_done(url: &str) {
    let (mut register, _) = running(url).await;
    let unknown = brake_test(&register, "4101", Some(State::Unknown))
        .await
        .unwrap();
    assert_eq!(unknown.forecast.lacking.calendar, Some(Lack::Anchor));
    assert_eq!(unknown.forecast.on, None);
    let subject = Subject::Car("4101".parse().unwrap());
    register
        .record("2021-04-15T00:00Z", done_on(subject, BRAKE_TEST))
        .await;
    let due = brake_test(&register, "4101", None).await.unwrap();
    assert_eq!(due.forecast.on, Some(day("2022-04-15")));
    register.proves().await;
}

async fn a_new_revision_of_a_task_moves_every_date_of_it(url: &str) {
    let (mut register, components) = running(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    register
        .record("2021-02-01T00:00Z", fitted(one, &position("4102", FIRST)))
        .await;
    register
        .record("2021-05-01T00:00Z", Fact::TaskDefined(overhaul("B", 60)))
        .await;
    for valve in [one, other] {
        let due = register.due(valve, OVERHAUL).await.forecast.on;
        assert_eq!(due, Some(day("2025-01-01")));
    }
    let again = register
        .refuses("2021-06-01T00:00Z", Fact::TaskDefined(overhaul("A", 96)))
        .await;
    assert!(
        again.to_string().contains("OH-DV revision A is already"),
        "{again}"
    );
    register.proves().await;
}

async fn on_a_car_that_was_never_read_nothing_is_guessed(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    register
        .record("2021-02-01T00:00Z", fitted(valve, &position("4103", FIRST)))
        .await;
    let due = register.due(valve, OVERHAUL).await;
    assert_eq!(due.forecast.lacking.meters.odometer, Some(Lack::Use));
    // Due by the calendar at the latest, and nobody may say that it is not due yet.
    assert_eq!(due.forecast.on, Some(day(BY_CALENDAR)));
    assert_eq!(due.forecast.state_on(day("2021-06-01")), State::Unknown);
    register.proves().await;
}

/// The usual case of a first import: components are said to be on the car from a day on, and its
/// readings begin some days later.
async fn work_done_counts_from_new_whatever_is_unknown_before_it(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    register
        .record("2021-01-20T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    let unknown = register.due(valve, OVERHAUL).await.forecast;
    assert_eq!(unknown.lacking.meters.odometer, Some(Lack::Use));
    let overhaul = register
        .record("2021-02-11T00:00Z", done(valve, OVERHAUL))
        .await;
    // At 4,000 km, so due at 604,000: 592,000 km after 12,000 on 3 March, at 400 km a day.
    let forecast = register.due(valve, OVERHAUL).await.forecast;
    assert_eq!(forecast.on, Some(day("2021-03-03").plus_days(1_480)));
    assert_eq!(forecast.set_by, Some(Metric::Odometer));
    assert!(forecast.lacking.is_nothing());
    // Done where the car was not read yet, it counts from what nobody knows.
    register
        .correct(overhaul, "2021-01-25T00:00Z", done(valve, OVERHAUL))
        .await;
    let unknown = register.due(valve, OVERHAUL).await.forecast;
    assert_eq!(unknown.lacking.meters.odometer, Some(Lack::Use));
    // Overhauled in the workshop and fitted where readings are continuous.
    let off = removed_as(valve, Condition::Serviceable);
    register.record("2021-02-01T00:00Z", off).await;
    register
        .record("2021-02-05T00:00Z", done(valve, OVERHAUL))
        .await;
    register
        .record("2021-02-11T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    let forecast = register.due(valve, OVERHAUL).await.forecast;
    assert_eq!(forecast.on, Some(day("2021-03-03").plus_days(1_480)));
    assert!(forecast.lacking.is_nothing());
    register.proves().await;
}

/// A date that is past is a fact: it lies between the readings around it.
async fn a_limit_that_was_passed_keeps_its_date_whatever_is_read_later(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    register
        .record("2021-02-01T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    for (when, km) in [
        ("2021-06-01T00:00Z", 590_000),
        ("2021-07-01T00:00Z", 620_000),
    ] {
        register.record(when, read_confirmed("4101", km)).await;
    }
    // 600,000 km at 1,000 km a day.
    let on = async |register: &Register| register.due(valve, OVERHAUL).await.forecast.on;
    assert_eq!(on(&register).await, Some(day("2021-06-11")));
    register
        .record("2021-08-01T00:00Z", read("4101", 621_000))
        .await;
    let forecast = register.due(valve, OVERHAUL).await.forecast;
    assert_eq!(forecast.on, Some(day("2021-06-11")));
    assert_eq!(forecast.set_by, Some(Metric::Odometer));
    assert_eq!((forecast.early, forecast.late), (forecast.on, forecast.on));
    register.proves().await;
    // Only a reading next to it moves it: 595,000 km on 11 June, then 1,250 km a day.
    let between = register
        .record("2021-06-11T00:00Z", read_confirmed("4101", 595_000))
        .await;
    assert_eq!(on(&register).await, Some(day("2021-06-15")));
    register.proves().await;
    register.withdraw(between).await;
    assert_eq!(on(&register).await, Some(day("2021-06-11")));
    register.proves().await;
}

async fn a_car_that_moves_to_another_depot_takes_its_due_work_along(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    register
        .record("2021-02-01T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    register
        .record("2021-05-01T00:00Z", car("4101", "A", "South"))
        .await;
    let south = Some("South".parse().unwrap());
    assert_eq!(register.due(valve, OVERHAUL).await.depot, south);
    register.proves().await;
}

async fn work_follows_a_fitment_that_is_corrected(url: &str) {
    let (mut register, components) = running(url).await;
    let valve = &components.valves[0];
    let fit = fitted(valve, &position("4101", FIRST));
    let fit = register.record("2021-02-01T00:00Z", fit).await;
    register
        .record("2021-02-11T00:00Z", done(valve, OVERHAUL))
        .await;
    let marked = async |register: &Register| {
        let done = &register.life(valve).await.done[0];
        (
            done.car.as_ref().map(ToString::to_string),
            done.meters.odometer,
        )
    };
    let on = |car: &str, km| (Some(car.to_owned()), Some(Amount::whole(km)));
    assert_eq!(marked(&register).await, on("4101", 4_000));
    let elsewhere = fitted(valve, &position("4102", FIRST));
    let fit = register.correct(fit, "2021-02-01T00:00Z", elsewhere).await;
    assert_eq!(marked(&register).await, on("4102", 901_000));
    register.withdraw(fit).await;
    assert_eq!(marked(&register).await, (None, None));
    // And what is recorded late counts as if it had been known in time.
    let late = fitted_until(
        valve,
        &position("4101", FIRST),
        "2021-02-21T00:00Z".parse().unwrap(),
    );
    register.record("2021-02-01T00:00Z", late).await;
    assert_eq!(marked(&register).await, on("4101", 4_000));
    register.proves().await;
}

each_database!(
    a_fitment_a_move_and_a_removal_move_the_date,
    a_reading_moves_the_date_of_all_that_is_on_the_car,
    what_lies_long_before_a_reading_stays_as_it_was,
    work_done_moves_the_date,
    work_on_a_car_is_unknown_until_it_was_done,
    a_new_revision_of_a_task_moves_every_date_of_it,
    on_a_car_that_was_never_read_nothing_is_guessed,
    work_done_counts_from_new_whatever_is_unknown_before_it,
    a_limit_that_was_passed_keeps_its_date_whatever_is_read_later,
    a_car_that_moves_to_another_depot_takes_its_due_work_along,
    work_follows_a_fitment_that_is_corrected,
);
