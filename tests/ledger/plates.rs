//! Plates: a component keeps every serial number that it ever bore, and no other bears one of them.

use domain::configuration::component::ComponentRef;
use domain::configuration::plate::{PlateCause, PlateChange};
use domain::ledger::fact::{Fact, Receipt};
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{at, component, receipt};
use tests::fleet::{self, VALVE};
use tests::register::{Register, command};

/// Its plate says another serial number.
pub(super) fn plate(component: &ComponentRef, serial: &str, cause: PlateCause) -> Fact {
    Fact::PlateChanged(PlateChange {
        component: component.clone(),
        plate: serial.parse().unwrap(),
        cause,
    })
}

async fn changed(register: &mut Register, since: &str, fact: Fact) -> domain::ledger::entry::Seq {
    let mut command = command(at(since), fact);
    "as read on the bench".clone_into(&mut command.reason);
    register.kept(command).await.seq
}

async fn a_component_keeps_every_plate_it_ever_bore(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    let (misread, replaced) = (PlateCause::Misread, PlateCause::Replaced);
    let first = changed(
        &mut register,
        "2029-02-01T00:00Z",
        plate(valve, "A-1", misread),
    )
    .await;
    changed(
        &mut register,
        "2029-04-01T00:00Z",
        plate(valve, "C-3", replaced),
    )
    .await;
    // Told late: it lies between.
    changed(
        &mut register,
        "2029-03-01T00:00Z",
        plate(valve, "B-2", replaced),
    )
    .await;
    let record = register.life(valve).await.record;
    let plates: Vec<_> = record.plates.iter().map(|one| one.plate.as_str()).collect();
    assert_eq!(plates, ["A-1", "B-2", "C-3"]);
    assert_eq!(record.plate_at(at("2029-01-02T00:00Z")), &valve.serial);
    assert_eq!(record.plate_at(at("2029-03-02T00:00Z")).as_str(), "B-2");
    for typed in ["a1", "B 2", "c3", valve.serial.as_str()] {
        let mut view = register.store.view().await.unwrap();
        let found = view.components_by_serial(typed).await.unwrap();
        let found: Vec<_> = found.iter().map(|record| &record.component).collect();
        assert!(found.contains(&valve), "{typed}");
    }
    register.proves().await;
    register.withdraw(first).await;
    let mut view = register.store.view().await.unwrap();
    assert!(view.components_by_serial("a1").await.unwrap().is_empty());
    drop(view);
    register.proves().await;
}

async fn no_other_component_has_a_plate_that_one_bore(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let [one, other, ..] = &components.valves[..] else {
        panic!("two valves")
    };
    let by = changed(
        &mut register,
        "2029-02-01T00:00Z",
        plate(one, "A-1", PlateCause::Replaced),
    )
    .await;
    let mut command = command(
        at("2029-03-01T00:00Z"),
        plate(other, "A-1", PlateCause::Misread),
    );
    "as read".clone_into(&mut command.reason);
    let engineer = tests::register::person(domain::people::Role::BrakeEngineer);
    let refusal = register.refuses_of(engineer, command).await;
    assert!(
        matches!(&refusal, Refusal::AlreadyDefined { by: of, .. } if *of == by),
        "{refusal}"
    );
    let same = ComponentRef {
        part: one.part.clone(),
        serial: "A-1".parse().unwrap(),
    };
    let received = Fact::ComponentReceived(receipt(&same, "2029-01-01"));
    let refusal = register.refuses("2029-03-01T00:00Z", received).await;
    assert!(
        matches!(&refusal, Refusal::AlreadyDefined { by: of, .. } if *of == by),
        "{refusal}"
    );
    register.proves().await;
}

async fn what_may_be_in_the_register_already_is_asked_about_before_it_comes_in(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let received = |serial: &str, seen: Option<&str>| {
        Fact::ComponentReceived(Receipt {
            alike_seen: seen.map(str::to_owned),
            ..receipt(&component(VALVE, serial), "2020-01-01")
        })
    };
    let first = register
        .record("2029-01-02T00:00Z", received("99-R0001", None))
        .await;
    for alike in ["99R0001", "99-r0001", "99 R0001"] {
        let asked = register
            .refuses("2029-01-03T00:00Z", received(alike, None))
            .await;
        assert!(
            matches!(&asked, Refusal::Alike { by, .. } if *by == first),
            "{alike}: {asked}"
        );
    }
    let empty = register
        .refuses("2029-01-03T00:00Z", received("99R0001", Some(" ")))
        .await;
    assert_eq!(empty.field(), "alike_seen", "{empty}");
    let seen = Some("both lie on the bench, of two makers");
    register
        .record("2029-01-03T00:00Z", received("99R0001", seen))
        .await;
    // Of another part nothing is asked, and what is brought in is told as it was.
    let other = receipt(&component(fleet::LATER_VALVE, "99R0001"), "2020-01-01");
    register
        .record("2029-01-03T00:00Z", Fact::ComponentReceived(other))
        .await;
    register
        .bring("2029-01-03T00:00Z", received("99 r 0001", None))
        .await;
    register.proves().await;
}

each_database!(
    what_may_be_in_the_register_already_is_asked_about_before_it_comes_in,
    a_component_keeps_every_plate_it_ever_bore,
    no_other_component_has_a_plate_that_one_bore,
);
