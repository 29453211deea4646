//! What is touched on a car after a test of it opens an obligation: the test is void and its task
//! due at once until it is done, as the task says by the kind of place and of work.

use domain::configuration::component::Subject;
use domain::due::at_once::{AtOnce, AtOnceCause};
use domain::due::task::{AppliesTo, Task};
use domain::identity::CarNumber;
use domain::ledger::consequences::DueMoved;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::time::{Day, Zone};
use store::read::AsAt;
use store::read::due::{DueFilter, DueItem};
use tests::assemblies::{self, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, done_on, fitted, fitted_at, inside, isolated, isolation_ended, leakage_tested, position,
    removed, swapped, unit,
};
use tests::fleet::{self, BRAKE_TEST, COCK, Components, FIRST, RELAY, VALVE, brake_test_after};
use tests::register::Register;
use tests::settings::{asks_for, set};

const SINCE: &str = "2026-01-01T00:00Z";

fn subject(car: &str) -> Subject {
    Subject::Car(car.parse().unwrap())
}

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// The small fleet, with a brake test that is due at once after some work, done on the first two cars
/// on 2026-02-01 and passed there on the first.
async fn tested(url: &str, after: &[&str]) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    for (valve, car) in components.valves.iter().zip(["4101", "4102"]) {
        let at = position(car, FIRST);
        register
            .record("2026-01-05T00:00Z", fitted(valve, &at))
            .await;
    }
    agreed(&mut register, after).await;
    (register, components)
}

async fn agreed(register: &mut Register, after: &[&str]) {
    let task = Fact::TaskDefined(brake_test_after("B", after));
    register.bring("2026-01-10T00:00Z", task).await;
    for car in ["4101", "4102"] {
        let done = done_on(subject(car), BRAKE_TEST);
        register.record("2026-02-01T00:00Z", done).await;
    }
    passed(register, "T-1", "2026-02-01T09:00Z").await;
}

async fn passed(register: &mut Register, id: &str, when: &str) {
    let test = leakage_tested(id, "4101", at(when), "0.1");
    register.record(when, test).await;
}

async fn due(register: &Register, car: &str) -> DueItem {
    let mut view = register.store.view().await.unwrap();
    let all = DueFilter::all(day("2026-06-01"));
    let mut items = view.due(&all).await.unwrap().into_iter();
    let of_car = |item: &DueItem| item.subject == subject(car) && item.task.as_str() == BRAKE_TEST;
    items.find(of_car).unwrap()
}

async fn at_once(register: &Register, car: &str) -> Option<(Day, AtOnceCause, Seq)> {
    let AtOnce { on, cause, by } = due(register, car).await.forecast.at_once?;
    Some((on, cause, by))
}

/// Since which entry a test record is void, and by what.
async fn void_since(register: &Register, id: &str) -> Option<(Seq, String)> {
    let mut view = register.store.view().await.unwrap();
    let test = view.test(&id.parse().unwrap()).await.unwrap().unwrap();
    let touch = view.void_since(&test).await.unwrap()?;
    Some((touch.by, touch.work.to_string()))
}

async fn an_exchange_voids_the_test_and_makes_it_due_at_once_until_it_is_passed(url: &str) {
    let (mut register, components) = tested(url, &["exchanged distributor_valve 2026-01-08"]).await;
    assert_eq!(at_once(&register, "4101").await, None);
    assert_eq!(void_since(&register, "T-1").await, None);

    let off = removed(&components.valves[0]);
    let off = register.record("2026-03-01T08:00Z", off).await;
    let on = fitted(&components.valves[2], &position("4101", FIRST));
    register.record("2026-03-01T09:00Z", on).await;
    let found = (day("2026-03-01"), AtOnceCause::Exchanged, off);
    assert_eq!(at_once(&register, "4101").await, Some(found));
    assert_eq!(at_once(&register, "4102").await, None);
    let void = void_since(&register, "T-1").await;
    assert_eq!(void, Some((off, "=BS-K1 exchanged".to_owned())));
    // A place of another kind opens nothing.
    let relay = fitted(&components.relay, &position("4102", RELAY));
    register.record("2026-03-01T10:00Z", relay).await;
    assert_eq!(at_once(&register, "4102").await, None);

    passed(&mut register, "T-2", "2026-03-02T09:00Z").await;
    assert_eq!(at_once(&register, "4101").await, None);
    assert_eq!(void_since(&register, "T-2").await, None);
    assert_eq!(void_since(&register, "T-1").await.unwrap().0, off);
    register.proves().await;
}

async fn a_swap_opens_obligations_on_both_cars_and_work_before_the_day_on_none(url: &str) {
    let (mut register, components) = tested(url, &["exchanged distributor_valve 2026-03-02"]).await;
    let [first, second, third, ..] = &components.valves[..] else {
        unreachable!()
    };
    register.record("2026-03-01T08:00Z", removed(first)).await;
    let again = fitted(third, &position("4101", FIRST));
    register.record("2026-03-01T09:00Z", again).await;
    assert_eq!(at_once(&register, "4101").await, None);

    let swap = swapped(third, second);
    let swap = register.record("2026-03-05T08:00Z", swap).await;
    let found = Some((day("2026-03-05"), AtOnceCause::Exchanged, swap));
    assert_eq!(at_once(&register, "4101").await, found);
    assert_eq!(at_once(&register, "4102").await, found);
    register.withdraw(swap).await;
    assert_eq!(at_once(&register, "4101").await, None);
    assert_eq!(at_once(&register, "4102").await, None);
    register.proves().await;
}

async fn what_is_told_late_opens_an_obligation_and_later_work_answers_it(url: &str) {
    let (mut register, components) = tested(url, &["exchanged relay_valve 2026-01-08"]).await;
    passed(&mut register, "T-2", "2026-04-01T09:00Z").await;
    let on = fitted(&components.relay, &position("4101", RELAY));
    let late = register.record("2026-03-01T08:00Z", on).await;
    // The test after it is of the car as it is; the one before is void.
    assert_eq!(at_once(&register, "4101").await, None);
    assert_eq!(void_since(&register, "T-1").await.unwrap().0, late);
    assert_eq!(void_since(&register, "T-2").await, None);
    let on = fitted(&components.relay, &position("4101", RELAY));
    let later = register.correct(late, "2026-05-01T08:00Z", on).await;
    let found = (day("2026-05-01"), AtOnceCause::Exchanged, later);
    assert_eq!(at_once(&register, "4101").await, Some(found));
    assert_eq!(void_since(&register, "T-2").await.unwrap().0, later);
    let done = done_on(subject("4101"), BRAKE_TEST);
    register.record("2026-05-02T08:00Z", done).await;
    assert_eq!(at_once(&register, "4101").await, None);
    register.proves().await;
}

async fn what_is_exchanged_inside_an_assembly_touches_its_place(url: &str) {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, SINCE).await;
    let [panel, ..] = assemblies::components();
    let on = fitted(&panel, &position("4101", PANEL_PLACE));
    register.record("2026-01-05T00:00Z", on).await;
    agreed(&mut register, &["exchanged control_panel 2026-01-08"]).await;
    let valve = fitted_at(&components.valves[0], &inside(&panel, INNER_VALVE));
    let inner = register.record("2026-03-01T08:00Z", valve).await;
    let found = (day("2026-03-01"), AtOnceCause::Exchanged, inner);
    assert_eq!(at_once(&register, "4101").await, Some(found));
    let void = void_since(&register, "T-1").await;
    assert_eq!(void, Some((inner, "=BS-P1-K1 exchanged".to_owned())));
    register.proves().await;
}

async fn what_is_exchanged_as_a_whole_is_named_with_the_place_inside_it(url: &str) {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, SINCE).await;
    let [panel, ..] = assemblies::components();
    let valve = fitted_at(&components.valves[0], &inside(&panel, INNER_VALVE));
    register.record("2026-01-04T00:00Z", valve).await;
    let on = fitted(&panel, &position("4101", PANEL_PLACE));
    register.record("2026-01-05T00:00Z", on).await;
    agreed(&mut register, &["exchanged distributor_valve 2026-01-08"]).await;
    let off = register.record("2026-03-01T08:00Z", removed(&panel)).await;
    let void = void_since(&register, "T-1").await;
    let told = "=BS-P1 exchanged, with =BS-P1-K1 inside it".to_owned();
    assert_eq!(void, Some((off, told)));
    register.proves().await;
}

async fn settings_and_units_open_obligations_and_a_cut_out_by_its_own_test_does_not(url: &str) {
    let after = [
        "set distributor_valve 2026-01-08",
        "cut_out_ended isolating_cock 2026-01-08",
        "coupled 2026-01-08",
    ];
    let (mut register, _) = tested(url, &after).await;
    let cock = position("4101", COCK);
    register.record("2026-03-01T08:00Z", isolated(&cock)).await;
    passed(&mut register, "T-2", "2026-03-02T09:00Z").await;
    let ended = isolation_ended(&cock, "T-2");
    register.record("2026-03-02T10:00Z", ended).await;
    assert_eq!(at_once(&register, "4101").await, None);
    assert_eq!(void_since(&register, "T-2").await, None);

    let formed = unit(fleet::UNIT, &["4101", "4103"]);
    let formed = register.record("2026-03-03T08:00Z", formed).await;
    let found = (day("2026-03-03"), AtOnceCause::Coupled, formed);
    assert_eq!(at_once(&register, "4101").await, Some(found));
    assert_eq!(at_once(&register, "4102").await, None);

    let design = asks_for("D", &[(FIRST, "opening pressure@3.8 bar@3.7 to 3.9")]);
    register.bring("2026-03-04T08:00Z", design).await;
    let second = tests::facts::car("4102", "D", fleet::DEPOT);
    register.bring("2026-03-04T09:00Z", second).await;
    let made = set("4102", FIRST, "opening pressure", "3.8 bar");
    let made = register.record("2026-03-05T08:00Z", made).await;
    let found = (day("2026-03-05"), AtOnceCause::Set, made);
    assert_eq!(at_once(&register, "4102").await, Some(found));
    register.proves().await;
}

async fn an_obligation_is_told_of_the_past_as_it_was_known(url: &str) {
    let (mut register, components) = tested(url, &["exchanged distributor_valve 2026-01-08"]).await;
    let before = register.now;
    register.now_is("2030-01-02T00:00Z");
    let off = removed(&components.valves[0]);
    let off = register.record("2026-03-01T08:00Z", off).await;
    let after = register.now;
    let told = async |when: &str, known| {
        let effective = at(when);
        let mut view = register.store.view().await.unwrap();
        let number: CarNumber = "4101".parse().unwrap();
        let car = view.car(&number).await.unwrap().unwrap();
        let as_at = AsAt { effective, known };
        let told = view.cars_then(&[&car], as_at).await.unwrap();
        let items = told.due_on(&car, (&Zone::UTC, effective)).into_iter();
        let mut items = items.filter(|item| item.task.as_str() == BRAKE_TEST);
        items.next().unwrap().forecast.at_once.map(|found| found.by)
    };
    assert_eq!(told("2026-03-02T00:00Z", after).await, Some(off));
    assert_eq!(told("2026-02-20T00:00Z", after).await, None);
    assert_eq!(told("2026-03-02T00:00Z", before).await, None);
}

async fn two_engineers_agree_on_them_and_a_task_of_a_part_has_none(url: &str) {
    let (mut register, components) = tested(url, &[]).await;
    let swap = swapped(&components.valves[0], &components.valves[1]);
    let swap = register.record("2026-03-05T08:00Z", swap).await;
    assert_eq!(at_once(&register, "4101").await, None);
    let proposed = |task| Fact::Proposed(Proposal::Task(Box::new(task)));
    let task = brake_test_after("C", &["exchanged distributor_valve 2026-03-01"]);
    let of_part = Task {
        applies_to: AppliesTo::Part(VALVE.parse().unwrap()),
        ..task.clone()
    };
    let refused = register
        .refuses("2026-03-06T08:00Z", proposed(of_part))
        .await;
    assert_eq!(refused.field(), "obligations", "{refused}");
    let proposal = register.record("2026-03-06T08:00Z", proposed(task)).await;
    assert_eq!(at_once(&register, "4101").await, None);
    let approval = register.approve(proposal, "2026-03-06T09:00Z").await;
    // What it made due is kept with it.
    let kept = {
        let mut view = register.store.view().await.unwrap();
        view.entry(approval).await.unwrap().unwrap().entry
    };
    let moved = ["4101", "4102"].map(|car| DueMoved {
        subject: subject(car),
        task: BRAKE_TEST.parse().unwrap(),
        before: Some(day("2027-02-01")),
        after: Some(day("2026-03-05")),
    });
    assert_eq!(kept.consequences.unwrap().due.told, moved);
    assert_eq!(at_once(&register, "4101").await.unwrap().2, swap);
    assert_eq!(at_once(&register, "4102").await.unwrap().2, swap);
    register.proves().await;
}

/// No change of a document proves a brake that was touched.
async fn what_is_due_at_once_stays_so_when_a_revision_leaves_its_obligation_out(url: &str) {
    let (mut register, components) = tested(url, &["exchanged distributor_valve 2026-01-08"]).await;
    let off = removed(&components.valves[0]);
    let off = register.record("2026-03-01T08:00Z", off).await;
    let revised = Fact::TaskDefined(brake_test_after("C", &[]));
    register.bring("2026-03-02T08:00Z", revised).await;
    let found = (day("2026-03-01"), AtOnceCause::Exchanged, off);
    assert_eq!(at_once(&register, "4101").await, Some(found));
    assert_eq!(void_since(&register, "T-1").await.unwrap().0, off);
    // What is touched under the revision opens nothing, what is told late of before it does.
    let second = removed(&components.valves[1]);
    let later = register.record("2026-03-03T08:00Z", second.clone()).await;
    assert_eq!(at_once(&register, "4102").await, None);
    let earlier = register.correct(later, "2026-03-01T09:00Z", second).await;
    let found = (day("2026-03-01"), AtOnceCause::Exchanged, earlier);
    assert_eq!(at_once(&register, "4102").await, Some(found));
    passed(&mut register, "T-2", "2026-03-04T09:00Z").await;
    assert_eq!(at_once(&register, "4101").await, None);
    register.proves().await;
}

/// It proves the brake behind a cut-out no more than anything else.
async fn a_void_test_ends_no_cut_out(url: &str) {
    let (mut register, components) = tested(url, &["exchanged distributor_valve 2026-01-08"]).await;
    let cock = position("4101", COCK);
    register.record("2026-03-01T08:00Z", isolated(&cock)).await;
    passed(&mut register, "T-2", "2026-03-01T09:00Z").await;
    let off = removed(&components.valves[0]);
    let off = register.record("2026-03-01T10:00Z", off).await;
    let end = |test| isolation_ended(&cock, test);
    let refused = register.refuses("2026-03-01T11:00Z", end("T-2")).await;
    let told = refused.to_string();
    assert!(told.contains(&format!("{off}")), "{told}");
    assert!(told.contains("void (=BS-K1 exchanged)"), "{told}");
    passed(&mut register, "T-3", "2026-03-01T12:00Z").await;
    register.record("2026-03-01T13:00Z", end("T-3")).await;
    register.proves().await;
}

each_database!(
    what_is_due_at_once_stays_so_when_a_revision_leaves_its_obligation_out,
    a_void_test_ends_no_cut_out,
    an_exchange_voids_the_test_and_makes_it_due_at_once_until_it_is_passed,
    a_swap_opens_obligations_on_both_cars_and_work_before_the_day_on_none,
    what_is_told_late_opens_an_obligation_and_later_work_answers_it,
    what_is_exchanged_inside_an_assembly_touches_its_place,
    what_is_exchanged_as_a_whole_is_named_with_the_place_inside_it,
    settings_and_units_open_obligations_and_a_cut_out_by_its_own_test_does_not,
    an_obligation_is_told_of_the_past_as_it_was_known,
    two_engineers_agree_on_them_and_a_task_of_a_part_has_none,
);
