//! What an entry told late, or a correction, would change, for programs.

use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::{SECOND, Served, reading};

pub(super) async fn post(visitor: &Visitor, path: &str, token: &str, body: &Value) -> Page {
    let request = visitor.request(Method::POST, path);
    let request = request.header("x-form-token", token);
    let request = request.header("content-type", "application/json");
    visitor.send(request.body(body.to_string())).await
}

pub(super) async fn token(visitor: &Visitor) -> String {
    let session = visitor.get("/api/v1/session").await.json();
    session["form_token"].as_str().unwrap().to_owned()
}

pub(super) fn entry(effective_at: &str, fact: &Value) -> Value {
    json!({
        "id": uuid::Uuid::new_v4().to_string(), "effective_at": effective_at,
        "reason": "told late", "fact": fact,
    })
}

const FORESEEN: &str = "/api/v1/entries/foreseen";

async fn what_is_not_for_a_role_is_kept_as_a_refused_attempt_and_nothing_else(url: &str) {
    let served = Served::with_fleet(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let token = token(&stores).await;
    let of_others = entry("2026-11-24T08:00:00Z", &reading("4101", 640_000));
    let refused = post(&stores, FORESEEN, &token, &of_others).await;
    assert_eq!(refused.status(), 403, "{}", refused.body());
    let received = json!({"component_received": {"component": {"part": "DV/999", "serial": "1"},
        "condition": "quarantined", "location": "Store North"}});
    let wrong = entry("2026-11-24T08:00:00Z", &received);
    let wrong = post(&stores, FORESEEN, &token, &wrong).await;
    assert!([409, 422].contains(&wrong.status()), "{}", wrong.body());
    let auditor = served.signed_in(Role::Auditor).await;
    let kept = auditor.get("/refused?person=stores").await;
    let attempted = kept.texts("table.long tbody td:nth-child(3)");
    assert_eq!(attempted.len(), 1, "{attempted:?}");
    assert!(
        attempted[0].contains("what it would change"),
        "{attempted:?}"
    );
}

async fn a_dry_run_tells_what_would_change_and_records_nothing(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let token = token(&planner).await;
    let last = served.store.view().await.unwrap().last_entry;
    let due = |page: &Page| page.json()["due_moved"].as_u64().unwrap();
    // 5,000 km more by the end of October move the dates that follow from the odometer.
    let late = entry("2026-11-20T08:00:00Z", &reading("4101", 640_000));
    let told = post(&planner, FORESEEN, &token, &late).await;
    assert_eq!(told.status(), 200, "{}", told.body());
    assert!(0 < due(&told), "{}", told.body());
    let first = &told.json()["due"][0];
    assert_ne!(first["before"], first["after"], "{first}");
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    let dates = planner.get("/api/v1/due").await.json();
    // The same recorded changes exactly that.
    let recorded = post(&planner, "/api/v1/entries", &token, &late).await;
    assert_eq!(recorded.status(), 201);
    let after = planner.get("/api/v1/due").await.json();
    assert_ne!(dates["due"], after["due"]);
    let again = post(&planner, FORESEEN, &token, &late).await.json();
    assert_eq!(again["recorded_before"], recorded.json()["number"]);
    // Its withdrawal would move the same dates back.
    let mut back = entry("2026-11-25T08:00:00Z", &json!("withdrawn"));
    back["corrects"] = recorded.json()["number"].clone();
    let undone = post(&planner, FORESEEN, &token, &back).await;
    assert_eq!(due(&undone), due(&told), "{}", undone.body());
}

async fn a_dry_run_is_refused_as_the_entry_would_be(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let token = token(&planner).await;
    let backwards = entry("2026-11-20T08:00:00Z", &reading("4101", 1_000));
    let refused = post(&planner, FORESEEN, &token, &backwards).await;
    assert!([409, 422].contains(&refused.status()), "{}", refused.body());
    let alone = post(&planner, FORESEEN, "guess", &backwards).await;
    assert_eq!(alone.status(), 403);
    let stores = served.signed_in(Role::Stores).await;
    let other = self::token(&stores).await;
    let forbidden = post(&stores, FORESEEN, &other, &backwards).await;
    assert_eq!(forbidden.status(), 403);
    let nobody = served.visitor();
    assert_eq!(post(&nobody, FORESEEN, "", &backwards).await.status(), 401);
}

/// More tasks of the valves than are shown unfolded, each with a limit by the odometer.
fn forty_tasks() -> Vec<(String, Value)> {
    let task = |number: i64| {
        let limit = json!({"interval": {"usage": ["odometer", (200_000 + number) * 1_000]},
            "early": 0, "late": 0});
        let task = json!({"task_defined": {
            "code": format!("IN-{number}"), "revision": "A", "title": "inspection",
            "kind": "inspection", "applies_to": {"part": "DV/210"}, "limits": [limit],
            "counts_from": "done", "clock_start": "overhaul", "source": "invented for the tests",
        }});
        ("2023-12-01T08:00:00Z".to_owned(), task)
    };
    (1..=40).map(task).collect()
}

async fn all_that_moves_is_told_and_kept_and_the_first_of_it_shown_unfolded(url: &str) {
    let served = Served::with_fleet(url).await;
    served.import(forty_tasks()).await;
    let planner = served.signed_in(Role::Planner).await;
    let token = token(&planner).await;
    let length = |told: &Value| told["due"].as_array().unwrap().len();
    // Two valves are on the car.
    let late = entry("2026-11-20T08:00:00Z", &reading("4101", 640_000));
    let told = post(&planner, FORESEEN, &token, &late).await.json();
    let moved = length(&told);
    assert!(80 <= moved, "{told}");
    assert_eq!(told["due_moved"].as_u64(), u64::try_from(moved).ok());
    let recorded = post(&planner, "/api/v1/entries", &token, &late).await;
    assert_eq!(recorded.status(), 201, "{}", recorded.body());
    let number = &recorded.json()["number"];
    let kept = format!("/api/v1/entries/{number}");
    let kept = planner.get(&kept).await.json();
    assert_eq!(length(&kept["changed"]), moved);
    let list = planner.get("/api/v1/entries").await.json();
    let listed = &list["entries"][0];
    assert_eq!(listed["number"], *number);
    assert_eq!(length(&listed["changed"]), 30);
    assert_eq!(listed["changed"]["due_moved"], told["due_moved"]);
    let page = planner.get(&format!("/ledger/{number}")).await;
    assert_eq!(page.count("details.rest tbody tr"), moved - 30);
    let rest = format!("The rest of the due work: {}", moved - 30);
    assert_eq!(page.text("details.rest > summary"), rest);
}

async fn a_departure_that_a_concession_allows_is_told_with_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let valve = json!({"part": "DV/200", "serial": "90"});
    let facts = [
        json!({"part_defined": {"number": "DV/200", "title": "earlier valve",
            "kind": "distributor_valve"}}),
        json!({"component_received": {"component": valve, "condition": "serviceable",
            "location": "Store North"}}),
        json!({"concession_granted": {"number": "C-9", "cars": [{"first": "4102", "last": "4102"}],
            "position": SECOND, "part": "DV/200", "reason": "until stock arrives",
            "until": "2026-12-31"}}),
    ];
    let facts = facts.map(|fact| ("2026-01-01T08:00:00Z".to_owned(), fact));
    served.import(facts.into()).await;
    let technician = served.signed_in(Role::Technician).await;
    let token = token(&technician).await;
    let fitted = json!({"fitted": {"component": valve, "car": "4102", "position": SECOND,
        "concession": "C-9"}});
    let late = entry("2026-11-20T08:00:00Z", &fitted);
    let told = post(&technician, FORESEEN, &token, &late).await;
    assert_eq!(told.status(), 200, "{}", told.body());
    let departures = told.json()["departures"].clone();
    let mut came = departures.as_array().unwrap().iter();
    let came = came.find(|one| one["change"] == "came").unwrap();
    assert_eq!(came["kind"], "not_approved", "{departures}");
    assert_eq!(came["concession"], "C-9", "{departures}");
}

each_database!(
    a_departure_that_a_concession_allows_is_told_with_it,
    a_dry_run_tells_what_would_change_and_records_nothing,
    all_that_moves_is_told_and_kept_and_the_first_of_it_shown_unfolded,
    a_dry_run_is_refused_as_the_entry_would_be,
    what_is_not_for_a_role_is_kept_as_a_refused_attempt_and_nothing_else,
);
