//! A component that fails its test where it is fitted: due at once, which is told beside the verdicts about
//! the train that carries it. Common practice, no source.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;

use super::sample::Served;
use super::sheets::decide;
use crate::command_line::program::Place;

/// What is at the first filled position of car 4101: the component and the position.
async fn fitted(served: &Served) -> (Value, String) {
    let car = served.visitor().get("/api/v1/cars/4101").await.json();
    let mut places = car["positions"].as_array().unwrap().iter();
    let place = places.find(|one| !one["component"].is_null()).unwrap();
    let of = &place["component"];
    let component = json!({"part": of["part"], "serial": of["serial"]});
    (component, place["code"].as_str().unwrap().to_owned())
}

/// A test of the part every three months, with thirty days of tolerance, and its procedure, which asks for
/// 3 to 4 bar.
fn design(component: &Value) -> Vec<(String, Value)> {
    let applies_to = json!({"part": component["part"]});
    let task = json!({"task_defined": {
        "code": "BT-P", "revision": "A", "title": "bench test", "kind": "test",
        "applies_to": applies_to, "counts_from": "done", "clock_start": "overhaul",
        "limits": [{"interval": {"months": 3}, "early": 10, "late": 30}],
        "source": "invented for the tests"}});
    let procedure = json!({"procedure_defined": {
        "code": "P-BT", "revision": "A", "title": "bench test", "applies_to": applies_to,
        "source": "invented for the tests", "task": "BT-P", "measurands": [{"name": "pressure",
        "unit": "bar", "role": "result", "bounds": {"lower": "3", "upper": "4"}}]}});
    let at = "2026-03-02T07:00:00Z".to_owned();
    vec![(at.clone(), task), (at, procedure)]
}

fn tested(component: &Value, (id, at): (&str, &str), bar: &str) -> (String, Value) {
    let test = json!({"test_recorded": {
        "id": id, "subject": {"component": component}, "procedure": "P-BT", "revision": "A",
        "at": at, "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "pressure", "value": bar}]}});
    (at.to_owned(), test)
}

fn done(component: &Value, at: &str) -> (String, Value) {
    let done = json!({"task_done": {
        "subject": {"component": component}, "task": "BT-P", "evidence": "order 1"}});
    (at.to_owned(), done)
}

const FAILED: (&str, &str) = ("T-1", "2026-11-20T08:00:00Z");

async fn it_is_told_beside_the_verdict_until_a_test_is_passed(url: &str) {
    let served = Served::with_trains(url).await;
    let (component, place) = fitted(&served).await;
    served.import(design(&component)).await;
    let controller = served.signed_in(Role::Controller).await;
    let before = controller.get("/trains/T1").await;
    assert_eq!(before.count(".warnings .due_at_once_fitted"), 0);
    let first = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(first.status(), 200, "{}", first.text("main"));
    served.import(vec![tested(&component, FAILED, "2.5")]).await;
    let void = controller.get(first.path()).await.text(".void-banner");
    assert!(void.contains("tests changed"), "{void}");

    let due = controller.get("/api/v1/due?car=4101").await.json();
    let mut rows = due["due"].as_array().unwrap().iter();
    let row = rows.find(|row| !row["at_once"].is_null()).unwrap();
    let entry = &row["at_once"]["entry"];
    let what =
        format!("car 4101 {place} BT-P (a test of it was failed on 2026-11-20, entry {entry}).");
    let told = format!("Due at once on what is fitted, and no verdict counts it: {what}");
    let train = controller.get("/trains/T1").await;
    let said = train.text(".warnings .due_at_once_fitted");
    assert!(said.starts_with(&told), "{said}");
    let list = train.attribute(".warnings .due_at_once_fitted a", "href");
    let list = controller.get(list.unwrap()).await.text("main");
    assert!(list.contains("at once: a test was failed"), "{list}");
    let says = |page: &Page| page.texts(".verdict h2");
    assert_eq!(says(&train), says(&before), "no verdict counts it");
    let answer = controller.get("/api/v1/decision?train=T1").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "due_at_once_fitted" && one["text"] == told),
        "{answer}"
    );
    let line = Place::on(url).run_on_database(&["decide", "--train", "T1"]);
    assert!(line.out.contains(&format!("! {told}")), "{}", line.out);

    let second = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(second.status(), 200, "{}", second.text("main"));
    let short =
        format!("1 task is due at once on what is fitted, and no verdict counts it: {what}");
    let paper = second.text(".paper-warnings");
    assert!(paper.contains(&short), "{paper}");
    let passed = ("T-2", "2026-11-25T11:00:00Z");
    served.import(vec![tested(&component, passed, "3.5")]).await;
    let void = controller.get(second.path()).await.text(".void-banner");
    assert!(void.contains("tests changed"), "{void}");
    let train = controller.get("/trains/T1").await;
    assert_eq!(train.count(".warnings .due_at_once_fitted"), 0);
}

/// No interval tolerates that it failed.
async fn what_is_overdue_as_well_is_told_as_due_at_once_and_not_as_tolerated(url: &str) {
    let served = Served::with_trains(url).await;
    let (component, place) = fitted(&served).await;
    let mut facts = design(&component);
    facts.push(done(&component, "2026-03-02T08:00:00Z"));
    facts.push(tested(&component, FAILED, "2.5"));
    served.import(facts).await;
    let visitor = served.visitor();
    let answer = visitor.get("/api/v1/decision?train=T1").await.json();
    let worst = &answer["overdue"][0]["worst"];
    assert_eq!(worst["latest_on"], Value::Null, "{answer}");
    let train = visitor.get("/trains/T1").await;
    let late = train.text(".warnings .overdue");
    let told = format!("BT-P at {place} due 2026-06-02, and due at once");
    assert!(late.contains(&told), "{late}");
    let at_once = train.text(".warnings .due_at_once_fitted");
    assert!(at_once.contains(&format!("{place} BT-P")), "{at_once}");
    // Of a past time neither is looked at, and the page says so.
    let then = visitor.get("/trains/T1?at=2026-11-21").await;
    let unknown = then.text(".warnings .overdue_unknown");
    assert!(
        unknown.contains("due at once on what is fitted"),
        "{unknown}"
    );
}

each_database!(
    it_is_told_beside_the_verdict_until_a_test_is_passed,
    what_is_overdue_as_well_is_told_as_due_at_once_and_not_as_tolerated,
);
