//! What an entry told late, or a correction, would change, for programs.

use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::{Served, reading};

async fn post(visitor: &Visitor, path: &str, token: &str, body: &Value) -> Page {
    let request = visitor.request(Method::POST, path);
    let request = request.header("x-form-token", token);
    let request = request.header("content-type", "application/json");
    visitor.send(request.body(body.to_string())).await
}

async fn token(visitor: &Visitor) -> String {
    let session = visitor.get("/api/v1/session").await.json();
    session["form_token"].as_str().unwrap().to_owned()
}

fn entry(effective_at: &str, fact: &Value) -> Value {
    json!({
        "id": uuid::Uuid::new_v4().to_string(), "effective_at": effective_at,
        "reason": "told late", "fact": fact,
    })
}

const FORESEEN: &str = "/api/v1/entries/foreseen";

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

each_database!(
    a_dry_run_tells_what_would_change_and_records_nothing,
    a_dry_run_is_refused_as_the_entry_would_be,
);
