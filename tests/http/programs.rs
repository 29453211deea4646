//! Programs that act with a token of its owner. Items of OWASP ASVS 5.0.0 stand beside the tests.

use domain::people::Role;
use reqwest::Method;
use reqwest::header::AUTHORIZATION;
use serde_json::json;
use tests::each_database;
use tests::visitor::Visitor;

use super::people::{OTHER, PASSWORD, register, signed_in};
use super::sample::{Served, reading};

async fn token(visitor: &Visitor, name: &str, role: Option<&str>) -> String {
    let form = visitor
        .get("/my-account")
        .await
        .form("form[action=\"/my-account/tokens\"]");
    let form = form.fill("token_name", name).fill("days", "30");
    let form = form.fill("token_password", PASSWORD);
    let form = role.iter().fold(form, |form, role| form.fill(role, "on"));
    let page = visitor.submit(&form).await;
    assert_eq!(page.status(), 200, "{}", page.body());
    page.text("#token")
}

async fn get(served: &Served, path: &str, token: &str) -> u16 {
    let (program, _) = Visitor::over_https(&served.server);
    let request = program.request(Method::GET, path);
    let request = request.header(AUTHORIZATION, format!("Bearer {token}"));
    program.send(request).await.status()
}

async fn record(served: &Served, token: &str) -> u16 {
    let (program, _) = Visitor::over_https(&served.server);
    let request = program.request(Method::POST, "/api/v1/entries");
    let request = request.header(AUTHORIZATION, format!("Bearer {token}"));
    let body = json!({
        "id": uuid::Uuid::new_v4().to_string(), "effective_at": "2026-11-24T08:00:00Z",
        "fact": reading("4101", 640_000),
    });
    let request = request.header("content-type", "application/json");
    program.send(request.body(body.to_string())).await.status()
}

/// 7.2.1 to 7.2.3, 8.2.1, 13.3.1: a token is told once, does what it was made for, and no
/// more than its owner.
async fn a_token_reads_and_records_as_far_as_its_owner_may(url: &str) {
    let served = register(url, &[Role::Planner, Role::Administrator]).await;
    let (planner, _) = signed_in(&served, "planner", PASSWORD).await;
    let reads = token(&planner, "lists", None).await;
    let records = token(&planner, "meters", Some("record_planner")).await;
    let page = planner.get("/my-account").await;
    assert!(!page.body().contains(&reads) && !page.body().contains(&records));
    assert_eq!(
        page.texts("#tokens td:nth-child(2)"),
        ["read", "read, and record as planner"]
    );

    assert_eq!(get(&served, "/api/v1/fleets", &reads).await, 200);
    assert_eq!(record(&served, &reads).await, 403);
    // It is allowed; there is no such car in the empty register.
    assert_eq!(record(&served, &records).await, 422);
    assert_eq!(
        get(&served, "/cars", &reads).await,
        200,
        "the page of signing in"
    );
    assert_eq!(get(&served, "/api/v1/fleets", "nonsense").await, 401);

    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let roles = keeper
        .get("/accounts/planner")
        .await
        .form("form[action$=\"/roles\"]");
    let roles = roles.fill("role_auditor", "on");
    let fields: Vec<_> = roles
        .fields()
        .iter()
        .filter(|(name, _)| name != "role_planner")
        .collect();
    let request = keeper
        .request(Method::POST, "/accounts/planner/roles")
        .form(&fields);
    assert_eq!(keeper.send(request).await.status(), 200);
    assert_eq!(
        record(&served, &records).await,
        403,
        "a role taken is taken from it"
    );
}

/// 6.4.1, 7.4.1: it ends by its date, by being revoked, and with its owner's account.
async fn a_token_ends(url: &str) {
    let served = register(url, &[Role::Planner, Role::Administrator]).await;
    let (planner, _) = signed_in(&served, "planner", PASSWORD).await;
    let one = token(&planner, "one", None).await;
    let other = token(&planner, "other", None).await;
    let form = planner.get("/my-account").await;
    let form = form.form("#tokens tr:first-child form[action$=\"revoke\"]");
    planner.submit(&form).await;
    assert_eq!(get(&served, "/api/v1/fleets", &one).await, 401);
    assert_eq!(get(&served, "/api/v1/fleets", &other).await, 200);

    let (keeper, _) = signed_in(&served, "administrator", PASSWORD).await;
    let state = keeper
        .get("/accounts/planner")
        .await
        .form("form[action$=\"/state\"]");
    keeper.submit(&state).await;
    assert_eq!(get(&served, "/api/v1/fleets", &other).await, 401);
    let state = keeper
        .get("/accounts/planner")
        .await
        .form("form[action$=\"/state\"]");
    keeper.submit(&state).await;
    assert_eq!(get(&served, "/api/v1/fleets", &other).await, 200);
    served.pass(30 * 86_400);
    assert_eq!(get(&served, "/api/v1/fleets", &other).await, 401);
}

async fn a_token_needs_a_name_of_its_own_an_end_and_the_password(url: &str) {
    let served = register(url, &[Role::Planner]).await;
    let (planner, _) = signed_in(&served, "planner", PASSWORD).await;
    token(&planner, "one", None).await;
    let form = planner
        .get("/my-account")
        .await
        .form("form[action=\"/my-account/tokens\"]");
    for (name, days, password, wrong) in [
        ("one", "30", PASSWORD, "token_name"),
        ("", "30", PASSWORD, "token_name"),
        ("two", "0", PASSWORD, "days"),
        ("two", "367", PASSWORD, "days"),
        ("two", "30", OTHER, "token_password"),
    ] {
        let form = form.clone().fill("token_name", name).fill("days", days);
        let page = planner.submit(&form.fill("token_password", password)).await;
        let selector = format!("#wrong-{wrong}");
        assert_eq!(
            (page.status(), page.count(&selector)),
            (422, 1),
            "{name} {days}"
        );
    }
}

each_database!(
    a_token_reads_and_records_as_far_as_its_owner_may,
    a_token_ends,
    a_token_needs_a_name_of_its_own_an_end_and_the_password,
);
