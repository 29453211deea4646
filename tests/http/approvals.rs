//! What waits for a second person, as brake engineers see it.

use domain::people::account::AccountState;
use domain::people::{Actor, Role};
use reqwest::Method;
use serde_json::json;
use store::account::{Account, Secret};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::{Served, VALVE, now};

/// A second brake engineer, signed in.
pub(super) async fn second(served: &Served) -> Visitor {
    let account = Account {
        actor: Actor::account("second".parse().unwrap(), vec![Role::BrakeEngineer]),
        secret: Secret::None,
        state: AccountState::Active,
    };
    let by = "test".parse().unwrap();
    served
        .store
        .make_account(&account, (&by, now()))
        .await
        .unwrap();
    let visitor = served.visitor();
    let form = visitor.request(Method::POST, "/sign-in");
    visitor.send(form.form(&[("name", "second")])).await;
    visitor
}

async fn a_release_is_proposed_on_the_component_and_approved_by_another(url: &str) {
    let served = Served::with_fleet(url).await;
    let quarantine = json!({"condition_judged": {
        "component": {"part": VALVE, "serial": "9"}, "condition": "quarantined", "evidence": "recall 7",
    }});
    served
        .import(vec![("2026-11-20T08:00:00Z".to_owned(), quarantine)])
        .await;
    let component = "/components/DV%2F210/9";
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(component).await;
    assert_eq!(page.count("form[action*=\"/release\"]"), 0);
    assert_eq!(page.count("form[action*=\"/condition\"]"), 0);

    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get(component).await;
    let choices = page.texts("#condition-condition option");
    assert_eq!(choices, ["quarantined", "beyond salvage", "scrapped"]);
    let form = page.form("form[action*=\"/release\"]");
    let form = form
        .fill("condition", "serviceable")
        .fill("evidence", "test 12");
    assert_eq!(engineer.submit(&form).await.status(), 200);
    let own = engineer.get("/approvals").await;
    assert!(
        own.text("section.panel h2")
            .ends_with("released from quarantine as serviceable")
    );
    assert_eq!(own.count("input[value=approved]"), 0);
    assert_eq!(own.count("section.panel .caution"), 1);

    let other = second(&served).await;
    let page = other.get("/approvals").await;
    assert_eq!(
        page.fact("Proposed by").split(',').next(),
        Some("brake_engineer")
    );
    let reject = page.form("form:has(input[value=rejected])");
    let mute = other.submit(&reject).await;
    assert_eq!((mute.status(), mute.count(".refusal")), (422, 1));
    let approve = page.form("form:has(input[value=approved])");
    let done = other.submit(&approve).await;
    assert_eq!((done.path(), done.status()), ("/approvals", 200));
    assert!(done.text("table.long tbody").contains("approved"));
    let late = other.submit(&reject.fill("reason", "too late")).await;
    assert!(late.text(".refusal").contains("was approved by entry"));
    let page = technician.get(component).await;
    let judged = page.count("form[action*=\"/condition\"]");
    assert_eq!(judged, 1, "it is no longer held");
}

async fn what_waits_is_seen_by_all_and_decided_by_brake_engineers(url: &str) {
    let served = Served::with_fleet(url).await;
    for role in Role::ALL {
        let visitor = served.signed_in(*role).await;
        served.statements.take();
        let page = visitor.get("/approvals").await;
        assert_eq!(page.status(), 200, "{role}");
        assert!(served.statements.take().len() <= 4);
        let linked = page.count("nav a[href=\"/approvals\"]") == 1;
        assert_eq!(linked, *role == Role::BrakeEngineer, "{role}");
    }
}

each_database!(
    a_release_is_proposed_on_the_component_and_approved_by_another,
    what_waits_is_seen_by_all_and_decided_by_brake_engineers,
);
