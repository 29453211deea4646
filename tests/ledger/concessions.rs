//! Concessions on both databases: what is not approved is fitted only under one in force, which
//! two people granted; it ends by itself, and what is under it is a finding then.

use domain::configuration::concession::{Allowed, Concession};
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Fact, Fitting};
use domain::ledger::proposal::Proposal;
use domain::refusal::Refusal;
use store::read::departures::{DepartureFilter, DepartureItem};
use tests::each_database;
use tests::facts::{fitted, position, removed};
use tests::fleet::{self, LATER_VALVE, SECOND};
use tests::register::{Register, command};

const SINCE: &str = "2029-01-01T00:00Z";
const GRANTED: &str = "2029-02-01T00:00Z";
const FITTED: &str = "2029-02-02T00:00Z";

/// The later valve, which is approved at the first position only, is allowed at the second.
pub(super) fn concession(number: &str, until: &str) -> Concession {
    Concession {
        number: number.parse().unwrap(),
        cars: "4101 to 4102".parse().unwrap(),
        position: SECOND.parse().unwrap(),
        allows: Allowed::Part(LATER_VALVE.parse().unwrap()),
        values: None,
        reason: "until stock arrives; leakage tested each week".to_owned(),
        until: until.parse().unwrap(),
    }
}

fn proposed(number: &str, until: &str) -> Fact {
    Fact::Proposed(Proposal::Concession(concession(number, until)))
}

async fn grant(register: &mut Register, number: &str, until: &str) -> Seq {
    let proposal = register.record(GRANTED, proposed(number, until)).await;
    register.approve(proposal, GRANTED).await
}

/// The later valve is fitted at the second position of a car under a concession.
fn under(number: &str, car: &str) -> Fact {
    let later = fleet::components().later;
    let Fact::Fitted(fitting) = fitted(&later, &position(car, SECOND)) else {
        unreachable!()
    };
    Fact::Fitted(Fitting {
        concession: Some(number.parse().unwrap()),
        ..fitting
    })
}

async fn at_second(register: &Register, on: &str) -> Vec<DepartureItem> {
    let filter = DepartureFilter {
        car: Some("4101".parse().unwrap()),
        ..DepartureFilter::all(on.parse().unwrap())
    };
    let mut view = register.store.view().await.unwrap();
    let mut items = view.departures(&filter).await.unwrap();
    items.retain(|item| item.position.as_str() == SECOND);
    items
}

/// How the second position of car 4101 stands on a day.
async fn standing(register: &Register, on: &str) -> &'static str {
    let items = at_second(register, on).await;
    let [item] = &items[..] else {
        panic!("one departure: {items:?}")
    };
    item.standing(on.parse().unwrap()).name()
}

async fn what_is_not_approved_is_fitted_only_under_a_concession_in_force(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let without = fitted(&components.later, &position("4101", SECOND));
    let without = register.refuses(FITTED, without).await;
    assert!(matches!(without, Refusal::NotApproved { .. }), "{without}");
    let unknown = register.refuses(FITTED, under("C-1", "4101")).await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    let alone = Fact::ConcessionGranted(concession("C-1", "2029-06-30"));
    let alone = register.refuses(GRANTED, alone).await;
    assert!(matches!(alone, Refusal::NeedsTwoPeople { .. }), "{alone}");
    for (until, field) in [("2029-01-31", "until"), ("2031-02-02", "until")] {
        let wrong = register.refuses(GRANTED, proposed("C-1", until)).await;
        assert_eq!(wrong.field(), field, "{wrong}");
    }
    let proposal = register
        .record(GRANTED, proposed("C-1", "2029-06-30"))
        .await;
    let waiting = register.refuses(FITTED, under("C-1", "4101")).await;
    assert!(matches!(waiting, Refusal::Unknown { .. }), "{waiting}");
    register.approve(proposal, GRANTED).await;
    for (when, car) in [
        ("2029-01-31T00:00Z", "4101"),
        ("2029-07-01T00:00Z", "4101"),
        (FITTED, "4103"),
    ] {
        let beyond = register.refuses(when, under("C-1", car)).await;
        assert_eq!(beyond.field(), "concession", "{when} {car}: {beyond}");
    }
    let needless = fitted(&components.valves[0], &position("4101", SECOND));
    let Fact::Fitted(needless) = needless else {
        unreachable!()
    };
    let needless = Fact::Fitted(Fitting {
        concession: Some("C-1".parse().unwrap()),
        ..needless
    });
    let needless = register.refuses(FITTED, needless).await;
    assert_eq!(needless.field(), "concession", "{needless}");
    // The entry says by which.
    let entry = register.record(FITTED, under("C-1", "4101")).await;
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(entry).await.unwrap().unwrap().entry;
    drop(view);
    assert_eq!(kept.fact, under("C-1", "4101"));
    register.proves().await;
}

async fn a_concession_is_for_cars_that_there_are_and_a_part_made_for_the_place(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let good = || concession("C-1", "2029-06-30");
    let relay = Concession {
        allows: Allowed::Part(fleet::RELAY_VALVE.parse().unwrap()),
        ..good()
    };
    let relay = Fact::Proposed(Proposal::Concession(relay));
    let relay = register.refuses(GRANTED, relay).await;
    assert_eq!(relay.field(), "part", "{relay}");
    assert!(
        relay.to_string().contains("made for a relay valve"),
        "{relay}"
    );
    for cars in ["4199", "4101 to 4199", "4101, 4199"] {
        let elsewhere = Concession {
            cars: cars.parse().unwrap(),
            ..good()
        };
        let elsewhere = Fact::Proposed(Proposal::Concession(elsewhere));
        let elsewhere = register.refuses(GRANTED, elsewhere).await;
        assert!(
            matches!(&elsewhere, Refusal::Unknown { name, .. } if name == "4199"),
            "{elsewhere}"
        );
    }
    grant(&mut register, "C-1", "2029-06-30").await;
}

async fn a_departure_is_a_finding_again_when_its_concession_is_over(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    grant(&mut register, "C-1", "2029-06-30").await;
    register.record(FITTED, under("C-1", "4101")).await;
    assert_eq!(standing(&register, "2029-06-30").await, "under_concession");
    assert_eq!(standing(&register, "2029-07-01").await, "finding");
    let longer = |until: &str| Proposal::Prolongation {
        number: "C-1".parse().unwrap(),
        until: until.parse().unwrap(),
    };
    let why = |proposal: Proposal| {
        let mut command = command(
            tests::facts::at("2029-06-01T00:00Z"),
            Fact::Proposed(proposal),
        );
        "stock is late".clone_into(&mut command.reason);
        command
    };
    let shorter = why(longer("2029-06-15"));
    let engineer = tests::register::person(domain::people::Role::BrakeEngineer);
    let shorter = register.refuses_of(engineer, shorter).await;
    assert_eq!(shorter.field(), "until", "{shorter}");
    let proposal = register.kept(why(longer("2029-09-30"))).await.seq;
    assert_eq!(standing(&register, "2029-07-01").await, "finding");
    register.approve(proposal, "2029-06-02T00:00Z").await;
    assert_eq!(standing(&register, "2029-07-01").await, "under_concession");
    assert_eq!(standing(&register, "2029-10-01").await, "finding");
    let number = "C-1".parse().unwrap();
    let mute = Fact::ConcessionWithdrawn { number };
    let refused = register.refuses("2029-08-01T00:00Z", mute.clone()).await;
    assert_eq!(refused.field(), "reason", "{refused}");
    let mut withdrawal = command(tests::facts::at("2029-08-01T00:00Z"), mute);
    "it leaks".clone_into(&mut withdrawal.reason);
    register.kept(withdrawal).await;
    assert_eq!(standing(&register, "2029-08-02").await, "finding");
    // Off the car, nothing departs by what was there.
    let off = removed(&fleet::components().later);
    register.record("2029-08-03T00:00Z", off).await;
    let left = at_second(&register, "2029-08-04").await;
    let left: Vec<&str> = left.iter().map(|item| item.kind.name()).collect();
    assert_eq!(left, ["vacant"]);
    let over = register.refuses("2029-08-04T00:00Z", under("C-1", "4102"));
    let over = over.await;
    assert!(over.to_string().contains("it was withdrawn by"), "{over}");
    register.proves().await;
}

each_database!(
    what_is_not_approved_is_fitted_only_under_a_concession_in_force,
    a_concession_is_for_cars_that_there_are_and_a_part_made_for_the_place,
    a_departure_is_a_finding_again_when_its_concession_is_over,
);
