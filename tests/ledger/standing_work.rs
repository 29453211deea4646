//! Work that stands on a component goes with it where it is fitted: it is told, and what has
//! reached the limit of its life is not fitted at all. `practice.md`, C.4, table of conditions
//! (beyond salvage: life limit) and C.5, 22 (serviceable can lapse on the shelf). Common practice,
//! no source.

use domain::configuration::certificate::{Certificate, Left, LifeLeft};
use domain::configuration::component::ComponentRef;
use domain::due::state::State;
use domain::due::task::{Interval, Limit, Task};
use domain::ledger::consequences::{DoubtKind, StandingWork};
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Fact, Receipt};
use domain::people::Role;
use domain::refusal::Refusal;
use store::Foresight;
use tests::each_database;
use tests::facts::{
    at, certificate, component, done, fitted, fitted_until, position, receipt, removed,
};
use tests::fleet::{self, FIRST, LIFE, OVERHAUL, SECOND, VALVE};
use tests::register::{Register, command, person};

/// A task, now with a limit of so many months alone: the valves are made on 2020-01-01, and what
/// they have run is not known.
fn by_months(task: Task, months: u32) -> Fact {
    let limit = Limit {
        interval: Interval::Months(months),
        early: 0,
        late: 0,
    };
    Fact::TaskDefined(Task {
        revision: "B".parse().unwrap(),
        limits: vec![limit].try_into().unwrap(),
        ..task
    })
}

async fn founded(url: &str, life_months: u32) -> (Register, ComponentRef, ComponentRef) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2027-01-01T00:00Z").await;
    for (task, months) in [(fleet::life(), life_months), (fleet::overhaul("B", 96), 96)] {
        let task = by_months(task, months);
        register.record("2027-01-02T00:00Z", task).await;
    }
    let [one, other, ..] = &components.valves[..] else {
        panic!("two valves");
    };
    (register, one.clone(), other.clone())
}

async fn told(register: &Register, entry: Seq) -> Vec<StandingWork> {
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(entry).await.unwrap().unwrap();
    let consequences = kept.entry.consequences;
    consequences.map_or_else(Vec::new, |one| one.fitted.told)
}

async fn what_is_overdue_is_told_when_it_is_fitted_and_not_before_it_is(url: &str) {
    let (mut register, one, other) = founded(url, 240).await;
    let place = position("4101", FIRST);
    // Made on 2020-01-01, overhauled every 96 months: due on 2028-01-01.
    let early = register
        .record("2027-12-31T00:00Z", fitted(&one, &place))
        .await;
    assert_eq!(told(&register, early).await, []);
    register.record("2028-01-10T00:00Z", removed(&one)).await;
    let late = fitted(&other, &place);
    let foreseen = register
        .store
        .foresee(
            &person(Role::BrakeEngineer),
            command(at("2028-01-11T00:00Z"), late.clone()),
            register.now,
        )
        .await
        .unwrap();
    let entry = register.record("2028-01-11T00:00Z", late).await;
    let standing = told(&register, entry).await;
    let expected = StandingWork {
        component: other.clone(),
        task: OVERHAUL.parse().unwrap(),
        state: State::Overdue,
        on: Some("2028-01-01".parse().unwrap()),
    };
    assert_eq!(standing, [expected]);
    let Foresight::Would(foreseen) = foreseen else {
        panic!("{foreseen:?}");
    };
    assert_eq!(foreseen.fitted.told, standing);
    register.proves().await;
}

async fn what_has_reached_the_limit_of_its_life_is_not_fitted(url: &str) {
    let (mut register, one, other) = founded(url, 97).await;
    let place = position("4101", FIRST);
    register
        .record("2028-01-20T00:00Z", fitted(&one, &place))
        .await;
    // Made on 2020-01-01: 97 months end on 2028-02-01, and a life has no tolerance.
    let over = register
        .refuses(
            "2028-02-02T00:00Z",
            fitted(&other, &position("4101", SECOND)),
        )
        .await;
    let Refusal::LifeOver {
        component,
        task,
        on,
    } = &over
    else {
        panic!("{over}");
    };
    assert_eq!((component, task.as_str()), (&other, LIFE));
    assert_eq!(*on, Some("2028-02-01".parse().unwrap()));
    // That it was there before, and came off in time, can be told.
    let before = fitted_until(&other, &position("4101", SECOND), at("2028-01-30T00:00Z"));
    register.record("2028-01-21T00:00Z", before).await;
    // An overhaul does not give a new life.
    register
        .record("2028-02-03T00:00Z", done(&other, OVERHAUL))
        .await;
    let still = register
        .refuses(
            "2028-02-04T00:00Z",
            fitted(&other, &position("4101", SECOND)),
        )
        .await;
    assert!(matches!(still, Refusal::LifeOver { .. }), "{still}");
    register.proves().await;
}

async fn doubts(register: &Register, entry: Seq) -> Vec<DoubtKind> {
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(entry).await.unwrap().unwrap();
    let told = kept
        .entry
        .consequences
        .map_or_else(Vec::new, |told| told.doubts);
    told.into_iter().map(|doubt| doubt.why).collect()
}

/// A valve received with what its certificate says is left of its overhaul.
fn with_left(serial: &str, until: &str, seen: Option<&str>) -> Fact {
    let left = LifeLeft {
        task: OVERHAUL.parse().unwrap(),
        left: Left::Until(until.parse().unwrap()),
    };
    Fact::ComponentReceived(Receipt {
        certificate: None,
        release: Some(Box::new(Certificate {
            left: vec![left],
            signed_on: "2027-01-01".parse().unwrap(),
            ..certificate()
        })),
        alike_seen: seen.map(str::to_owned),
        ..receipt(&component(VALVE, serial), "2020-01-01")
    })
}

async fn what_a_certificate_says_is_left_is_held_against_the_register_at_fitting(url: &str) {
    let (mut register, ..) = founded(url, 240).await;
    let place = position("4101", FIRST);
    // By the register the overhaul is due on 2028-01-01.
    for (serial, until, doubtful) in [
        ("OVER", "2027-02-01", true),
        ("SOONER", "2027-12-31", true),
        ("SAME", "2028-01-01", false),
        ("LATER", "2028-06-01", false),
    ] {
        let received = with_left(serial, until, None);
        register.record("2027-01-03T00:00Z", received).await;
        let valve = component(VALVE, serial);
        let entry = register
            .record("2027-03-01T00:00Z", fitted(&valve, &place))
            .await;
        let told = doubts(&register, entry).await;
        let of_paper = matches!(&told[..], [DoubtKind::Certificate { found: Some(_), .. }]);
        assert_eq!(of_paper, doubtful, "{serial}: {told:?}");
        assert_eq!(told.is_empty(), !doubtful, "{serial}: {told:?}");
        register.withdraw(entry).await;
    }
    // Once the work was done, what the paper said of it is over.
    let valve = component(VALVE, "OVER");
    register
        .record("2027-03-02T00:00Z", done(&valve, OVERHAUL))
        .await;
    let entry = register
        .record("2027-03-03T00:00Z", fitted(&valve, &place))
        .await;
    assert_eq!(doubts(&register, entry).await, []);
    register.proves().await;
}

async fn what_may_be_fitted_already_is_asked_about_at_fitting(url: &str) {
    let (mut register, ..) = founded(url, 240).await;
    let seen = Some("two plates were seen");
    for (serial, seen) in [("99-R0001", None), ("99R0001", seen)] {
        let received = with_left(serial, "2028-01-01", seen);
        register.record("2027-01-03T00:00Z", received).await;
    }
    let (one, other) = (component(VALVE, "99-R0001"), component(VALVE, "99R0001"));
    let first = fitted(&one, &position("4101", FIRST));
    let first = register.record("2027-01-04T00:00Z", first).await;
    assert_eq!(doubts(&register, first).await, []);
    let second = fitted(&other, &position("4102", FIRST));
    let second = register.record("2027-01-05T00:00Z", second).await;
    assert_eq!(doubts(&register, second).await, [DoubtKind::Alike(one)]);
    register.proves().await;
}

each_database!(
    what_a_certificate_says_is_left_is_held_against_the_register_at_fitting,
    what_may_be_fitted_already_is_asked_about_at_fitting,
    what_is_overdue_is_told_when_it_is_fitted_and_not_before_it_is,
    what_has_reached_the_limit_of_its_life_is_not_fitted,
);
