//! What holds for every command: it is recorded once, by somebody who may, and not ahead of time.

use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::people::Role::{
    self, Administrator, Auditor, BrakeEngineer, Controller, Planner, Stores, Technician,
};
use domain::refusal::Refusal;
use domain::time::Zone;
use store::{Recorded, Store};
use tests::each_database;
use tests::facts::{
    at, car_of_fleet, component, done, fitted, isolated, isolation_ended, judged, leakage_tested,
    moved, odometer_replaced, position, read, receipt, relocated, removed, swapped, unit,
};
use tests::fleet::{self, COCK, FIRST, OVERHAUL, UNIT, VALVE};
use tests::register::{Register, command, person};

async fn a_command_that_comes_again_is_recorded_once(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let one = &components.valves[0];
    let fit = command(
        at("2029-02-01T00:00Z"),
        fitted(one, &position("4101", FIRST)),
    );
    let entry = register.kept(fit.clone()).await;
    let kept = register.tables.contents().await;
    let again = register
        .send(person(Technician), fit.clone())
        .await
        .unwrap();
    assert_eq!(again, Recorded::Before(entry.seq));
    // Another server, or the same one after a restart, knows it as well.
    let other = Store::open(url, Zone::UTC).await.unwrap();
    let again = other
        .record(person(Technician), fit, register.now)
        .await
        .unwrap();
    assert_eq!(again, Recorded::Before(entry.seq));
    assert_eq!(register.tables.contents().await, kept);
}

async fn another_command_under_the_same_identity_is_refused(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let one = &components.valves[0];
    let fit = command(
        at("2029-02-01T00:00Z"),
        fitted(one, &position("4101", FIRST)),
    );
    let entry = register.kept(fit.clone()).await;
    let kept = register.tables.contents().await;
    let elsewhere = fitted(one, &position("4102", FIRST));
    let others = [
        Command {
            fact: elsewhere,
            ..fit.clone()
        },
        Command {
            effective_at: at("2029-02-02T00:00Z"),
            ..fit.clone()
        },
        Command {
            reason: "another".to_owned(),
            ..fit.clone()
        },
    ];
    for other in others {
        let refusal = register.refuses_of(person(Technician), other).await;
        let expected = Refusal::CommandReused {
            id: fit.id,
            by: entry.seq,
        };
        assert_eq!(refusal, expected);
    }
    assert_eq!(register.tables.contents().await, kept);
}

async fn a_clock_that_runs_backwards_does_not_move_the_ledger_back(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let head = register
        .kept(command(at("2029-02-01T00:00Z"), read("4101", 10_000)))
        .await;
    register.now_is("2029-06-01T00:00Z");
    let next = register
        .kept(command(at("2029-03-01T00:00Z"), read("4101", 12_000)))
        .await;
    assert_eq!(next.recorded_at, head.recorded_at);
    register.proves().await;
}

async fn a_command_refused_once_may_come_again(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let one = &components.valves[0];
    let removal = command(at("2029-03-01T00:00Z"), removed(one));
    register
        .refuses_of(person(Technician), removal.clone())
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(one, &position("4101", FIRST)))
        .await;
    let entry = register.kept(removal).await;
    assert_eq!(entry.effective_at, at("2029-03-01T00:00Z"));
}

async fn nothing_is_recorded_ahead_of_time(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    register.now_is("2031-06-01T12:00Z");
    let ahead = register
        .refuses("2031-06-01T12:00:00.000001Z", read("4101", 7))
        .await;
    assert!(
        matches!(ahead, Refusal::Impossible { field: "at", .. }),
        "{ahead}"
    );
    register.now_is("2031-06-01T12:00Z");
    register.record("2031-06-01T12:00Z", read("4101", 7)).await;
}

async fn what_is_unknown_is_named(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let one = &components.valves[0];
    let stranger = component(VALVE, "99");
    for (fact, expected) in [
        (fitted(&stranger, &position("4101", FIRST)), "serial"),
        (fitted(one, &position("4199", FIRST)), "car"),
        (fitted(one, &position("4101", "=BS-X9")), "position"),
        (read("4199", 7), "car"),
        (done(one, "OH-99"), "task"),
        (unit("42", &["4199"]), "car"),
        (
            Fact::ComponentReceived(receipt(&component("DV-999", "1"), "2020-01-01")),
            "part",
        ),
    ] {
        let refusal = register.refuses("2029-02-01T00:00Z", fact).await;
        let Refusal::Unknown { what, .. } = refusal else {
            panic!("{refusal}");
        };
        assert_eq!(what, expected);
    }
}

async fn a_component_brings_no_dates_from_the_future(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let new = component(VALVE, "99");
    let made_later = Fact::ComponentReceived(receipt(&new, "2029-02-02"));
    let refusal = register.refuses("2029-02-01T00:00Z", made_later).await;
    assert!(
        matches!(
            refusal,
            Refusal::Impossible {
                field: "manufactured_on",
                ..
            }
        ),
        "{refusal}"
    );
    for overhauled in ["2062-01-01", "2028-01-01"] {
        let mut brought = receipt(&new, "2029-01-31");
        brought.overhauled_on = Some(overhauled.parse().unwrap());
        let refusal = register
            .refuses("2029-02-01T00:00Z", Fact::ComponentReceived(brought))
            .await;
        assert!(
            matches!(
                refusal,
                Refusal::Impossible {
                    field: "overhauled_on",
                    ..
                }
            ),
            "{refusal}"
        );
    }
    let twice = component(VALVE, "1");
    let twice = Fact::ComponentReceived(receipt(&twice, "2020-01-01"));
    let twice = register.refuses("2029-02-01T00:00Z", twice).await;
    assert!(
        matches!(twice, Refusal::AlreadyDefined { what: "serial", .. }),
        "{twice}"
    );
}

/// Facts, each with the roles that may record it.
fn facts() -> Vec<(Fact, &'static [Role])> {
    let components = fleet::components();
    let (one, other) = (&components.valves[0], &components.valves[1]);
    let (here, cock) = (position("4101", FIRST), position("4101", COCK));
    let when = at("2029-02-01T00:00Z");
    let mut facts: Vec<(Fact, &[Role])> = vec![
        (car_of_fleet("4104"), &[BrakeEngineer, Planner]),
        (unit(UNIT, &["4103"]), &[BrakeEngineer, Planner]),
        (
            Fact::ComponentReceived(receipt(one, "2020-01-01")),
            &[Stores, BrakeEngineer],
        ),
        (relocated(one, "Shelf 3"), &[Stores, BrakeEngineer]),
        (done(one, OVERHAUL), &[Technician, BrakeEngineer]),
        (
            leakage_tested("T 1", "4101", when, "0.1"),
            &[Technician, BrakeEngineer],
        ),
    ];
    let on_the_car: [Fact; 5] = [
        fitted(one, &here),
        removed(one),
        moved(one, &here),
        swapped(one, other),
        judged(
            one,
            domain::configuration::component::Condition::Serviceable,
        ),
    ];
    facts.extend(on_the_car.map(|fact| (fact, &[Technician, Stores, BrakeEngineer][..])));
    let meters = [read("4101", 7), odometer_replaced("4101", 7, 0)];
    facts.extend(meters.map(|f| (f, &[Planner, Technician, Controller, BrakeEngineer][..])));
    let cut_outs = [isolated(&cock), isolation_ended(&cock, "T 1")];
    facts.extend(cut_outs.map(|fact| (fact, &[Controller, Technician, BrakeEngineer][..])));
    // Parts, car types, tasks and procedures.
    let design = fleet::design().into_iter().take(9);
    facts.extend(design.map(|fact| (fact, &[BrakeEngineer][..])));
    facts
}

async fn each_fact_is_refused_to_whoever_may_not_record_it(url: &str) {
    let register = Register::open(url).await;
    for (fact, allowed) in facts() {
        for role in Role::ALL.iter().copied() {
            let sent = command(at("2029-02-01T00:00Z"), fact.clone());
            let outcome = register
                .store
                .record(person(role), sent, register.now)
                .await;
            // Whoever may is refused for another reason at most: the register is empty.
            let permitted = !matches!(
                outcome,
                Err(store::StoreError::Refused(Refusal::NotPermitted { .. }))
            );
            assert_eq!(
                permitted,
                allowed.contains(&role),
                "{role}: {}",
                fact.kind().name()
            );
        }
    }
}

async fn an_auditor_and_an_administrator_record_nothing(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    for role in [Auditor, Administrator] {
        let refusal = command(at("2029-02-01T00:00Z"), read("4101", 7));
        let refusal = register.refuses_of(person(role), refusal).await;
        let needed = "planner, technician, controller, brake engineer".to_owned();
        assert_eq!(refusal, Refusal::NotPermitted { needed });
    }
}

each_database!(
    another_command_under_the_same_identity_is_refused,
    a_clock_that_runs_backwards_does_not_move_the_ledger_back,
    a_command_that_comes_again_is_recorded_once,
    a_command_refused_once_may_come_again,
    nothing_is_recorded_ahead_of_time,
    what_is_unknown_is_named,
    a_component_brings_no_dates_from_the_future,
    each_fact_is_refused_to_whoever_may_not_record_it,
    an_auditor_and_an_administrator_record_nothing,
);
