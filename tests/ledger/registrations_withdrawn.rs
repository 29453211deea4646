//! A car that was registered by mistake: its registration is withdrawn, so long as nothing else names it.

use domain::configuration::component::ComponentRef;
use domain::configuration::held::Held;
use domain::configuration::looked_for::LookedFor;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::refusal::Refusal;
use store::read::AsAt;
use store::read::carrying::CarryingFilter;
use store::read::cars::CarFilter;
use tests::each_database;
use tests::facts::{
    at, car, car_of_fleet, component, fitted, held, hold_lifted, position, read, receipt, unit,
};
use tests::fleet::{self, FIRST};
use tests::register::{Register, correction, second_engineer};

const SINCE: &str = "2029-01-01T00:00Z";
const LATER: &str = "2029-02-01T00:00Z";
const WRONG: &str = "4190";

/// A car of the fleet that bears a vehicle number.
fn numbered(name: &str) -> Fact {
    let Fact::CarRegistered(mut car) = car_of_fleet(name) else {
        panic!("a car")
    };
    car.vehicle_number = Some("94 00 4000 774-9".parse().unwrap());
    Fact::CarRegistered(car)
}

fn withdrawal(register: &Register, entry: Seq) -> Command {
    correction(entry, register.now, Fact::Withdrawn)
}

async fn is_there(register: &Register, name: &str) -> bool {
    let mut view = register.store.view().await.unwrap();
    view.car(&name.parse().unwrap()).await.unwrap().is_some()
}

async fn withdraws(register: &mut Register, entry: Seq) {
    let command = withdrawal(register, entry);
    register.send(second_engineer(), command).await.unwrap();
}

async fn named(register: &mut Register, entry: Seq) -> Seq {
    let command = withdrawal(register, entry);
    let refusal = register.refuses_of(second_engineer(), command).await;
    let Refusal::Contradicts { by, .. } = refusal else {
        panic!("{refusal}")
    };
    by
}

async fn a_registration_that_nothing_refers_to_is_withdrawn_and_its_vehicle_number_is_free(
    url: &str,
) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let wrong = register.bring(LATER, numbered(WRONG)).await;
    let taken = register.refuses(LATER, numbered("4191")).await;
    assert_eq!(taken.field(), "vehicle_number", "{taken}");
    withdraws(&mut register, wrong).await;
    assert!(!is_there(&register, WRONG).await);
    let unknown = register.refuses("2029-03-01T00:00Z", read(WRONG, 5)).await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    register.proves().await;
    register.bring(LATER, numbered("4191")).await;
    let again = register.bring(LATER, car_of_fleet(WRONG)).await;
    assert!(is_there(&register, WRONG).await);
    withdraws(&mut register, again).await;
    register.proves().await;
}

async fn what_was_approved_is_withdrawn_in_the_same_way(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    for _ in 0..2 {
        let Fact::CarRegistered(new) = numbered(WRONG) else {
            panic!("a car")
        };
        let proposal = Fact::Proposed(Proposal::Car(new));
        let proposal = register.record(LATER, proposal).await;
        let approval = register.approve(proposal, LATER).await;
        assert!(is_there(&register, WRONG).await);
        withdraws(&mut register, approval).await;
        assert!(!is_there(&register, WRONG).await);
    }
    register.proves().await;
}

async fn what_refers_to_a_car_is_named_where_its_registration_is_to_be_withdrawn(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let wrong = register.bring(LATER, car_of_fleet(WRONG)).await;
    let valve = component(fleet::VALVE, "99");
    let came = Fact::ComponentReceived(receipt(&valve, "2028-01-01"));
    register.record(LATER, came).await;
    for fact in [
        read(WRONG, 5),
        fitted(&valve, &position(WRONG, FIRST)),
        unit(fleet::UNIT, &["4101", WRONG]),
    ] {
        let refers = register.record("2029-02-02T00:00Z", fact).await;
        assert_eq!(named(&mut register, wrong).await, refers);
        register.withdraw(refers).await;
    }
    // What it is registered with is changed by an entry of its own, and not by taking that back.
    let moved = register
        .bring("2029-02-03T00:00Z", car(WRONG, "A", "South"))
        .await;
    assert_eq!(named(&mut register, wrong).await, moved);
    let command = withdrawal(&register, moved);
    let later = register.refuses_of(second_engineer(), command).await;
    assert_eq!(later.field(), "corrects", "{later}");
    register.proves().await;
}

async fn nobody_is_told_to_withdraw_what_is_never_withdrawn(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let wrong = register.bring(LATER, car_of_fleet(WRONG)).await;
    let refers = register.record("2029-02-02T00:00Z", read(WRONG, 5)).await;
    let command = withdrawal(&register, wrong);
    let refusal = register.refuses_of(second_engineer(), command).await;
    assert!(
        refusal.to_string().contains("withdraw that entry first"),
        "{refusal}"
    );
    register.withdraw(refers).await;
    let hold = held(Held::Car(WRONG.parse().unwrap()));
    let hold = register.record("2029-02-02T00:00Z", hold).await;
    register
        .record("2029-02-03T00:00Z", hold_lifted(hold))
        .await;
    let command = withdrawal(&register, wrong);
    let refusal = register.refuses_of(second_engineer(), command).await;
    assert_eq!(refusal.conflicting_entry(), Some(hold), "{refusal}");
    let says = refusal.to_string();
    assert!(says.contains("is never withdrawn, so it stays"), "{says}");
    register.proves().await;
}

async fn what_was_taken_back_does_not_keep_a_car(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let wrong = register.bring(LATER, car_of_fleet(WRONG)).await;
    let valve = component(fleet::VALVE, "99");
    let came = Fact::ComponentReceived(receipt(&valve, "2028-01-01"));
    register.record(LATER, came).await;
    for fact in [read(WRONG, 5), fitted(&valve, &position(WRONG, FIRST))] {
        let refers = register.record("2029-02-02T00:00Z", fact).await;
        register.withdraw(refers).await;
    }
    withdraws(&mut register, wrong).await;
    assert!(!is_there(&register, WRONG).await);
    assert!(register.life(&valve).await.fitments.is_empty());
    register.proves().await;
}

/// What is told of a car, and of a component that was on it, as at a time, as known at another.
async fn told(register: &Register, valve: &ComponentRef, as_at: AsAt) -> String {
    let mut view = register.store.view_known(as_at.known).await.unwrap();
    let car = view.car(&WRONG.parse().unwrap()).await.unwrap().unwrap();
    let there = view.cars_as_then(vec![car.clone()], as_at).await.unwrap();
    let named = view.vehicles(&WRONG.parse().unwrap()).await.unwrap();
    let all = CarFilter::default();
    let listed = view.cars_told(&all, as_at).await.unwrap();
    let of_unit = view.unit_told(&fleet::UNIT.parse().unwrap(), as_at).await;
    let on_car = view.fitted(&car, as_at).await.unwrap();
    let first = FIRST.parse().unwrap();
    let firsts = [&first];
    let here = view.history_of_positions((&car, &firsts), Some(as_at));
    let here = here.await.unwrap().into_iter();
    let here: Vec<_> = here.map(|one| (one.component, one.from, one.end)).collect();
    let then = view.cars_then(&[&car], as_at).await.unwrap().then;
    let looked_for = LookedFor::Serials {
        part: valve.part.clone(),
        begins: valve.serial.to_string(),
    };
    let filter = CarryingFilter {
        looked_for,
        as_at,
        after: None,
        rows: 10,
    };
    let carried = view.carrying(&filter).await.unwrap().into_iter();
    let carried: Vec<_> = carried.map(|one| (one.carried.since(), one.at)).collect();
    let life = view.life_then(valve, as_at).await.unwrap().unwrap().life;
    let standings = then.standings(&car.car.number);
    let of_component = (on_car, here, carried, life.fitments);
    format!(
        "{:?} {of_component:?}",
        (there, named, listed, of_unit.unwrap(), standings)
    )
}

async fn what_was_known_of_a_car_is_told_of_then_as_before_it_was_taken_back(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let wrong = register.bring(LATER, car_of_fleet(WRONG)).await;
    let valve = component(fleet::VALVE, "99");
    let came = Fact::ComponentReceived(receipt(&valve, "2028-01-01"));
    register.record(LATER, came).await;
    let mut refer = Vec::new();
    for fact in [
        read(WRONG, 5),
        fitted(&valve, &position(WRONG, FIRST)),
        unit(fleet::UNIT, &["4101", WRONG]),
    ] {
        refer.push(register.record("2029-02-02T00:00Z", fact).await);
    }
    let as_at = AsAt {
        effective: at("2029-02-03T00:00Z"),
        known: register.now,
    };
    let before = told(&register, &valve, as_at).await;
    assert!(before.contains("Odometer"), "{before}");
    register.now_is("2030-01-02T06:00Z");
    for entry in refer.into_iter().rev() {
        register.withdraw(entry).await;
    }
    withdraws(&mut register, wrong).await;
    assert!(!is_there(&register, WRONG).await);
    assert_eq!(told(&register, &valve, as_at).await, before);
    // Another car may bear the number by now.
    register.now_is("2030-01-03T06:00Z");
    register.bring(LATER, car_of_fleet(WRONG)).await;
    assert_eq!(told(&register, &valve, as_at).await, before);
    register.proves().await;
    register.store.rebuild(|_| ()).await.unwrap();
    assert_eq!(told(&register, &valve, as_at).await, before);
}

each_database!(
    what_was_known_of_a_car_is_told_of_then_as_before_it_was_taken_back,
    a_registration_that_nothing_refers_to_is_withdrawn_and_its_vehicle_number_is_free,
    what_was_approved_is_withdrawn_in_the_same_way,
    what_refers_to_a_car_is_named_where_its_registration_is_to_be_withdrawn,
    what_was_taken_back_does_not_keep_a_car,
    nobody_is_told_to_withdraw_what_is_never_withdrawn,
);
