//! The batch that a component was made in: told with its receipt, found on cars and off them as at
//! any time and as known at any, and put right with the receipt.

use domain::configuration::component::ComponentRef;
use domain::configuration::fleet_check::{CarAnswer, FleetCheck};
use domain::configuration::looked_for::{BatchSought, LookedFor};
use domain::identity::{Batch, CarNumber, PartNumber};
use domain::ledger::consequences::DoubtKind;
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Fact, Receipt};
use domain::time::Instant;
use store::read::carrying::CarryingFilter;
use store::read::fleet_checks::Carries;
use store::read::stock_then::Stocked;
use store::read::{AsAt, View};
use tests::each_database;
use tests::facts::{at, component, fitted, position, receipt, removed};
use tests::fleet::{self, FIRST, LATER_VALVE, SECOND, VALVE};
use tests::register::{Register, command};

const RECEIVED: &str = "2029-02-01T00:00Z";
const FITTED: &str = "2029-03-01T00:00Z";

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    register
}

fn batch(name: &str) -> Batch {
    name.parse().unwrap()
}

fn came(component: &ComponentRef, batch: Option<&str>) -> Fact {
    Fact::ComponentReceived(Receipt {
        batch: batch.map(|name| name.parse().unwrap()),
        ..receipt(component, "2028-01-01")
    })
}

/// Receives a valve of a batch.
async fn receive(
    register: &mut Register,
    serial: &str,
    batch: Option<&str>,
) -> (ComponentRef, Seq) {
    let valve = component(VALVE, serial);
    let seq = register.record(RECEIVED, came(&valve, batch)).await;
    (valve, seq)
}

async fn fit(register: &mut Register, valve: &ComponentRef, car: &str, place: &str) {
    let fact = fitted(valve, &position(car, place));
    register.record(FITTED, fact).await;
}

fn sought(name: &str) -> LookedFor {
    LookedFor::Batch {
        part: VALVE.parse().unwrap(),
        batch: BatchSought::Is(batch(name)),
    }
}

/// The cars that carried a batch, and at how many places it cannot be told.
async fn carried(
    register: &Register,
    name: &str,
    (effective, known): (Instant, Instant),
) -> (Vec<String>, i64) {
    let mut view = register.store.view().await.unwrap();
    let filter = CarryingFilter {
        looked_for: sought(name),
        as_at: AsAt { effective, known },
        after: None,
        rows: 10,
    };
    let found = view.carrying_found(&filter).await.unwrap();
    let cars: Vec<String> = found
        .rows
        .iter()
        .map(|row| row.at.car.to_string())
        .collect();
    assert_eq!(found.count.places, i64::try_from(cars.len()).unwrap());
    (cars, found.untold.places)
}

fn serials(records: &[ComponentRecord]) -> Vec<&str> {
    let serials = records
        .iter()
        .map(|record| record.component.serial.as_str());
    serials.collect()
}

async fn a_batch_is_found_on_cars_as_it_was_and_as_it_was_known(url: &str) {
    let mut register = founded(url).await;
    let (first, _) = receive(&mut register, "70", Some("L24-07")).await;
    let (other, wrong) = receive(&mut register, "72", Some("L24-08")).await;
    let (untold, _) = receive(&mut register, "73", None).await;
    fit(&mut register, &first, "4101", FIRST).await;
    fit(&mut register, &other, "4102", FIRST).await;
    fit(&mut register, &untold, "4103", FIRST).await;
    let before = register.now;
    assert_eq!(
        carried(&register, "l24 07", (before, before)).await,
        (vec!["4101".to_owned()], 1),
        "however it is written; of what is fitted on 4103 nothing is known"
    );
    let in_store = at("2029-02-15T00:00Z");
    let none = (Vec::new(), 0);
    assert_eq!(carried(&register, "L24-07", (in_store, before)).await, none);
    // The label was read wrongly: it may be put right though the valve is on a car.
    register.now_is("2030-01-02T06:00Z");
    let right = came(&other, Some("L24-07"));
    register.correct(wrong, RECEIVED, right).await;
    let now = register.now;
    let both = (vec!["4101".to_owned(), "4102".to_owned()], 1);
    assert_eq!(carried(&register, "L24-07", (now, now)).await, both);
    assert_eq!(
        carried(&register, "L24-08", (now, now)).await,
        (Vec::new(), 1)
    );
    // What was known before is still told so.
    let of_then = |car: &str| (vec![car.to_owned()], 1);
    assert_eq!(
        carried(&register, "L24-07", (before, before)).await,
        of_then("4101")
    );
    assert_eq!(
        carried(&register, "L24-08", (before, before)).await,
        of_then("4102")
    );
    register.record("2029-06-01T00:00Z", removed(&first)).await;
    let now = register.now;
    assert_eq!(
        carried(&register, "L24-07", (now, now)).await,
        of_then("4102")
    );
    let in_may = at("2029-05-01T00:00Z");
    assert_eq!(carried(&register, "L24-07", (in_may, now)).await, both);
    assert_eq!(
        register.life(&other).await.record.batch,
        Some(batch("L24-07"))
    );
    register.proves().await;
}

/// The items of batch L24-07.
async fn items(
    view: &mut View,
    part: Option<&PartNumber>,
    after: Option<&ComponentRef>,
) -> Vec<ComponentRecord> {
    let name = batch("l2407");
    let found = view.components_of_batch((&name, part), (after, 10)).await;
    found.unwrap()
}

async fn every_item_of_a_batch_is_listed_wherever_it_is(url: &str) {
    let mut register = founded(url).await;
    let (first, _) = receive(&mut register, "L24-07-001", Some("L24-07")).await;
    let (stored, _) = receive(&mut register, "L24-07-002", Some("L24-07")).await;
    let (gone, twice) = receive(&mut register, "L24-07-003", Some("L24-07")).await;
    let later = component(LATER_VALVE, "L24-07-001");
    register
        .record(RECEIVED, came(&later, Some("L24-07")))
        .await;
    fit(&mut register, &first, "4101", FIRST).await;
    let before = register.now;
    register.now_is("2030-01-02T06:00Z");
    register.withdraw(twice).await;
    let part: PartNumber = VALVE.parse().unwrap();
    let mut view = register.store.view().await.unwrap();
    let of_part = items(&mut view, Some(&part), None).await;
    assert_eq!(serials(&of_part), ["L24-07-001", "L24-07-002"]);
    assert_eq!(of_part[1].batch, Some(batch("L24-07")));
    let of_any = items(&mut view, None, None).await;
    assert_eq!(of_any.len(), 3);
    assert_eq!(of_any[2].component, later, "by part and serial number");
    let rest = items(&mut view, Some(&part), Some(&first)).await;
    assert_eq!(rest[0].component, stored);
    // What came in twice is told as it was known.
    let known = AsAt {
        effective: before,
        known: before,
    };
    let name = batch("L24 07");
    let which = Stocked::Batch(&name, Some(&part));
    let told = view.stock_told(which, known).await.unwrap();
    let told: Vec<&ComponentRef> = told.iter().map(|record| &record.component).collect();
    assert_eq!(told, [&first, &stored, &gone]);
    drop(view);
    register.proves().await;
}

async fn what_is_fitted_and_may_be_of_a_batch_that_is_looked_for_is_doubtful(url: &str) {
    let mut register = founded(url).await;
    let (asked, _) = receive(&mut register, "70", Some("L24-07")).await;
    let (late, _) = receive(&mut register, "71", Some("l24 07")).await;
    let (other, _) = receive(&mut register, "72", Some("L24-08")).await;
    let (untold, _) = receive(&mut register, "73", None).await;
    fit(&mut register, &asked, "4101", FIRST).await;
    let Fact::FleetCheckOpened(check) = super::fleet_checks::opened(&["4101"]) else {
        panic!("a check")
    };
    let check = Fact::FleetCheckOpened(Box::new(FleetCheck {
        sought: Some(sought("L24-07")),
        ..*check
    }));
    let check = register.record("2029-03-01T08:00Z", check).await;
    for (valve, car, place, doubtful) in [
        (&late, "4103", FIRST, true),
        (&untold, "4103", SECOND, true),
        (&other, "4102", FIRST, false),
    ] {
        let entry = fitted(valve, &position(car, place));
        let entry = register.record("2029-03-02T08:00Z", entry).await;
        let mut view = register.store.view().await.unwrap();
        let kept = view.entry(entry).await.unwrap().unwrap().entry;
        let doubts = kept.consequences.map_or_else(Vec::new, |told| told.doubts);
        let looked_for = doubts
            .iter()
            .any(|doubt| doubt.component == *valve && doubt.why == DoubtKind::LookedFor(check));
        assert_eq!(looked_for, doubtful, "{valve}: {doubts:?}");
    }
    let mut view = register.store.view().await.unwrap();
    let listed = view.fleet_check(check).await.unwrap().unwrap();
    let now = AsAt {
        effective: register.now,
        known: register.now,
    };
    let stands = view.fleet_check_now(&listed, now).await.unwrap().unwrap();
    let left: Vec<&str> = stands.not_looked_at.keys().map(CarNumber::as_str).collect();
    assert_eq!(left, ["4103"]);
    drop(view);
    register.proves().await;
}

async fn the_last_answer_asks_the_cars_of_which_it_cannot_be_told_too(url: &str) {
    let mut register = founded(url).await;
    let (asked, _) = receive(&mut register, "70", Some("L24-07")).await;
    let (other, _) = receive(&mut register, "72", Some("L24-08")).await;
    let (untold, _) = receive(&mut register, "73", None).await;
    fit(&mut register, &asked, "4101", FIRST).await;
    fit(&mut register, &other, "4102", FIRST).await;
    fit(&mut register, &untold, "4103", FIRST).await;
    let Fact::FleetCheckOpened(check) = super::fleet_checks::opened(&["4101"]) else {
        panic!("a check")
    };
    let check = Fact::FleetCheckOpened(Box::new(FleetCheck {
        sought: Some(sought("L24-07")),
        ..*check
    }));
    // Later than all of it was fitted.
    register.now_is("2030-01-02T06:00Z");
    let check = register.record("2029-03-01T08:00Z", check).await;
    let answer = |car: &str, answer| super::fleet_checks::answered(check, car, answer);
    let last = command(at("2029-03-02T08:00Z"), answer("4101", CarAnswer::Sound));
    let kept = register.kept(last).await;
    let Fact::FleetCheckAnswered(kept) = &kept.fact else {
        panic!("an answer")
    };
    let asked_too: Vec<&str> = kept.asked_too.iter().map(CarNumber::as_str).collect();
    assert_eq!(asked_too, ["4103"], "its valve may be of that batch");
    let looked = answer("4103", CarAnswer::NotCarried);
    register.record("2029-03-03T08:00Z", looked).await;
    let mut view = register.store.view().await.unwrap();
    let listed = view.fleet_check(check).await.unwrap().unwrap();
    assert!(listed.record.closed.is_some());
    let now = AsAt {
        effective: register.now,
        known: register.now,
    };
    let stands = view.fleet_check_now(&listed, now).await.unwrap().unwrap();
    let car: CarNumber = "4103".parse().unwrap();
    assert_eq!(stands.carrying.get(&car), Some(&Carries::CannotBeTold));
    assert!(stands.not_looked_at.is_empty(), "somebody looked since");
    drop(view);
    register.proves().await;
}

each_database!(
    a_batch_is_found_on_cars_as_it_was_and_as_it_was_known,
    every_item_of_a_batch_is_listed_wherever_it_is,
    what_is_fitted_and_may_be_of_a_batch_that_is_looked_for_is_doubtful,
    the_last_answer_asks_the_cars_of_which_it_cannot_be_told_too,
);
