//! The ledger asked for the entries about one thing.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::tables::Tables;

use super::sample::{FIRST, Served, VALVE, reading};

async fn numbers(served: &Served, query: &str) -> Vec<i64> {
    let answer = served
        .visitor()
        .get(&format!("/api/v1/entries?{query}"))
        .await;
    assert_eq!(answer.status(), 200, "{}", answer.body());
    let entries = answer.json()["entries"].clone();
    let entries: Vec<Value> = entries.as_array().unwrap().clone();
    entries
        .iter()
        .map(|entry| entry["number"].as_i64().unwrap())
        .collect()
}

async fn last(served: &Served) -> i64 {
    served.store.view().await.unwrap().last_entry
}

async fn the_ledger_is_asked_for_what_is_about_one_thing(url: &str) {
    let served = Served::with_fleet(url).await;
    let valve = json!({"part": VALVE, "serial": "3"});
    // A removal names the component only, and is about the car that it came off too.
    let removed = json!({"removed": {"component": valve, "reason": "suspected", "to": "Bench", "condition": "removed_to_be_judged"}});
    served
        .import(vec![("2026-02-01T08:00:00Z".to_owned(), removed)])
        .await;
    let removal = last(&served).await;
    let of_car = numbers(&served, "about=car&name=4102").await;
    assert_eq!(of_car.first(), Some(&removal));
    assert_eq!(
        of_car.len(),
        4,
        "registered, in a unit, fitted, removed: {of_car:?}"
    );
    let of_valve = numbers(&served, "about=component&name=DV/210+serial+3").await;
    assert_eq!(of_valve.len(), 3, "received, fitted, removed: {of_valve:?}");
    assert_eq!(
        numbers(&served, "about=location&name=Bench").await,
        [removal]
    );
    assert_eq!(numbers(&served, "about=unit&name=41").await.len(), 1);
    assert!(numbers(&served, "about=car&name=4999").await.is_empty());
    assert_eq!(
        numbers(&served, "about=part&name=DV/210&kind=part_defined")
            .await
            .len(),
        1
    );
    // Its withdrawal is about the same.
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    served.pass(60);
    let form = engineer.get(&format!("/ledger/{removal}")).await;
    let form = form
        .form("form[action$=\"/withdraw\"]")
        .fill("reason", "never came off");
    engineer.submit_and_agree(&form).await;
    let withdrawal = last(&served).await;
    assert_ne!(withdrawal, removal);
    for query in [
        "about=car&name=4102",
        "about=component&name=DV/210+serial+3",
        "about=location&name=Bench",
    ] {
        assert_eq!(numbers(&served, query).await[0], withdrawal, "{query}");
    }
}

async fn the_page_narrows_to_a_thing_and_goes_on_to_the_older(url: &str) {
    let served = Served::with_fleet(url).await;
    let readings = (1..=60).map(|n| {
        let at = format!("2026-11-10T{:02}:{:02}:00Z", n / 60, n % 60);
        (at, reading("4102", 1_000 + n))
    });
    served.import(readings.collect()).await;
    let visitor = served.visitor();
    served.statements.take();
    let page = visitor.get("/ledger?about=car&name=4102").await;
    assert!(served.statements.take().len() < 10);
    assert_eq!(page.count("tbody tr"), 50);
    let older = page.attribute("a[rel=next]", "href").unwrap().to_owned();
    let page = visitor.get(&older).await;
    assert_eq!(page.count("tbody tr"), 13, "{older}");
    for (query, wrong) in [
        ("about=car", "name"),
        ("name=4101", "about"),
        ("about=ship&name=1", "about"),
    ] {
        let page = visitor.get(&format!("/ledger?{query}")).await;
        assert_eq!(page.status(), 422, "{query}");
        assert!(page.text("[role=alert]").starts_with(wrong), "{query}");
        let answer = visitor.get(&format!("/api/v1/entries?{query}")).await;
        assert_eq!(answer.status(), 422, "{query}");
    }
    let component = visitor.get("/components/DV%2F210/1").await;
    let about = component.attribute("a[href^='/ledger?about=component']", "href");
    let page = visitor.get(about.unwrap()).await;
    assert_eq!(page.count("tbody tr"), 2, "received and fitted at {FIRST}");
}

/// A register that was there before this was kept.
async fn what_is_not_kept_of_all_entries_is_no_short_answer_until_a_rebuild(url: &str) {
    let served = Served::with_fleet(url).await;
    let mut tables = Tables::open(url).await;
    tables
        .execute("delete from entry_subject; update ledger_head set subjects_after = seq")
        .await;
    let visitor = served.visitor();
    let question = "about=car&name=4102";
    for path in ["/ledger", "/ledger.csv", "/api/v1/entries"] {
        let page = visitor.get(&format!("{path}?{question}")).await;
        assert_eq!(page.status(), 422, "{path}");
        assert!(page.body().contains("register rebuild --replace"), "{path}");
        assert_eq!(visitor.get(path).await.status(), 200, "{path}");
    }
    served.store.rebuild(|_| ()).await.unwrap();
    assert_eq!(numbers(&served, question).await.len(), 3);
}

each_database!(
    what_is_not_kept_of_all_entries_is_no_short_answer_until_a_rebuild,
    the_ledger_is_asked_for_what_is_about_one_thing,
    the_page_narrows_to_a_thing_and_goes_on_to_the_older,
);
