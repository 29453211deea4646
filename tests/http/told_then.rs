//! What pages and answers tell of a past time, and of what was known at one: of components, what
//! they had run, positions, tests, due work and units. An answer as known before a correction
//! differs from the one after it.

use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::record::founder;
use serde_json::{Value, json};
use store::Recorded;
use tests::each_database;
use tests::facts::at;
use tests::visitor::Visitor;
use uuid::Uuid;

use super::sample::{FIRST, Served, VALVE, reading};

/// As known before anything of a test was recorded, and between the first two entries of it.
const BEFORE: &str = "known=2026-11-25T12:00:30Z";
const BETWEEN: &str = "known=2026-11-25T12:01:30Z";
const VALVE_PAGE: &str = "/components/DV%2F210/1";
const VALVE_API: &str = "/api/v1/components/DV%2F210/1";

/// Records one more entry, a minute after the one before.
pub(super) async fn record(served: &Served, corrects: Option<i64>, when: &str, fact: Value) -> i64 {
    served.pass(60);
    let now = served.visitor().get("/api/v1/cars/4201").await.json();
    let now = now["known"].as_str().unwrap().to_owned();
    let command = Command {
        id: Uuid::new_v4(),
        effective_at: at(when),
        reason: "for the test".to_owned(),
        corrects: corrects.map(Seq),
        fact: serde_json::from_value(fact).unwrap(),
    };
    let founder = founder("import".parse().unwrap());
    let recorded = served.store.record(founder, command, at(&now)).await;
    match recorded.unwrap() {
        Recorded::Now(entry) => entry.seq.0,
        other @ Recorded::Before(_) => panic!("{other:?}"),
    }
}

fn valve(serial: &str) -> Value {
    json!({"part": VALVE, "serial": serial})
}

/// The day on which a task of the first valve was due, as told at times.
async fn due(visitor: &Visitor, task: &str, times: &str) -> Value {
    due_row(visitor, task, times).await["due_on"].clone()
}

async fn due_row(visitor: &Visitor, task: &str, times: &str) -> Value {
    let list = visitor.get(&format!("/api/v1/due?car=4101&{times}")).await;
    assert_eq!(list.status(), 200, "{}", list.body());
    let list = list.json();
    let mut rows = list["due"].as_array().unwrap().iter();
    let row = rows.find(|row| row["task"] == task && row["position"] == FIRST);
    row.cloned().unwrap_or_default()
}

async fn odometer(visitor: &Visitor, times: &str) -> Value {
    let component = visitor.get(&format!("{VALVE_API}?{times}")).await.json();
    component["usage"][0]["total"]["value"].clone()
}

async fn a_reading_that_was_corrected_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let (used, overhaul) = (
        odometer(&visitor, "").await,
        due(&visitor, "IN-DV", "").await,
    );
    // The same, worked out anew, as what is kept worked out.
    let now = "known=2026-11-25T12:00:00Z";
    assert_eq!(odometer(&visitor, now).await, used);
    assert_eq!(due(&visitor, "IN-DV", now).await, overhaul);
    let wrong = record(
        &served,
        None,
        "2026-11-20T08:00:00Z",
        reading("4101", 648_000),
    )
    .await;
    let with_wrong = (
        odometer(&visitor, "").await,
        due(&visitor, "IN-DV", "").await,
    );
    assert_ne!(with_wrong, (used.clone(), overhaul.clone()));
    record(
        &served,
        Some(wrong),
        "2026-11-20T08:00:00Z",
        json!("withdrawn"),
    )
    .await;
    assert_eq!(odometer(&visitor, "").await, used);
    assert_eq!(odometer(&visitor, BETWEEN).await, with_wrong.0);
    assert_eq!(due(&visitor, "IN-DV", BETWEEN).await, with_wrong.1);
    assert_eq!(odometer(&visitor, BEFORE).await, used);
    assert_eq!(due(&visitor, "IN-DV", BEFORE).await, overhaul);
    // Before the reading was taken it makes no difference.
    let early = "at=2026-11-10T00:00:00Z";
    let early_known = format!("{early}&{BETWEEN}");
    assert_eq!(
        odometer(&visitor, early).await,
        odometer(&visitor, &early_known).await
    );
    let car = visitor
        .get(&format!("/api/v1/cars/4101?{BETWEEN}"))
        .await
        .json();
    assert_eq!(car["meters"][0]["shown"]["value"], json!(648_000.0));
    let car = visitor.get(&format!("/cars/4101?{BETWEEN}")).await;
    assert!(
        car.text("table.meters").contains("648,000"),
        "{}",
        car.text("table.meters")
    );
}

async fn work_that_was_withdrawn_counted_until_then(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let before = due(&visitor, "TS-DV", "").await;
    let done = json!({"task_done": {"subject": {"component": valve("1")}, "task": "TS-DV",
        "evidence": "order 7"}});
    let done = record(&served, None, "2026-11-01T08:00:00Z", done).await;
    let after = due(&visitor, "TS-DV", "").await;
    assert_eq!(after, json!("2027-11-01"));
    record(
        &served,
        Some(done),
        "2026-11-01T08:00:00Z",
        json!("withdrawn"),
    )
    .await;
    assert_eq!(due(&visitor, "TS-DV", "").await, before);
    assert_eq!(due(&visitor, "TS-DV", BETWEEN).await, after);
    assert_eq!(due(&visitor, "TS-DV", BEFORE).await, before);
    let page = visitor.get(&format!("{VALVE_PAGE}?{BETWEEN}")).await;
    assert!(page.text("table.done-work").contains("TS-DV"));
    assert!(page.text(".caution").contains("speaks of the past"));
    assert_eq!(visitor.get(VALVE_PAGE).await.count("table.done-work"), 0);
    let life = visitor.get(&format!("{VALVE_PAGE}/life?{BETWEEN}")).await;
    assert!(
        life.text("table.life").contains("TS-DV"),
        "{}",
        life.text("main")
    );
    let life = visitor.get(&format!("{VALVE_PAGE}/life")).await;
    assert!(!life.text("table.life").contains("TS-DV"));
    let life = visitor
        .get(&format!("{VALVE_API}/life?{BETWEEN}"))
        .await
        .json();
    assert!(life.to_string().contains("task_done"), "{life}");
}

async fn a_condition_and_a_place_are_told_as_they_were(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let removed = json!({"removed": {"component": valve("1"), "reason": "failed",
        "to": "Store North", "condition": "unserviceable"}});
    record(&served, None, "2026-10-25T12:00:00Z", removed).await;
    let told = async |times: &str| {
        let body = visitor.get(&format!("{VALVE_API}?{times}")).await.json();
        let fitments = body["fitments"].as_array().unwrap();
        let open = fitments.iter().any(|one| one["until"].is_null());
        (body["condition"].clone(), body["location"].clone(), open)
    };
    let off = (json!("unserviceable"), json!("Store North"), false);
    let on = (json!("serviceable"), Value::Null, true);
    assert_eq!(told("").await, off);
    assert_eq!(told("at=2026-10-01T00:00:00Z").await, on);
    assert_eq!(told(&format!("at=2026-11-01T00:00:00Z&{BEFORE}")).await, on);
    let before_all = visitor
        .get(&format!("{VALVE_API}?at=2023-06-01T00:00:00Z"))
        .await;
    assert_eq!(before_all.status(), 404);
    let place = async |times: &str| {
        let page = visitor
            .get(&format!("/positions/4101/%3DBS1-K1?{times}"))
            .await;
        assert_eq!(page.status(), 200, "{}", page.text("main"));
        page.count(".fitted-now") == 1
    };
    assert!(!place("").await && place("at=2026-10-01").await);
    assert!(place(&format!("at=2026-11-01&{BEFORE}")).await);
    assert!(!place("at=2025-12-01").await);
    let unit = async |times: &str| {
        let page = visitor.get(&format!("/units/41?{times}")).await;
        assert_eq!(page.status(), 200, "{}", page.text("main"));
        page.texts("table.long tbody td:last-child")
    };
    // On both cars the cock is recorded nowhere, on the second one of its valves as well.
    assert_eq!(unit("").await, ["2", "2"]);
    assert_eq!(unit("at=2026-10-01").await, ["1", "2"]);
    assert_eq!(unit(&format!("at=2026-11-01&{BEFORE}")).await, ["1", "2"]);
}

async fn a_task_is_due_by_the_revision_of_then(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let before = due(&visitor, "TS-DV", "").await;
    let limit = json!({"interval": {"months": 24}, "early": 30, "late": 30});
    let revised = json!({"task_defined": {
        "code": "TS-DV", "revision": "B", "title": "test of a distributor valve", "kind": "test",
        "applies_to": {"part": VALVE}, "limits": [limit], "counts_from": "done",
        "clock_start": "overhaul", "source": "invented for the tests",
    }});
    record(&served, None, "2026-11-20T08:00:00Z", revised).await;
    assert_ne!(due(&visitor, "TS-DV", "").await, before);
    assert_eq!(due(&visitor, "TS-DV", BEFORE).await, before);
    assert_eq!(
        due(&visitor, "TS-DV", "at=2026-11-10T00:00:00Z").await,
        before
    );
}

/// A procedure that asks for 3 to 4 bar.
fn procedure() -> Value {
    json!({"procedure_defined": {
        "code": "P-1", "revision": "A", "title": "bench test", "applies_to": {"part": VALVE},
        "source": "invented for the tests", "task": "TS-DV", "measurands": [{"name": "pressure",
        "unit": "bar", "role": "result", "bounds": {"lower": "3", "upper": "4"}}]}})
}

/// When the first valve was tested.
const TESTED: &str = "2026-11-20T08:00:00Z";

fn tested(bar: &str) -> Value {
    json!({"test_recorded": {
        "id": "T-1", "subject": {"component": valve("1")}, "procedure": "P-1", "revision": "A",
        "at": TESTED, "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "pressure", "value": bar}]}})
}

async fn a_test_that_was_corrected_and_then_withdrawn_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    record(&served, None, "2026-01-01T08:00:00Z", procedure()).await;
    let first = record(&served, None, TESTED, tested("2.5")).await;
    let second = record(&served, Some(first), TESTED, tested("3.5")).await;
    let withdrawn = record(&served, Some(second), TESTED, json!("withdrawn")).await;
    for (known, value, outcome) in [("12:02:30", "2.5", "failed"), ("12:03:30", "3.5", "passed")] {
        let times = format!("?known=2026-11-25T{known}Z");
        let path = format!("/api/v1/test-records/T-1{times}");
        let told = visitor.get(&path).await;
        assert_eq!(told.status(), 200, "{known}: {}", told.body());
        let told = told.json();
        assert_eq!(told["values"][0]["value"], value, "{known}");
        assert_eq!(told["test"]["outcome"], outcome, "{known}");
        let page = visitor.get(&format!("/test-records/T-1{times}")).await;
        assert_eq!(page.status(), 200, "{known}");
        assert!(page.text("main").contains(value), "{known}");
        let before = format!("{path}&at=2026-11-19T00:00:00Z");
        assert_eq!(visitor.get(&before).await.status(), 404, "{known}");
    }
    // It is shown all the same, and that it does not count, by which entry.
    let page = visitor.get("/test-records/T-1").await;
    assert_eq!(page.status(), 200);
    let says = page.text(".caution");
    assert!(
        says.starts_with("Withdrawn: this record does not count and proves nothing."),
        "{says}"
    );
    let entry = format!(".caution a[href='/ledger/{withdrawn}']");
    assert_eq!(page.count(&entry), 1, "{says}");
    let told = visitor.get("/api/v1/test-records/T-1").await.json();
    assert_eq!(told["withdrawn_by"], withdrawn);
    assert_eq!(told["values"][0]["value"], "3.5");
    // So it is told of a past time by which that was known.
    for times in ["?known=2026-11-25T12:04:00Z", "?at=2026-11-21T00:00:00Z"] {
        let path = format!("/test-records/T-1{times}");
        let page = visitor.get(&path).await;
        assert_eq!(page.count(&entry), 1, "{times}: {}", page.text("main"));
        let told = visitor.get(&format!("/api/v1{path}")).await.json();
        assert_eq!(told["withdrawn_by"], withdrawn, "{times}");
        assert_eq!(told["values"][0]["value"], "3.5", "{times}");
    }
    for times in ["?known=2026-11-25T12:01:30Z", "?at=2026-11-19T00:00:00Z"] {
        for path in ["/test-records/T-1", "/api/v1/test-records/T-1"] {
            let told = visitor.get(&format!("{path}{times}")).await;
            assert_eq!(told.status(), 404, "{path}{times}");
        }
    }
}

async fn a_test_counts_and_is_listed_from_when_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    record(&served, None, "2026-01-01T08:00:00Z", procedure()).await;
    record(&served, None, TESTED, tested("2.5")).await;
    // Failed: due at once, from when it was tested, as far as that was known.
    let at_once = async |times: &str| due_row(&visitor, "TS-DV", times).await["at_once"].clone();
    assert_eq!(at_once("").await["cause"], "failed_test");
    let now = "known=2026-11-25T12:02:00Z";
    assert_eq!(at_once(now).await["cause"], "failed_test");
    assert_eq!(at_once(BETWEEN).await, Value::Null);
    assert_eq!(at_once("at=2026-11-19T00:00:00Z").await, Value::Null);
    let tests = async |times: &str| {
        let body = visitor.get(&format!("{VALVE_API}?{times}")).await.json();
        body["tests"].as_array().unwrap().len()
    };
    assert_eq!((tests("").await, tests(BETWEEN).await), (1, 0));
    assert_eq!(tests("at=2026-11-19T00:00:00Z").await, 0);
    let page = visitor.get(&format!("{VALVE_PAGE}?{BETWEEN}")).await;
    assert!(page.text("main").contains("No test is recorded."));
}

async fn the_past_of_due_work_is_bounded_and_its_files_tell_the_same(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let past = visitor.get("/due?unit=41&at=2026-08-01").await;
    assert!(past.text(".caution").contains("speaks of the past"));
    assert!(past.text(".question-asked").contains("as on 2026-08-01"));
    let rows = past.count("table.due tbody tr");
    assert!(0 < rows, "{}", past.text("main"));
    let csv = past.attribute("a[href^='/due.csv']", "href").unwrap();
    assert!(csv.contains("at=2026-08-01"), "{csv}");
    let csv = visitor.get(csv).await;
    assert_eq!(csv.body().lines().count(), rows + 1, "{}", csv.body());
    let overdue = past.attributes("nav.usual a", "href")[0];
    assert!(overdue.contains("at=2026-08-01") && overdue.contains("unit=41"));
    let wrong = visitor.get("/due?unit=41&at=tomorrow").await;
    assert_eq!(wrong.status(), 422);
    let wrong = visitor
        .get("/api/v1/due?unit=41&known=2030-01-01T00:00:00Z")
        .await;
    assert_eq!(
        (wrong.status(), &wrong.json()["field"]),
        (422, &json!("known"))
    );
    for path in [
        "/due?unit=41&at=2026-08-01",
        "/units/41?at=2026-08-01",
        "/cars/4101?at=2026-08-01",
        "/positions/4101/%3DBS1-K1?at=2026-08-01",
        "/components/DV%2F210/1?at=2026-08-01",
        "/components/DV%2F210/1/life?at=2026-08-01",
    ] {
        visitor.get(path).await;
        served.statements.take();
        visitor.get(path).await;
        let sent = served.statements.take();
        let sent: Vec<_> = sent.iter().filter(|sent| sent.contains("from")).collect();
        assert!(sent.len() <= 21, "{path}: {}\n{sent:#?}", sent.len());
    }
}

each_database!(
    a_reading_that_was_corrected_is_told_as_it_was_known,
    work_that_was_withdrawn_counted_until_then,
    a_condition_and_a_place_are_told_as_they_were,
    a_task_is_due_by_the_revision_of_then,
    a_test_counts_and_is_listed_from_when_it_was_known,
    a_test_that_was_corrected_and_then_withdrawn_is_told_as_it_was_known,
    the_past_of_due_work_is_bounded_and_its_files_tell_the_same,
);
