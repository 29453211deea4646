//! What was touched on a car after a test of it: the due list, the car and the test record say so, on
//! both cars of a swap.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::{Served, VALVE};
use super::sheets::decide;
use crate::command_line::program::Place;

/// A brake test of cars, due at once after a distributor valve was exchanged; done on two cars, and
/// passed on the first.
pub(crate) async fn tested(url: &str) -> Served {
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

/// A valve of each car comes to the other.
pub(crate) fn swapped() -> (String, Value) {
    let valve = |serial: &str| json!({"part": VALVE, "serial": serial});
    let swap = json!({"swapped": {
        "first": valve("1"), "second": valve("3"), "reason": "matched_set"}});
    ("2026-11-20T08:00:00Z".to_owned(), swap)
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

    served.import(vec![swapped()]).await;
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

/// A brake test of driving cars, due at once since their units were formed, and never done.
fn due_since_formed() -> (String, Value) {
    let task = json!({"task_defined": {
        "code": "BT-DA", "revision": "A", "title": "brake test of a car", "kind": "test",
        "applies_to": {"car_type": "TM-DA"}, "counts_from": "done", "clock_start": "overhaul",
        "limits": [{"interval": {"months": 12}, "early": 30, "late": 30}],
        "obligations": [{"after": "coupled", "from": "2026-03-01"}],
        "source": "invented for the tests"}});
    ("2026-03-02T08:00:00Z".to_owned(), task)
}

/// Before a car runs again, the tests that what was touched requires are passed (common practice, no
/// source).
async fn work_that_is_due_at_once_is_told_beside_the_verdict_until_it_is_done(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let before = visitor.get("/decision?formation=TM101").await;
    served.import(vec![due_since_formed()]).await;
    let due = visitor.get("/api/v1/due?car=4101").await.json();
    let mut rows = due["due"].as_array().unwrap().iter();
    let row = rows.find(|row| row["task"] == "BT-DA").unwrap();
    let entry = &row["at_once"]["entry"];
    let told = format!(
        "Due at once, before the car runs again, since something was touched: car 4101 BT-DA (its \
         unit was formed on 2026-03-01, entry {entry})."
    );
    let page = visitor.get("/decision?formation=TM101").await;
    assert_eq!(page.texts(".warnings .due_at_once"), [told.as_str()]);
    let says = |page: &Page| page.texts(".verdict h2");
    assert_eq!(says(&page), says(&before), "no verdict speaks of it");
    let answer = visitor.get("/api/v1/decision?formation=TM101").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "due_at_once" && one["text"] == told),
        "{answer}"
    );
    let line = Place::on(url).run_on_database(&["decide", "--formation", "TM101"]);
    assert!(line.out.contains(&format!("! {told}")), "{}", line.out);
    for path in ["/trains/T1", "/trains/T1?at=2026-11-21"] {
        let train = visitor.get(path).await;
        let both = train.text(".warnings .due_at_once");
        assert!(both.contains("car 4101 BT-DA"), "{path}: {both}");
        assert!(both.contains("car 4104 BT-DA"), "{path}: {both}");
    }
    let controller = served.signed_in(Role::Controller).await;
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let paper = sheet.text(".paper-warnings");
    assert!(paper.contains("car 4101 BT-DA"), "{paper}");
    let done = json!({"task_done": {
        "subject": {"car": "4101"}, "task": "BT-DA", "evidence": "order 2"}});
    let now = "2026-11-25T12:00:00Z".to_owned();
    served.import(vec![(now, done)]).await;
    let again = controller.get(sheet.path()).await;
    let void = again.text(".void-banner");
    assert!(void.contains("work done"), "{void}");
    let page = visitor.get("/decision?formation=TM101").await;
    assert_eq!(page.count(".warnings .due_at_once"), 0);
}

each_database!(
    a_swap_voids_the_test_and_makes_it_due_at_once_on_both_cars,
    work_that_is_due_at_once_is_told_beside_the_verdict_until_it_is_done,
);
