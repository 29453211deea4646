//! What programs send and ask that cannot be read: told in our own words, with the place.

use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::Served;

/// Sends a body and gives what is answered, with its status.
async fn sent(visitor: &Visitor, kind: &str, body: String) -> (u16, Value) {
    let session = visitor.get("/api/v1/session").await.json();
    let token = session["form_token"].as_str().unwrap().to_owned();
    let request = visitor.request(Method::POST, "/api/v1/entries");
    let request = request.header("x-form-token", token);
    let request = request.header("content-type", kind).body(body);
    let answer = visitor.send(request).await;
    (answer.status(), answer.json())
}

fn entry(fact: &Value) -> String {
    json!({
        "id": uuid::Uuid::new_v4().to_string(), "effective_at": "2026-11-24T08:00:00Z", "fact": fact,
    })
    .to_string()
}

async fn a_body_that_cannot_be_read_says_where_and_what_was_expected(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let last = served.store.view().await.unwrap().last_entry;
    let reading = |value: Value| json!({"reading_taken": {"car": "4101", "meter": "odometer", "value": value}});
    for (body, field, said) in [
        (String::new(), "body", "it ends before it is complete"),
        (
            "{\n \"id\": x}".to_owned(),
            "body",
            "line 2, near character 8",
        ),
        (
            "[]".to_owned(),
            "body",
            "a list stands there; expected an object",
        ),
        (
            r#"{"id": 7}"#.to_owned(),
            "body",
            "id: 7 stands there; expected a text",
        ),
        (
            r#"{"id": "7"}"#.to_owned(),
            "body",
            "the field effective_at is missing",
        ),
        (
            r#"{"id": "7", "effective": "x"}"#.to_owned(),
            "body",
            "there is no field “effective”; expected one of id, effective_at",
        ),
        (
            r#"{"id": "7", "id": "8"}"#.to_owned(),
            "body",
            "the field id stands twice",
        ),
        (
            entry(&json!({"nothing": {}})),
            "fact",
            "fact: “nothing” stands there; expected one of ",
        ),
        (
            entry(&reading(json!("x"))),
            "fact",
            "fact.reading_taken.value: “x” stands there; expected",
        ),
    ] {
        let (status, problem) = sent(&technician, "application/json", body).await;
        assert_eq!(status, 422, "{problem}");
        assert_eq!(problem["type"], "/api#unreadable", "{problem}");
        assert_eq!(problem["field"], field, "{problem}");
        let detail = problem["detail"].as_str().unwrap();
        assert!(detail.contains(said), "{said}: {detail}");
    }
    let (status, problem) = sent(&technician, "text/plain", entry(&reading(json!(1)))).await;
    assert_eq!(status, 415);
    let detail = problem["detail"].as_str().unwrap();
    assert!(
        detail.contains("Content-Type: application/json"),
        "{detail}"
    );
    let now = served.store.view().await.unwrap().last_entry;
    assert_eq!(now, last, "nothing was changed");
}

async fn an_address_that_asks_for_something_else_says_what_there_is_to_ask(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    for (path, said) in [
        (
            "/api/v1/due?flet=Sedge",
            "there is no field “flet”; expected one of place, fleet, depot",
        ),
        ("/api/v1/due?fleet=Sedge&fleet=Fern", "fleet stands twice"),
        ("/api/v1/find", "the field q is missing"),
        (
            "/api/v1/entries/x",
            "“x” cannot be read; expected a whole number",
        ),
    ] {
        let answer = planner.get(path).await;
        assert_eq!(answer.status(), 422, "{path}");
        let problem = answer.json();
        let detail = problem["detail"].as_str().unwrap();
        assert!(detail.contains(said), "{said}: {detail}");
    }
}

each_database!(
    a_body_that_cannot_be_read_says_where_and_what_was_expected,
    an_address_that_asks_for_something_else_says_what_there_is_to_ask,
);
