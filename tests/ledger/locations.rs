//! Locations by their kinds: in transit and contractors are places, and what is away is expected.

use domain::configuration::component::Condition;
use domain::configuration::location::LocationKind::{Contractor, InTransit, Scrapped, Store};
use domain::configuration::location::Sent;
use domain::ledger::command::Command;
use domain::ledger::fact::{Fact, Receipt};
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{at, component, fitted, judged, position, receipt, relocated};
use tests::fleet::{self, FIRST};
use tests::locations::{location, sent_to};
use tests::register::{Register, command};

async fn named(url: &str) -> (Register, fleet::Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    for (name, kind) in [
        ("Store", Store),
        ("Works", Contractor),
        ("Van", InTransit),
        ("Heap", Scrapped),
    ] {
        let fact = location(name, kind);
        register.record("2029-01-02T00:00Z", fact).await;
    }
    (register, components)
}

fn wrong_field(refusal: &Refusal) -> &'static str {
    match refusal {
        Refusal::Impossible { field, .. } => field,
        other => panic!("{other}"),
    }
}

/// `practice.md`, C.4, 18: in transit is a place; a contractor is a place. Common practice, no
/// source.
async fn what_is_in_transit_says_where_it_is_bound_for(url: &str) {
    let (mut register, components) = named(url).await;
    let valve = &components.valves[0];
    for (to, said, field) in [
        ("Van", (None, None), "bound_for"),
        ("Van", (Some("Van"), None), "bound_for"),
        ("Works", (Some("Store"), None), "bound_for"),
        ("Store", (None, Some("2029-02-01")), "expected_on"),
        ("Stroe", (None, None), "location"),
        ("Van", (Some("Wroks"), None), "location"),
        ("Works", (None, Some("2029-01-09")), "expected_on"),
        ("Works", (None, None), "expected_on"),
        ("Van", (Some("Works"), None), "expected_on"),
    ] {
        let fact = sent_to(valve, to, said);
        let refusal = register.refuses("2029-01-10T00:00Z", fact).await;
        assert_eq!(wrong_field(&refusal), field, "{to} {said:?}: {refusal}");
    }
    // One place has one name, however it is typed.
    let again = location("wor-ks", Store);
    let refusal = register.refuses("2029-01-10T00:00Z", again).await;
    assert_eq!(wrong_field(&refusal), "name", "{refusal}");
    let fact = sent_to(valve, "Van", (Some("Works"), Some("2029-01-12")));
    let gone = register.record("2029-01-10T00:00Z", fact).await;
    let kept = register.life(valve).await.record.kept.expect("not fitted");
    assert_eq!(
        kept.sent.to_string(),
        ", bound for Works, expected on 2029-01-12"
    );
    register.proves().await;
    // What was said when it left does not stay when it is somewhere else, and comes back with it.
    let arrived = register
        .record(
            "2029-01-11T00:00Z",
            sent_to(valve, "Works", (None, Some("2029-02-11"))),
        )
        .await;
    let kept = register.life(valve).await.record.kept.expect("not fitted");
    assert_eq!(kept.sent.to_string(), ", expected on 2029-02-11");
    register.withdraw(arrived).await;
    let record = register.life(valve).await.record;
    assert_eq!(
        (record.since_by, record.location().unwrap().as_str()),
        (gone, "Van")
    );
    register.proves().await;
}

async fn what_comes_in_is_kept_at_a_location_that_was_named(url: &str) {
    let (mut register, _) = named(url).await;
    let received = |to: &str, said: (Option<&str>, Option<&str>)| {
        Fact::ComponentReceived(Receipt {
            location: to.parse().unwrap(),
            sent: Sent {
                bound_for: said.0.map(|name| name.parse().unwrap()),
                expected_on: said.1.map(|day| day.parse().unwrap()),
            },
            ..receipt(&component(fleet::VALVE, "77"), "2020-01-01")
        })
    };
    for (to, said, field) in [
        ("4101", (None, None), "location"),
        ("Stroe", (None, None), "location"),
        ("Van", (None, Some("2029-01-12")), "bound_for"),
        ("Van", (Some("Store"), None), "expected_on"),
        ("Works", (None, None), "expected_on"),
    ] {
        let refusal = register
            .refuses("2029-01-10T00:00Z", received(to, said))
            .await;
        assert_eq!(wrong_field(&refusal), field, "{to} {said:?}: {refusal}");
    }
    let away = received("Van", (Some("Store"), Some("2029-01-12")));
    register.record("2029-01-10T00:00Z", away).await;
    let record = register.life(&component(fleet::VALVE, "77")).await.record;
    let kept = record.kept.expect("not fitted");
    let said = ", bound for Store, expected on 2029-01-12";
    assert_eq!(kept.sent.to_string(), said);
    register.proves().await;
}

async fn what_is_fitted_is_away_no_longer(url: &str) {
    let (mut register, components) = named(url).await;
    let [first, second, ..] = &components.valves[..] else {
        panic!("two valves")
    };
    let when = "2029-01-10T00:00Z";
    register
        .record(when, sent_to(first, "Works", (None, Some("2029-03-01"))))
        .await;
    register
        .bring(when, sent_to(second, "Works", (None, None)))
        .await;
    let names = ["Works".parse().unwrap(), "Van".parse().unwrap()];
    let mut view = register.store.view().await.unwrap();
    let away = view.away(&names).await.unwrap();
    let listed: Vec<_> = away.iter().map(|record| &record.component).collect();
    assert_eq!(listed, [first, second], "those without a day last");
    drop(view);
    let here = fitted(first, &position("4101", FIRST));
    register.record("2029-02-01T00:00Z", here).await;
    let mut view = register.store.view().await.unwrap();
    assert_eq!(view.away(&names).await.unwrap().len(), 1);
    drop(view);
    register.proves().await;
}

async fn only_what_is_destroyed_is_kept_with_what_is_scrapped(url: &str) {
    let (mut register, components) = named(url).await;
    let valve = &components.valves[0];
    let refusal = register
        .refuses("2029-02-01T00:00Z", relocated(valve, "Heap"))
        .await;
    assert!(
        matches!(refusal, Refusal::ConditionForbids { .. }),
        "{refusal}"
    );
    register
        .record("2029-02-01T00:00Z", judged(valve, Condition::Scrapped))
        .await;
    register
        .record("2029-02-02T00:00Z", relocated(valve, "Heap"))
        .await;
    register.proves().await;
}

/// A location is of a kind from a time on: what was done before it was said stays as it is.
async fn a_location_is_of_its_kind_from_when_it_was_said(url: &str) {
    let (mut register, components) = named(url).await;
    let [first, second, ..] = &components.valves[..] else {
        panic!("two valves")
    };
    let again = register
        .refuses("2029-02-01T00:00Z", location("Works", Contractor))
        .await;
    assert!(matches!(again, Refusal::AlreadyDefined { .. }), "{again}");
    register
        .record("2029-03-01T00:00Z", location("Works", InTransit))
        .await;
    register
        .record(
            "2029-02-28T00:00Z",
            sent_to(first, "Works", (None, Some("2029-04-01"))),
        )
        .await;
    let refusal = register
        .refuses("2029-03-02T00:00Z", relocated(second, "Works"))
        .await;
    assert_eq!(wrong_field(&refusal), "bound_for");
    register.proves().await;
}

async fn what_is_quarantined_is_moved_with_a_word(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    register
        .record("2029-02-01T00:00Z", relocated(valve, "Workshop"))
        .await;
    register
        .record("2029-02-02T00:00Z", judged(valve, Condition::Quarantined))
        .await;
    let silent = relocated(valve, "Cage");
    let refusal = register.refuses("2029-02-03T00:00Z", silent.clone()).await;
    assert_eq!(refusal.field(), "reason", "{refusal}");
    let with_reason = Command {
        reason: "locked away until the maker comes".to_owned(),
        ..command(at("2029-02-03T00:00Z"), silent)
    };
    register.kept(with_reason).await;
    register.proves().await;
}

each_database!(
    what_is_quarantined_is_moved_with_a_word,
    what_is_in_transit_says_where_it_is_bound_for,
    what_comes_in_is_kept_at_a_location_that_was_named,
    what_is_fitted_is_away_no_longer,
    only_what_is_destroyed_is_kept_with_what_is_scrapped,
    a_location_is_of_its_kind_from_when_it_was_said,
);
