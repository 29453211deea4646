//! What waits for a second person, as brake engineers see it.

use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::people::roles::Roles;
use domain::people::{Actor, Role};
use reqwest::Method;
use serde_json::json;
use store::account::{NewAccount, Secret};
use tests::each_database;
use tests::visitor::Visitor;
use uuid::Uuid;

use super::sample::{Served, VALVE, now};

/// A second brake engineer, signed in.
pub(super) async fn second(served: &Served) -> Visitor {
    let account = NewAccount {
        name: "second".parse().unwrap(),
        roles: Roles::one(Role::BrakeEngineer),
        secret: Secret::None,
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

/// A limit that somebody proposes stands beside the one in force, so that the other person sees
/// what they approve.
async fn proposed_limits_are_shown_beside_those_in_force(url: &str) {
    let served = Served::with_fleet(url).await;
    let limit = json!({"interval": {"months": 24}, "early": 30, "late": 60});
    let proposed = json!({"proposed": {"task": {
        "code": "TS-DV", "revision": "B", "title": "test of a distributor valve", "kind": "test",
        "applies_to": {"part": VALVE}, "limits": [limit], "counts_from": "done",
        "clock_start": "overhaul", "source": "invented: 24 months",
    }}});
    let command = Command {
        id: Uuid::new_v4(),
        effective_at: now(),
        reason: "the trial of 2026".to_owned(),
        corrects: None,
        fact: serde_json::from_value::<Fact>(proposed).unwrap(),
    };
    let engineer = Actor::account("Sedge".parse().unwrap(), vec![Role::BrakeEngineer]);
    served.store.record(engineer, command, now()).await.unwrap();
    let visitor = second(&served).await;
    let page = visitor.get("/approvals").await;
    assert_eq!(page.text("section.panel h3"), "Different from revision A");
    let limits = page.texts("section.panel > table tr:has(th[scope=row]) > *");
    let limits = limits.chunks(3).find(|row| row[0] == "limit by calendar");
    assert_eq!(
        limits.unwrap()[1..],
        [
            "12 months, or 30 days early or 30 days late",
            "24 months, or 30 days early or 60 days late"
        ]
    );
    let approve = page.form("form:has(input[value=approved])");
    assert_eq!(visitor.submit(&approve).await.status(), 200);
    let view = served.store.view().await.unwrap();
    let task = &view.documents.tasks[&"TS-DV".parse().unwrap()].document;
    assert_eq!(task.revision.as_str(), "B");
}

each_database!(
    proposed_limits_are_shown_beside_those_in_force,
    a_release_is_proposed_on_the_component_and_approved_by_another,
    what_waits_is_seen_by_all_and_decided_by_brake_engineers,
);
