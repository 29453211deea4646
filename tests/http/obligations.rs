//! What was touched on a car after a test of it: the due list, the car and the test record say so, on
//! both cars of a swap.

use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::{Served, VALVE};

/// A brake test of cars, due at once after a distributor valve was exchanged; done on two cars, and
/// passed on the first.
async fn tested(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let task = json!({"task_defined": {
        "code": "BT-CAR", "revision": "A", "title": "brake test of a car", "kind": "test",
        "applies_to": {"car_type": "Motor car"}, "counts_from": "done", "clock_start": "overhaul",
        "limits": [{"interval": {"months": 12}, "early": 30, "late": 30}],
        "obligations": [{"after": {"exchanged": "distributor_valve"}, "from": "2026-10-01"}],
        "source": "invented for the tests"}});
    let procedure = json!({"procedure_defined": {
        "code": "P-CAR", "revision": "A", "title": "leakage", "source": "invented for the tests",
        "applies_to": {"car_type": "Motor car"}, "task": "BT-CAR", "measurands": [{
        "name": "leakage", "unit": "bar/min", "role": "result", "bounds": {"upper": "0.2"}}]}});
    let test = json!({"test_recorded": {
        "id": "T-1", "subject": {"car": "4101"}, "procedure": "P-CAR", "revision": "A",
        "at": "2026-11-01T08:00:00Z", "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "leakage", "value": "0.1"}]}});
    let design = "2026-01-01T08:00:00Z".to_owned();
    let mut facts = vec![(design.clone(), task), (design, procedure)];
    for car in ["4101", "4102"] {
        let done = json!({"task_done": {
            "subject": {"car": car}, "task": "BT-CAR", "evidence": "order 1"}});
        facts.push(("2026-11-01T07:00:00Z".to_owned(), done));
    }
    facts.push(("2026-11-01T08:00:00Z".to_owned(), test));
    served.import(facts).await;
    served
}

async fn at_once(visitor: &Visitor, query: &str) -> Value {
    let list = visitor.get(&format!("/api/v1/due?{query}")).await;
    assert_eq!(list.status(), 200, "{query}: {}", list.body());
    let list = list.json();
    let mut rows = list["due"].as_array().unwrap().iter();
    let row = rows.find(|row| row["task"] == "BT-CAR").unwrap();
    row["at_once"].clone()
}

async fn a_swap_voids_the_test_and_makes_it_due_at_once_on_both_cars(url: &str) {
    let served = tested(url).await;
    let visitor = served.visitor();
    assert_eq!(at_once(&visitor, "car=4101").await, Value::Null);
    let page = visitor.get("/test-records/T-1").await;
    assert_eq!(page.count("main .caution"), 0);

    let valve = |serial: &str| json!({"part": VALVE, "serial": serial});
    let swap = json!({"swapped": {
        "first": valve("1"), "second": valve("3"), "reason": "matched_set"}});
    let when = "2026-11-20T08:00:00Z".to_owned();
    served.import(vec![(when, swap)]).await;
    let found = at_once(&visitor, "car=4101").await;
    assert_eq!(
        (&found["cause"], &found["on"]),
        (&"exchanged".into(), &"2026-11-20".into())
    );
    assert_eq!(at_once(&visitor, "car=4102").await, found);
    let before = at_once(&visitor, "car=4101&at=2026-11-19T00:00:00Z").await;
    assert_eq!(before, Value::Null);
    let then = at_once(&visitor, "car=4101&at=2026-11-21T00:00:00Z").await;
    assert_eq!(then, found);

    let entry = found["entry"].as_i64().unwrap();
    let words =
        format!("something was exchanged on 2026-11-20; a test before is void since entry {entry}");
    for path in [
        "/due?car=4101&state=due",
        "/due?car=4102&state=due",
        "/cars/4101",
    ] {
        let page = visitor.get(path).await;
        let told = page.text("main");
        assert!(told.contains(&words), "{path}: {told}");
    }
    let page = visitor.get("/cars/4101").await;
    let told = page.text("main");
    assert!(told.contains("Void: tests for BT-CAR"), "{told}");
    let page = visitor.get("/test-records/T-1").await;
    let void = page.text("main .caution");
    assert!(void.starts_with("Void since"), "{void}");
    assert!(void.contains("=BS1-K1 exchanged"), "{void}");
    let link = format!("main .caution a[href='/ledger/{entry}']");
    assert_eq!(page.count(&link), 1, "{void}");
    let told = visitor.get("/api/v1/test-records/T-1").await.json();
    assert_eq!(told["void_since"]["entry"], entry);
    assert_eq!(told["void_since"]["what"], "=BS1-K1 exchanged");
    // Of a past time the record is told as it was.
    let then = visitor
        .get("/test-records/T-1?at=2026-11-19T00:00:00Z")
        .await;
    assert!(!then.text("main").contains("Void since"));
}

each_database!(a_swap_voids_the_test_and_makes_it_due_at_once_on_both_cars);
