//! Test records and receipts are corrected as other entries are: what followed follows no more, what
//! rests on them is named, and what was known before is still told.

use domain::configuration::component::{ComponentRef, Subject};
use domain::ledger::consequences::{CameOrWent, CutOutMoved};
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Brought, Fact, Receipt};
use domain::refusal::Refusal;
use domain::units::Amount;
use store::read::AsAt;
use tests::each_database;
use tests::facts::{
    at, component, fitted, isolated, isolation_ended, leakage_tested, position, receipt,
};
use tests::fleet::{self, COCK, FIRST};
use tests::register::Register;

const TESTED: &str = "2029-02-03T00:00Z";

fn tested(id: &str, leakage: &str) -> Fact {
    leakage_tested(id, "4101", at(TESTED), leakage)
}

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    register
}

/// The tests of car 4101 as known at a time: identity and outcome.
async fn tests_known(register: &Register, known: &str) -> Vec<String> {
    let mut view = register.store.view().await.unwrap();
    let car = view.car(&"4101".parse().unwrap()).await.unwrap().unwrap();
    let as_at = AsAt {
        effective: at("2029-12-31T00:00Z"),
        known: at(known),
    };
    let told = view.cars_then(&[&car], as_at).await.unwrap();
    let subject = Subject::Car(car.car.number.clone());
    let tests = told.then.tests_of(&subject).iter();
    tests
        .map(|test| format!("{} {}", test.record.id, test.outcome))
        .collect()
}

async fn a_test_record_is_corrected_and_what_was_known_is_still_told(url: &str) {
    let mut register = founded(url).await;
    register.now_is("2030-03-01T06:00Z");
    let wrong = register.record(TESTED, tested("T1", "0.1")).await;
    register.now_is("2030-03-05T06:00Z");
    let right = register.correct(wrong, TESTED, tested("T1", "0.3")).await;
    register.now_is("2030-03-09T06:00Z");
    register.withdraw(right).await;
    assert_eq!(
        tests_known(&register, "2030-03-02T00:00Z").await,
        ["T1 passed"]
    );
    assert_eq!(
        tests_known(&register, "2030-03-06T00:00Z").await,
        ["T1 failed"]
    );
    assert_eq!(tests_known(&register, "2030-03-10T00:00Z").await, [""; 0]);
    // Its identity is free again.
    register.record(TESTED, tested("T1", "0.2")).await;
    let again = register
        .refuses_correction(wrong, TESTED, tested("T2", "0.2"))
        .await;
    assert!(
        matches!(again, Refusal::Contradicts { by, .. } if by == right),
        "{again}"
    );
    register.proves().await;
}

async fn a_test_that_proved_a_brake_restored_goes_on_proving_it(url: &str) {
    let mut register = founded(url).await;
    let cock = position("4101", COCK);
    register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    let test = register.record(TESTED, tested("T1", "0.2")).await;
    let ended = isolation_ended(&cock, "T1");
    let ended = register.record("2029-02-04T00:00Z", ended).await;
    let rests = |refusal: &Refusal, on: Seq| {
        assert!(
            matches!(refusal, Refusal::Contradicts { by, .. } if *by == on),
            "{refusal}"
        );
    };
    let failed = register
        .refuses_correction(test, TESTED, tested("T1", "0.3"))
        .await;
    rests(&failed, ended);
    let renamed = register
        .refuses_correction(test, TESTED, tested("T2", "0.2"))
        .await;
    rests(&renamed, ended);
    let gone = register.refuses_withdrawal(test).await;
    rests(&gone, ended);
    // Another value that passes as well proves it as well.
    let test = register.correct(test, TESTED, tested("T1", "0.1")).await;
    let taken_back = register.withdraw(ended).await;
    // It is told that the cock is cut out again.
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(taken_back).await.unwrap().unwrap().entry;
    drop(view);
    let again = CutOutMoved {
        at: cock.clone(),
        change: CameOrWent::Came,
    };
    assert_eq!(kept.consequences.expect("told").cut_outs, [again]);
    register.withdraw(test).await;
    let in_force = "select count(*) from isolation where ended_at is null";
    assert_eq!(register.tables.number(in_force).await, 1);
    register.proves().await;
}

fn brought(of: &ComponentRef, km: i64) -> Receipt {
    Receipt {
        brought: Brought {
            odometer: Some(Amount::whole(km)),
            ..Brought::default()
        },
        ..receipt(of, "2020-01-01")
    }
}

async fn a_receipt_is_replaced_by_another_of_the_same_component(url: &str) {
    let mut register = founded(url).await;
    let valve = component(fleet::VALVE, "70");
    let came = "2029-01-10T00:00Z";
    register.now_is("2030-03-01T06:00Z");
    let first = brought(&valve, 300_000);
    let wrong = register.record(came, Fact::ComponentReceived(first)).await;
    let fit = fitted(&valve, &position("4101", FIRST));
    let fit = register.record("2029-02-01T00:00Z", fit).await;
    let id = register.life(&valve).await.record.id;
    register.now_is("2030-03-05T06:00Z");
    let right = Fact::ComponentReceived(brought(&valve, 30_000));
    let late = register
        .refuses_correction(wrong, "2029-02-02T00:00Z", right.clone())
        .await;
    assert!(
        matches!(late, Refusal::Contradicts { by, .. } if by == fit),
        "it was fitted before: {late}"
    );
    let other = Fact::ComponentReceived(brought(&component(fleet::VALVE, "71"), 30_000));
    let other = register.refuses_correction(wrong, came, other).await;
    assert_eq!(other.field(), "serial", "{other}");
    let gone = register.refuses_withdrawal(wrong).await;
    assert!(
        matches!(gone, Refusal::Contradicts { by, .. } if by == fit),
        "{gone}"
    );
    let right = register.correct(wrong, "2029-01-12T00:00Z", right).await;
    let record = register.life(&valve).await.record;
    assert_eq!(record.id, id, "it is the same component");
    assert_eq!(record.brought.odometer, Some(Amount::whole(30_000)));
    assert_eq!(record.received_at, at("2029-01-12T00:00Z"));
    assert!(right > wrong);
    // As known before, it had brought more.
    let mut view = register.store.view().await.unwrap();
    let known = |known: &str| AsAt {
        effective: at("2029-12-31T00:00Z"),
        known: at(known),
    };
    for (moment, km) in [
        ("2030-03-02T00:00Z", 300_000),
        ("2030-03-06T00:00Z", 30_000),
    ] {
        let told = view.component_then(id, known(moment)).await.unwrap();
        let then = told.then.component(&valve).expect("known then");
        assert_eq!(then.brought.odometer, Some(Amount::whole(km)), "{moment}");
    }
    drop(view);
    register.proves().await;
}

each_database!(
    a_receipt_is_replaced_by_another_of_the_same_component,
    a_test_record_is_corrected_and_what_was_known_is_still_told,
    a_test_that_proved_a_brake_restored_goes_on_proving_it,
);
