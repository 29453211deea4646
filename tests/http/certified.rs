//! What a certificate says is left stands beside what the register finds, and changes nothing.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::{Served, VALVE};

const VALVE_900: &str = "/components/DV%2F210/900";

/// A valve overhauled on 2026-01-01, whose paper says of the overhaul what follows from its task,
/// and of the test and the inspection something else.
fn receipt() -> Value {
    let run = |km: i64| json!({"run": {"meter": "odometer", "amount": km * 1_000}});
    let left = [
        json!({"task": "OH-DV", "left": run(600_000)}),
        json!({"task": "OH-DV", "left": {"until": "2034-01-01"}}),
        json!({"task": "TS-DV", "left": {"until": "2026-12-31"}}),
        json!({"task": "TS-DV", "left": run(5_000)}),
        json!({"task": "IN-DV", "left": run(200_000)}),
    ];
    json!({"component_received": {
        "component": {"part": VALVE, "serial": "900"}, "condition": "serviceable",
        "location": "Store North", "manufactured_on": "2015-01-01", "overhauled_on": "2026-01-01",
        "brought": {"odometer": 700_000_000}, "since_overhaul": {"odometer": 0},
        "release": {"number": "C 900", "issuer": "Fenwick Brake Works, approval 12",
            "signed_by": "S. Signatory", "signed_on": "2026-01-02", "instruction": "MI 44 C",
            "done": "overhauled", "left": left},
    }})
}

async fn compared(visitor: &Visitor, query: &str) -> Vec<(String, String, String)> {
    let path = format!("/api/v1{VALVE_900}/life{query}");
    let answer = visitor.get(&path).await.json();
    let certified = answer["certified"].as_array().unwrap().iter();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let rows = certified.map(|one| {
        let clock = text(&one["said"]["clock"]);
        (text(&one["task"]), clock, text(&one["compared"]))
    });
    rows.collect()
}

fn row(task: &str, clock: &str, found: &str) -> (String, String, String) {
    (task.to_owned(), clock.to_owned(), found.to_owned())
}

async fn a_certificate_that_differs_is_told_and_overrides_nothing(url: &str) {
    let served = Served::with_fleet(url).await;
    served
        .import(vec![("2026-01-10T08:00:00Z".to_owned(), receipt())])
        .await;
    let technician = served.signed_in(Role::Technician).await;
    assert_eq!(
        compared(&technician, "").await,
        [
            row("OH-DV", "odometer", "same"),
            row("OH-DV", "calendar", "same"),
            row("TS-DV", "calendar", "other"),
            row("TS-DV", "odometer", "no_limit"),
            row("IN-DV", "odometer", "other"),
        ]
    );
    let page = technician.get(VALVE_900).await;
    let caution = page.text("#certified + .caution");
    assert!(caution.contains("differ on 3 of 5"), "{caution}");
    let cells = page.texts("#certified ~ table tbody td:last-child > strong");
    assert_eq!(cells.len(), 3, "{cells:?}");
    assert!(cells[0].starts_with("until 2027-01-01: by the certificate it is due before"));
    assert!(cells[2].starts_with("130,000 km left: by the certificate it is due after"));
    let dates = page.texts("table.due-work tbody td:nth-of-type(1) strong");
    assert!(dates.contains(&"2027-01-01".to_owned()), "{dates:?}");
    assert!(!dates.contains(&"2026-12-31".to_owned()), "{dates:?}");

    let sooner = page.texts("table.due-work tbody td:nth-of-type(1) .lacking");
    assert_eq!(
        sooner,
        ["sooner by its certificate C 900: until 2026-12-31"]
    );

    // Work done since takes the place of what the paper said of it.
    let done = json!({"task_done": {"subject": {"component": {"part": VALVE, "serial": "900"}},
        "task": "TS-DV", "evidence": "test 7"}});
    served
        .import(vec![("2026-06-01T08:00:00Z".to_owned(), done)])
        .await;
    let now = compared(&technician, "").await;
    assert!(now.iter().all(|(task, _, _)| task != "TS-DV"), "{now:?}");
    let before = compared(&technician, "?at=2026-03-01T00:00:00Z").await;
    assert_eq!(before.len(), 5, "as at a time before the work: {before:?}");
}

/// Car 4101 was last read on 2026-11-01, ten days before valve 1 came off it.
async fn what_is_left_of_use_that_nobody_read_is_told_as_an_estimate(url: &str) {
    let served = Served::with_fleet(url).await;
    let valve = json!({"part": VALVE, "serial": "1"});
    let removed = json!({"removed": {"component": valve, "reason": "access", "to": "Works",
        "condition": "serviceable", "evidence": "inspection"}});
    let left = json!({"run": {"meter": "odometer", "amount": 1_000_000}});
    let tested = json!({"task_done": {"subject": {"component": valve}, "task": "TS-DV",
        "evidence": "test 8", "release": {"number": "C 8",
            "issuer": "Fenwick Brake Works, approval 12", "signed_by": "S. Signatory",
            "signed_on": "2026-11-12", "instruction": "MI 44 C", "done": "tested",
            "left": [{"task": "IN-DV", "left": left}]}}});
    served
        .import(vec![
            ("2026-11-11T08:00:00Z".to_owned(), removed),
            ("2026-11-12T08:00:00Z".to_owned(), tested),
        ])
        .await;
    let visitor = served.visitor();
    let life = visitor.get("/api/v1/components/DV%2F210/1/life").await;
    let certified = life.json()["certified"].clone();
    assert_eq!(certified[0]["compared"], "other", "{certified}");
    let estimated = &certified[0]["estimated"];
    assert_eq!(
        estimated[0]["last_read"], "2026-11-01T08:00:00Z",
        "{certified}"
    );
    let page = visitor.get("/components/DV%2F210/1").await;
    let rows = page.texts("#certified ~ table tbody tr");
    let told = "Estimated: car 4101 was last read on";
    assert!(rows[0].contains(told), "{rows:?}");
}

each_database!(
    a_certificate_that_differs_is_told_and_overrides_nothing,
    what_is_left_of_use_that_nobody_read_is_told_as_an_estimate,
);
