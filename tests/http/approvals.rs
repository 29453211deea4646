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
    assert_eq!(
        choices,
        ["choose", "quarantined", "beyond salvage", "scrapped"]
    );
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
    // Which work becomes due otherwise is seen before it is approved, and kept with the approval.
    let approve = "form:has(input[value=approved])";
    let foreseen = visitor.submit(&page.form(approve)).await;
    assert_eq!(foreseen.status(), 422);
    let told = foreseen.text("form .caution");
    assert!(told.contains("due dates move"), "{told}");
    let moved = foreseen.texts("form .caution tbody tr");
    assert!(moved.iter().all(|row| row.contains("TS-DV")), "{moved:?}");
    let before = served.store.view().await.unwrap();
    let task = &before.documents.tasks[&"TS-DV".parse().unwrap()].document;
    assert_eq!(task.revision.as_str(), "A", "nothing was changed");
    drop(before);
    let done = visitor.submit(&foreseen.form(approve)).await;
    assert_eq!(done.status(), 200);
    let entry = done.attribute("table.long td:nth-child(3) a", "href");
    let entry = visitor.get(entry.unwrap()).await;
    assert_eq!(entry.texts(".changed tbody tr"), moved);
    let view = served.store.view().await.unwrap();
    let task = &view.documents.tasks[&"TS-DV".parse().unwrap()].document;
    assert_eq!(task.revision.as_str(), "B");
}

/// Another revision of a car type, alike but for its name.
async fn define_revision(served: &Served, car_type: &str) {
    let mut design = {
        let view = served.store.view().await.unwrap();
        let mut types = view.documents.car_types.values();
        let design = types.find(|known| known.document.name.as_str() == car_type);
        design.unwrap().document.as_ref().clone()
    };
    design.revision = "Z".parse().unwrap();
    let defined = Fact::CarTypeDefined(Box::new(design));
    let defined = serde_json::to_value(defined).unwrap();
    let at = "2026-11-20T08:00:00Z".to_owned();
    served.import(vec![(at, defined)]).await;
}

/// What is put in force for days that are over changes what was decided then: whoever approves sees
/// it first, and it is kept with the approval.
async fn a_revision_told_late_is_approved_once_what_it_changes_was_seen(url: &str) {
    let served = Served::with_trains(url).await;
    define_revision(&served, "TM-DA").await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/trains/T1/decide").await;
    let decided = controller.submit(&page.form("#decide form")).await;
    let decision = decided.path().to_owned();
    assert!(decision.starts_with("/decisions/"), "{decision}");
    served.pass(2 * 24 * 3600);
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get("/car-types/TM-DA/Z/effectivity").await;
    let form = page
        .form("#effectivity form")
        .fill("cars", "4101")
        .fill("from", "2026-11-25");
    for (slip, expected) in [
        ("4102", "4102, which is a TM-T"),
        ("4101 to 4199", "car 4199 is not in the register"),
    ] {
        let refused = engineer.submit(&form.clone().fill("cars", slip)).await;
        assert_eq!(refused.status(), 422, "{slip}");
        let why = refused.text(".refusal");
        assert!(why.contains(expected), "{why}");
    }
    assert_eq!(engineer.submit(&form).await.path(), "/approvals");

    let other = second(&served).await;
    let approve = "form:has(input[value=approved])";
    let page = other.get("/approvals").await;
    assert_eq!(page.count("[name=foreseen]"), 0);
    let form = page.form(approve).fill("reason", "agreed by phone");
    let foreseen = other.submit(&form).await;
    assert_eq!(foreseen.status(), 422);
    assert!(foreseen.text("form .caution").contains("Not yet recorded"));
    let told = foreseen.texts("table.verdicts-changed tbody tr");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("T1"), "{told:?}");
    let waits = other.get("/approvals").await;
    assert_eq!(waits.count("section.panel"), 1, "nothing was changed");
    let car = other.get("/cars/4101").await;
    assert!(car.text("main").contains("baseline revision 1"));

    let agreed = foreseen.form(approve);
    assert_eq!(agreed.values("reason"), ["agreed by phone"]);
    // What was seen for one state of the register is no agreement to another.
    let stale = agreed.clone().forge("foreseen", &"0".repeat(64));
    assert_eq!(other.submit(&stale).await.status(), 422);
    let done = other.submit(&agreed).await;
    assert_eq!((done.status(), done.path()), (200, "/approvals"));
    let row = done.text("table.long tbody");
    assert!(row.contains("agreed by phone"), "{row}");
    let entry = done.attribute("table.long td:nth-child(3) a", "href");
    let kept = other.get(entry.unwrap()).await;
    assert_eq!(kept.count(".verdicts-changed tbody tr"), 1);
    let car = other.get("/cars/4101").await;
    assert!(car.text("main").contains("baseline revision Z"));
    let before = other.get("/cars/4101?at=2026-11-24T12:00:00Z").await;
    assert!(before.text("main").contains("baseline revision 1"));
}

each_database!(
    a_revision_told_late_is_approved_once_what_it_changes_was_seen,
    proposed_limits_are_shown_beside_those_in_force,
    a_release_is_proposed_on_the_component_and_approved_by_another,
    what_waits_is_seen_by_all_and_decided_by_brake_engineers,
);
