//! Refused attempts and accounts as auditors and administrators read them.

use domain::people::Role;
use reqwest::Method;
use reqwest::header::AUTHORIZATION;
use serde_json::json;
use tests::each_database;
use tests::visitor::Visitor;

use super::people::{PASSWORD, register, signed_in};
use super::sample::{Served, reading};

async fn record(visitor: &Visitor, car: &str) -> u16 {
    let session = visitor.get("/api/v1/session").await.json();
    let body = json!({
        "id": uuid::Uuid::new_v4().to_string(), "effective_at": "2026-11-24T08:00:00Z",
        "fact": reading(car, 640_000),
    });
    let request = visitor.request(Method::POST, "/api/v1/entries");
    let request = request.header("content-type", "application/json");
    let request = request.header("x-form-token", session["form_token"].as_str().unwrap());
    visitor.send(request.body(body.to_string())).await.status()
}

async fn pages_forms_tokens_and_facts_that_are_refused_are_noted(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let stores = served.signed_in(Role::Stores).await;
    assert_eq!(record(&planner, "9999").await, 422);
    assert_eq!(record(&stores, "4101").await, 403);
    assert_eq!(planner.get("/accounts").await.status(), 403);
    let forged = planner
        .request(Method::POST, "/trains")
        .form(&[("form_token", "forged")]);
    assert_eq!(planner.send(forged).await.status(), 403);
    let program = served.visitor().request(Method::GET, "/api/v1/cars");
    let program = program.header(AUTHORIZATION, "Bearer nonsense");
    assert_eq!(served.visitor().send(program).await.status(), 401);
    let guess = served.visitor().request(Method::POST, "/sign-in");
    let guess = guess.form(&[("name", "my secret, typed as a name"), ("password", "x")]);
    served.visitor().send(guess).await;

    let auditor = served.signed_in(Role::Auditor).await;
    let page = auditor.get("/refused").await;
    let cell = |number: u8| page.texts(&format!("table.long tbody td:nth-child({number})"));
    let who = cell(2);
    let from = "127.0.0.1";
    assert_eq!(
        who,
        [
            format!("not known{from}"),
            format!("not known{from}"),
            format!("planner{from}"),
            format!("planner{from}"),
            "stores".to_owned(),
            "planner".to_owned()
        ]
    );
    let why = cell(4);
    for (why, says) in why.iter().zip([
        "no account has that name",
        "this token is unknown, revoked or expired",
        "this form is no longer valid",
        "this needs one of the roles auditor, administrator",
        "this needs one of the roles planner, technician, controller, brake engineer",
        "car 9999 is not in the register",
    ]) {
        assert!(why.starts_with(says), "{why}");
    }
    assert!(!page.body().contains("my secret"), "it may be a password");
    for (path, rows) in [
        ("/refused?person=planner", 3),
        ("/refused?kind=record", 2),
        ("/refused?kind=record&person=stores", 1),
        ("/refused?from=2026-11-26", 0),
        ("/refused?until=2026-11-25", 6),
        ("/refused?until=2026-11-24", 0),
    ] {
        assert_eq!(
            auditor.get(path).await.count("table.long tbody tr"),
            rows,
            "{path}"
        );
    }
    assert_eq!(auditor.get("/refused?from=soon").await.count(".refusal"), 1);
    assert_eq!(auditor.get("/refused?after=soon").await.status(), 422);
}

async fn only_auditors_and_administrators_read_them(url: &str) {
    let served = Served::empty(url).await;
    for role in Role::ALL {
        let visitor = served.signed_in(*role).await;
        let may = matches!(role, Role::Auditor | Role::Administrator);
        let status = visitor.get("/refused").await.status();
        assert_eq!(status, if may { 200 } else { 403 }, "{role}");
        let accounts = visitor.get("/accounts").await.status();
        assert_eq!(accounts, if may { 200 } else { 403 }, "{role}");
    }
}

/// 8.2.1: who audits reads who gave whom which role, who is signed in and who signed in, and changes
/// nothing of it.
async fn an_auditor_reads_accounts_and_changes_none(url: &str) {
    let roles = [Role::Administrator, Role::Auditor, Role::Planner];
    let served = register(url, &roles).await;
    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let (_planner, _) = signed_in(&served, "planner", PASSWORD).await;
    let (auditor, _) = signed_in(&served, "auditor", PASSWORD).await;
    let own = auditor.get("/my-account").await;
    assert_eq!(own.count("a[href=\"/accounts\"]"), 1);
    let list = auditor.get("/accounts").await;
    assert_eq!(list.status(), 200);
    assert!(list.text("table.long").contains("planner"));
    let one = auditor.get("/accounts/planner").await;
    assert_eq!(one.count("#sessions tbody tr"), 1);
    assert!(one.text("#sessions tbody").contains("127.0.0.1"));
    let told = one.text("main");
    assert!(told.contains("signed in from 127.0.0.1"), "{told}");
    let its_own = auditor.get("/accounts/auditor").await;
    for page in [&list, &one, &its_own] {
        assert_eq!(page.count("main form"), 0);
        assert_eq!(page.count("main button"), 0);
    }
    let token = own.form("#everywhere");
    let token = token.values("form_token")[0];
    for path in ["/roles", "/state", "/password"] {
        let request = auditor.request(Method::POST, &format!("/accounts/planner{path}"));
        let request = request.form(&[("form_token", token), ("state", "disabled")]);
        assert_eq!(auditor.send(request).await.status(), 403, "{path}");
    }
    let again = keeper.get("/accounts/planner").await;
    assert!(again.count("main form") > 0);
    assert!(again.text("dl.facts").contains("active"));
}

async fn every_page_of_them_is_one_statement_more_than_who_is_signed_in(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    for _ in 0..60 {
        assert_eq!(planner.get("/accounts").await.status(), 403);
    }
    let auditor = served.signed_in(Role::Auditor).await;
    served.statements.take();
    let first = auditor.get("/refused?person=planner").await;
    assert_eq!(served.statements.take().len(), 2);
    assert_eq!(first.count("table.long tbody tr"), 50);
    let older = auditor
        .get(first.attribute("a[rel=next]", "href").unwrap())
        .await;
    assert_eq!(older.count("table.long tbody tr"), 10);
    assert_eq!(older.count("a[rel=next]"), 0);
}

each_database!(
    pages_forms_tokens_and_facts_that_are_refused_are_noted,
    only_auditors_and_administrators_read_them,
    an_auditor_reads_accounts_and_changes_none,
    every_page_of_them_is_one_statement_more_than_who_is_signed_in,
);
