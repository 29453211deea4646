//! Departures from baselines as pages, as a file and for programs; and how a brake engineer
//! changes what is approved and puts it in force.

use domain::ledger::departures::DepartureKind;
use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::approvals::second;
use super::sample::{FIRST, SECOND, Served, VALVE};

const DESIGN: &str = "/car-types/Motor%20car/A";

/// A list in print is read without colour: each kind has its mark.
#[test]
fn every_kind_of_departure_has_a_mark() {
    let styles = include_str!("../../static/register.css");
    for kind in DepartureKind::ALL {
        let mark = format!(".departure-{}::before", kind.name());
        assert!(styles.contains(&mark), "{kind}");
    }
}

async fn departures_are_listed_by_car_and_empty_where_all_conforms(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let all = visitor.get("/departures").await;
    // Car 4102 has one valve of two, and of car 4201 nothing was ever recorded.
    let cars = all.texts("tbody th > a");
    assert_eq!(cars, ["4102", "4201", "4201"]);
    let counted = "3 positions depart: 3 findings, 0 under a concession in force.";
    assert!(all.text("main").contains(counted));
    assert!(all.text("tbody").contains(VALVE));
    served.statements.take();
    let of_car = visitor.get("/departures?car=4101").await;
    assert!(served.statements.take().len() < 10);
    assert_eq!(of_car.count("tbody tr"), 0);
    assert!(of_car.text(".done").contains("Nothing departs"));
    for (narrowed, rows) in [
        ("fleet=Fern", 2),
        ("depot=North", 1),
        ("unit=41", 1),
        ("kind=vacant", 0),
        ("kind=unknown", 3),
    ] {
        let page = visitor.get(&format!("/departures?{narrowed}")).await;
        assert_eq!(page.count("tbody tr"), rows, "{narrowed}");
    }
    let wrong = visitor.get("/departures?kind=odd").await;
    assert_eq!((wrong.status(), wrong.count(".refusal")), (422, 1));
    let file = visitor.get("/departures.csv?fleet=Fern").await;
    assert_eq!(file.body().lines().count(), 3, "{}", file.body());
    let answer = visitor.get("/api/v1/departures?car=4102").await;
    let answer: serde_json::Value = serde_json::from_str(answer.body()).unwrap();
    assert_eq!(answer["departures"][0]["position"], SECOND);
    assert_eq!(answer["departures"][0]["kind"], "unknown");
    assert_eq!(answer["departures"][0]["revision"], "A");
}

async fn other_parts_are_approved_and_put_in_force_by_two_people(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let other = second(&served).await;
    let page = engineer.get(&format!("{DESIGN}/approved")).await;
    let form = page.form("#approved form");
    let wrong = form.fill("revision", "B").fill("approved", "=BS9: DV/210");
    let wrong = engineer.submit(&wrong).await;
    assert_eq!(wrong.status(), 422);
    assert!(
        wrong.text(".wrong").contains("line 1"),
        "{}",
        wrong.text("main")
    );
    let form = page.form("#approved form");
    let emptied = form
        .fill("revision", "B")
        .fill("approved", &format!("{FIRST}: {VALVE}\n{SECOND}:"));
    assert_eq!(engineer.submit(&emptied).await.path(), "/approvals");
    approve(&other).await;
    let compared = engineer.get("/car-types/Motor%20car/B?against=A").await;
    let changes = compared.text("#baseline-changes + ul");
    assert!(changes.contains("is not approved and was"), "{changes}");
    let page = engineer.get("/car-types/Motor%20car/B/effectivity").await;
    let form = page.form("#effectivity form");
    let form = form.fill("cars", "4101").fill("from", "2026-11-01");
    assert_eq!(engineer.submit(&form).await.path(), "/approvals");
    assert_eq!(
        engineer.get("/departures?car=4101").await.count("tbody tr"),
        0
    );
    // What becomes a departure of days that are over is seen before it is approved.
    let waits = other.get("/approvals").await;
    let foreseen = waits.form("form:has(input[value=approved])");
    let foreseen = other.submit(&foreseen).await;
    let told = foreseen.text("table.departures-changed tbody");
    assert!(told.contains("=BS2-K1 of car 4101"), "{told}");
    approve(&other).await;
    let departs = engineer.get("/departures?car=4101").await;
    assert_eq!(departs.count("tbody tr"), 1);
    assert!(
        departs
            .text("tbody")
            .contains("its part is not approved there")
    );
    assert!(departs.text("tbody").contains("Motor car revision B"));
    let car = engineer.get("/cars/4101").await;
    assert!(car.text("main").contains("baseline revision B"));
    let other_car = engineer.get("/cars/4201").await;
    assert!(other_car.text("main").contains("baseline revision A"));
}

async fn a_departure_is_allowed_by_a_concession_and_its_end_is_due(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let other = second(&served).await;
    let facts = [
        json!({"part_defined": {"number": "DV/200", "title": "earlier valve", "kind": "distributor_valve"}}),
        json!({"component_received": {"component": {"part": "DV/200", "serial": "90"},
            "condition": "serviceable", "location": "Store North"}}),
    ];
    let at = "2026-11-20T08:00:00Z".to_owned();
    served
        .import(facts.map(|fact| (at.clone(), fact)).into())
        .await;
    let new = "/concessions/new?cars=4102&position=%3DBS2-K1&part=DV%2F200";
    let page = engineer.get(new).await;
    let form = page.form("#new form").fill("number", "C-7");
    let mute = engineer.submit(&form.clone()).await;
    assert_eq!(mute.status(), 422);
    let form = form
        .fill("why", "until stock arrives")
        .fill("until", "2026-12-31");
    assert_eq!(engineer.submit(&form).await.path(), "/approvals");
    approve(&other).await;
    let technician = served.signed_in(Role::Technician).await;
    let place = technician.get("/positions/4102/%3DBS2-K1").await;
    let fit = place.form("form[action*=\"/fit\"]").fill("serial", "90");
    let refused = technician.submit(&fit.clone()).await;
    assert!(refused.text(".refusal").contains("is not approved at"));
    let fitted = technician.submit(&fit.fill("concession", "C-7")).await;
    assert_eq!(fitted.status(), 200, "{}", fitted.text("main"));
    let departs = engineer.get("/departures?car=4102").await;
    assert!(
        departs
            .text("tbody")
            .contains("concession C-7 until 2026-12-31")
    );
    told_apart_from_findings(&technician, &departs).await;
    assert_eq!(
        engineer
            .get("/departures?concession=C-7")
            .await
            .count("tbody tr"),
        1
    );
    let findings = engineer.get("/departures?car=4102&standing=finding").await;
    assert_eq!(findings.count("tbody tr"), 0);
    let listed = engineer.get("/concessions").await;
    assert!(
        listed.text("tbody").contains("ending"),
        "{}",
        listed.text("main")
    );
    its_end_is_due_by_horizon(&engineer).await;
    let one = engineer.get("/concessions/C-7").await;
    assert!(
        one.text("main").contains("second"),
        "the second person stands there"
    );
    let answer = engineer.get("/api/v1/concessions").await.json();
    assert_eq!(answer["concessions"][0]["standing"], "ending");
    let withdraw = one.form("form[action*=\"/withdraw\"]");
    let unsure = engineer
        .submit(&withdraw.clone().fill("reason", "it leaks"))
        .await;
    assert_eq!(unsure.status(), 422);
    let sure = withdraw.fill("sure", "yes").fill("reason", "it leaks");
    let gone = engineer.submit(&sure).await;
    assert!(gone.text("dl.facts").contains("withdrawn"));
    ended_by_one_person(&technician, &gone).await;
}

/// On the list and on the page of the position.
async fn told_apart_from_findings(technician: &Visitor, departs: &Page) {
    let counted = "1 position departs: 0 findings, 1 under a concession in force.";
    assert!(departs.text("main").contains(counted));
    assert_eq!(departs.text("tbody .state"), "under concession");
    assert_eq!(departs.count(".departure-not_approved"), 0);
    let here = technician.get("/positions/4102/%3DBS2-K1").await;
    let says = here.text(".caution.departs");
    assert!(
        says.contains("under a concession in force: not approved"),
        "{says}"
    );
    assert!(says.contains("concession C-7 until 2026-12-31"), "{says}");
}

/// Nobody had to propose that, and what is there is a finding.
async fn ended_by_one_person(technician: &Visitor, gone: &Page) {
    assert!(gone.text("main").contains("recorded without a proposal"));
    let here = technician.get("/positions/4102/%3DBS2-K1").await;
    let banners = (
        here.count(".refusal.departs"),
        here.count(".caution.departs"),
    );
    assert_eq!(banners, (1, 0));
}

/// On the page, in its files and for programs.
async fn its_end_is_due_by_horizon(engineer: &tests::visitor::Visitor) {
    for (asked, ends) in [
        ("", true),
        ("?until=2026-12-30", false),
        ("?until=2027-06-30", true),
        ("?car=4102", true),
        ("?car=4101", false),
        ("?state=unknown", false),
    ] {
        let page = engineer.get(&format!("/due{asked}")).await;
        assert_eq!(
            page.text("main").contains("Concessions that end"),
            ends,
            "{asked}"
        );
        let csv = engineer.get(&format!("/due.csv{asked}")).await;
        let lines = csv
            .body()
            .lines()
            .filter(|line| line.contains("concession C-7"));
        let lines: Vec<&str> = lines.collect();
        assert_eq!(lines.len(), usize::from(ends), "{asked}: {}", csv.body());
        let dated = lines.iter().all(|line| line.contains("2026-12-31"));
        assert!(
            dated
                && lines
                    .iter()
                    .all(|line| line.contains("1 position is under it"))
        );
        let answer = engineer.get(&format!("/api/v1/due{asked}")).await.json();
        let concessions = answer["ending_concessions"].as_array().unwrap();
        assert_eq!(concessions.len(), usize::from(ends), "{asked}");
        assert!(concessions.iter().all(|one| one["until"] == "2026-12-31"));
    }
    let workbook = engineer.get("/due.xlsx").await;
    assert_eq!(workbook.status(), 200);
}

async fn approve(engineer: &tests::visitor::Visitor) {
    let page = engineer.get("/approvals").await;
    let form = page.form("form:has(input[value=approved])");
    assert_eq!(engineer.submit_and_agree(&form).await.status(), 200);
}

async fn what_is_fitted_and_not_serviceable_departs_until_it_is(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let judged = |condition: &str| {
        json!({"condition_judged": {"component": {"part": VALVE, "serial": "1"},
            "condition": condition, "evidence": "inspection 7"}})
    };
    let at = |day: &str| format!("2026-11-{day}T08:00:00Z");
    served
        .import(vec![(at("10"), judged("unserviceable"))])
        .await;
    let found = engineer.get("/departures?car=4101").await;
    assert_eq!(found.count("tbody tr"), 1, "{}", found.text("main"));
    let row = found.text("tbody");
    assert!(row.contains("it is unserviceable"), "{row}");
    assert!(row.contains("2026-11-10"), "{row}");
    assert_eq!(found.count("a[href^='/concessions/new']"), 0);
    let answer = engineer.get("/api/v1/departures?kind=unfit").await.json();
    assert_eq!(answer["departures"][0]["position"], FIRST);
    assert_eq!(answer["departures"][0]["condition"], "unserviceable");
    let before = engineer.get("/departures?car=4101&on=2026-11-09").await;
    assert_eq!(before.count("tbody tr"), 0);
    served.import(vec![(at("12"), judged("serviceable"))]).await;
    let now = engineer.get("/departures?car=4101").await;
    assert_eq!(now.count("tbody tr"), 0);
    let then = "/departures?car=4101&at=2026-11-11";
    let then = engineer.get(then).await;
    assert!(then.text("tbody").contains("it is unserviceable"));
}

each_database!(
    departures_are_listed_by_car_and_empty_where_all_conforms,
    other_parts_are_approved_and_put_in_force_by_two_people,
    a_departure_is_allowed_by_a_concession_and_its_end_is_due,
    what_is_fitted_and_not_serviceable_departs_until_it_is,
);
