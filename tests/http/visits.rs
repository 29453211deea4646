//! Visits on pages and for programs: planned for a modification, planned otherwise, cancelled.

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::form::Form;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::Served;

/// A modification of the cars, to be embodied by the tenth of December.
async fn issued(served: &Served) {
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get("/modifications/new").await;
    let form = page
        .form("#new form")
        .fill("number", "M-7")
        .fill("title", "another label")
        .fill("car_type", "Motor car")
        .fill("cars", "4101 to 4199")
        .fill("by", "2026-12-10")
        .fill("source", "instruction 7");
    assert_eq!(engineer.submit(&form).await.path(), "/modifications/M-7");
}

async fn a_visit_is_planned_for_what_is_left_of_a_modification(url: &str) {
    let served = Served::with_fleet(url).await;
    issued(&served).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/modifications/M-7").await;
    let left = "[aria-label=\"What is left\"] tbody tr:first-child";
    assert!(page.text(left).contains("none yet"), "{}", page.text(left));
    let plan = page.attribute("a[href^='/visits/new']", "href").unwrap();
    let form = planner.get(plan).await.form("#new form");
    let form = form
        .fill("number", "V/1")
        .fill("unit", "41")
        .fill("depot", "North")
        .fill("from", "2026-12-08")
        .fill("until", "2026-12-12")
        .fill("hours", "0");
    let refused = planner.submit(&form).await;
    assert_eq!(refused.status(), 422);
    let wrong = refused.texts(".wrong");
    assert_eq!(wrong.len(), 2, "number and hours: {wrong:?}");
    let form = refused
        .form("#new form")
        .fill("number", "V 1")
        .fill("hours", "40");
    refuses_what_cannot_be_planned(&planner, &form).await;
    let visit = planner.submit(&form).await;
    assert_eq!(visit.path(), "/visits/V%201");
    assert!(visit.text("ul").contains("M-7"), "{}", visit.text("main"));
    let due = visit.attribute("a[href*='until=2026-12-12']", "href");
    assert_eq!(due, Some("/due?unit=41&until=2026-12-12"));
    takes_on_what_is_due(&planner, &visit).await;
    let page = planner.get("/modifications/M-7").await;
    assert!(
        page.text(left).contains("V 1 on 2026-12-08"),
        "{}",
        page.text(left)
    );
    assert!(!page.text(left).contains("after the day"));
    let answer = planner.get("/api/v1/modifications/M-7").await.json();
    assert_eq!(answer["left"][0]["visit"]["number"], "V 1");
    let form = visit.form("#plan form").fill("from", "2026-12-11");
    let visit = planner.submit(&form).await;
    assert_eq!(visit.path(), "/visits/V%201");
    let page = planner.get("/modifications/M-7").await;
    assert!(
        page.text(left)
            .contains("after the day it is to be done by")
    );

    served.statements.take();
    let listed = planner.get("/visits?unit=41").await;
    assert!(served.statements.take().len() < 10);
    assert_eq!(listed.texts("tbody th"), ["V 1"]);
    assert_eq!(visit.count("#cancel form [name=reason]"), 1);
    let mute = visit.form("#cancel form").fill("reason", "");
    assert_eq!(planner.submit(&mute).await.status(), 422);
    let form = visit
        .form("#cancel form")
        .fill("reason", "the pit is flooded");
    let gone = planner.submit(&form).await;
    assert!(gone.text(".caution").contains("Cancelled"));
    assert_eq!(gone.count("#plan"), 0);
    assert_eq!(gone.count("#work"), 0, "nothing is done during it");
    let answer = planner.get("/api/v1/visits?unit=41").await.json();
    assert!(answer["visits"][0]["cancelled_by"].is_number(), "{answer}");
    let one = planner.get("/api/v1/visits/V%201").await.json();
    assert_eq!(one, answer["visits"][0]);
    let page = planner.get("/modifications/M-7").await;
    assert!(page.text(left).contains("none yet"));
}

/// A visit is at a depot that there is, and not over.
async fn refuses_what_cannot_be_planned(planner: &Visitor, form: &Form) {
    for (field, label, wrong) in [
        ("depot", "Depot", "Nowhere"),
        ("until", "Goes on", "2026-11-24"),
    ] {
        let form = form.clone().forge("from", "2026-11-20");
        let refused = planner.submit(&form.forge(field, wrong)).await;
        let says = refused.text(".refusal");
        assert!(says.starts_with(&format!("{label}: {wrong}")), "{says}");
        let depots = refused.texts("#new select[name=depot] option");
        assert_eq!(depots, ["choose", "North (depot)", "South (depot)"]);
    }
    let unsaid = planner.submit(&form.clone().fill("depot", "")).await;
    assert_eq!(
        unsaid.texts(".wrong"),
        ["expected one of those to choose from"]
    );
}

/// By car and position, the same rows as the list, each with its limit and a box for paper.
async fn takes_on_what_is_due(planner: &Visitor, visit: &Page) {
    assert_eq!(visit.count("table.work-list"), 2);
    let cars = visit.texts("table.work-list caption");
    assert_eq!(cars, ["Car 4101: 4 tasks", "Car 4102: 1 task"]);
    let rows = visit.texts("table.work-list tbody tr");
    let list = planner.get("/due?unit=41&until=2026-12-12").await;
    assert_eq!(list.count("table.due tbody tr"), rows.len());
    assert!(
        rows[0].contains("=BS1-K1") && rows[2].contains("=BS2-K1"),
        "{rows:?}"
    );
    assert!(rows[1].contains("10,400 km left"), "{rows:?}");
    assert_eq!(visit.count("table.work-list td.box"), rows.len());
    let unknown = visit.attribute("a[href*='state=unknown']", "href").unwrap();
    assert_eq!(planner.get(unknown).await.count("table.due tbody tr"), 2);
}

/// A depot and a workshop of one name are one place; others are told apart by what they are.
async fn a_place_of_a_visit_is_offered_with_what_it_is(url: &str) {
    let served = Served::with_fleet(url).await;
    let place = |name: &str, kind: &str| {
        let defined = json!({"location_defined": {"name": name, "kind": kind}});
        ("2026-05-02T08:00:00Z".to_owned(), defined)
    };
    let places = [
        place("North", "workshop"),
        place("North workshop", "workshop"),
        place("Alder works", "contractor"),
        place("Alder store", "store"),
    ];
    served.import(places.into()).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/visits/new").await;
    assert_eq!(
        page.texts("#new select[name=depot] option"),
        [
            "choose",
            "Alder works (contractor)",
            "North (depot and workshop)",
            "North workshop (workshop)",
            "South (depot)",
        ]
    );
    let values = page.attributes("#new select[name=depot] option", "value");
    assert_eq!(values[2..4], ["North", "North workshop"]);
}

async fn whoever_does_not_plan_sees_visits_and_no_form(url: &str) {
    let served = Served::with_fleet(url).await;
    for path in ["/visits/V9", "/api/v1/visits/V9"] {
        assert_eq!(served.visitor().get(path).await.status(), 404, "{path}");
    }
    for path in [
        "/visits?from=soon",
        "/visits?unit=%00",
        "/api/v1/visits?from=soon",
    ] {
        assert_eq!(served.visitor().get(path).await.status(), 422, "{path}");
    }
    let technician = served.signed_in(Role::Technician).await;
    assert_eq!(technician.get("/visits").await.count("a.button"), 0);
    assert_eq!(technician.get("/visits/new").await.count("form.fields"), 0);
}

each_database!(
    a_place_of_a_visit_is_offered_with_what_it_is,
    a_visit_is_planned_for_what_is_left_of_a_modification,
    whoever_does_not_plan_sees_visits_and_no_form,
);
