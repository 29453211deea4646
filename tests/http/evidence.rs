//! What comes off as evidence or after a recall, and what comes off serviceable, by the pages.

use domain::people::Role;
use tests::each_database;
use tests::form::Form;
use tests::page::Page;

use super::sample::Served;
use crate::command_line::program::Place;

const FILLED: &str = "/positions/4101/%3DBS1-K1";
const VALVE_1: &str = "/components/DV%2F210/1";
/// A valve in store.
const VALVE_9: &str = "/components/DV%2F210/9";

async fn what_comes_off_as_evidence_leads_to_its_hold(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(FILLED).await.form("#remove form");
    let form = form.fill("why", "evidence").fill("to", "Workshop North");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!((page.status(), page.path()), (200, VALVE_1));
    assert_eq!(page.fact("Condition"), "quarantined");
    let caution = page.text("p.caution.evidence");
    assert!(caution.starts_with("It came off as evidence"), "{caution}");
    assert_eq!(page.count("#condition"), 0, "nothing is recorded of it");
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get(VALVE_1).await;
    let links = page.attributes("p.caution.evidence a", "href");
    assert!(
        links.last().is_some_and(|to| to.contains("hold")),
        "{links:?}"
    );
}

async fn what_comes_off_says_by_why_in_which_condition(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(FILLED).await.form("#remove form");
    let recalled = form
        .clone()
        .fill("why", "recall")
        .fill("to", "Workshop North");
    let better = recalled.clone().fill("condition", "unserviceable");
    let page = technician.submit_and_agree(&better).await;
    assert_eq!(page.status(), 422);
    let refusal = page.text("#remove .refusal");
    assert!(refusal.contains("quarantined"), "{refusal}");
    technician.submit_and_agree(&recalled).await;
    let page = technician.get(VALVE_1).await;
    assert_eq!(page.fact("Condition"), "quarantined");
}

async fn what_comes_off_serviceable_says_on_what_evidence(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(FILLED).await.form("#remove form");
    let form = form
        .fill("why", "access")
        .fill("to", "Store North")
        .fill("condition", "serviceable");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!(page.status(), 422);
    let form = form.fill("evidence", "seen sound, order 12");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!(page.status(), 200);
    let page = technician.get(VALVE_1).await;
    let paper = page.fact("Certificate");
    assert!(paper.contains("“seen sound, order 12”"), "{paper}");
    let life = technician.get(&format!("{VALVE_1}/life")).await;
    assert!(life.text("table.life").contains("seen sound, order 12"));
}

/// A judgement of the valve in store at a time, as a form.
fn judgement(page: &Page, condition: &str, at: &str) -> Form {
    let form = page.form("#condition form");
    form.fill("condition", condition)
        .fill("evidence", "seen")
        .fill("at", at)
}

/// The row of a file that names what is to be judged again.
fn judge_again(file: &Page) -> String {
    let mut rows = file.body().lines();
    let row = rows.find(|row| row.contains(",judge again,"));
    row.unwrap_or_else(|| panic!("{}", file.body())).to_owned()
}

async fn a_quarantine_told_after_a_judgement_is_seen_before_and_named_until_it_is_answered(
    url: &str,
) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    for (condition, at) in [
        ("unserviceable", "2026-11-20 10:00"),
        ("serviceable", "2026-11-22 10:00"),
    ] {
        let form = judgement(&engineer.get(VALVE_9).await, condition, at);
        let page = engineer.submit_and_agree(&form).await;
        assert_eq!(page.status(), 200, "{}", page.text("main"));
    }
    let page = engineer.get(VALVE_9).await;
    assert_eq!(page.count("p.caution.again"), 0);
    assert_eq!(page.count("#release"), 0);
    let late = judgement(&page, "quarantined", "2026-11-21 10:00");
    let foreseen = engineer.submit(&late).await;
    assert_eq!(foreseen.status(), 422);
    let told = foreseen.text("#condition div.caution");
    for said in [
        "1 component is to be judged again",
        "2026-11-22 by ",
        "without knowing",
    ] {
        assert!(told.contains(said), "{said}: {told}");
    }
    engineer.submit(&foreseen.form("#condition form")).await;
    let page = engineer.get(VALVE_9).await;
    assert_eq!(page.fact("Condition"), "serviceable");
    let again = page.text("p.caution.again");
    assert!(again.contains("judge it again"), "{again}");
    // Two people answer it, and nobody is told that it stays in quarantine till then.
    let release = page.text("#release");
    assert!(release.contains("counts as serviceable"), "{release}");
    for path in ["/due", "/due?place=off_cars", "/due?part=DV%2F210"] {
        assert_eq!(
            engineer.get(path).await.count("p.caution.again"),
            1,
            "{path}"
        );
    }
    let row = judge_again(&engineer.get("/due.csv?part=DV%2F210").await);
    assert!(row.ends_with(",DV/210,9,,,,Store North,,,,"), "{row}");
    let on_cars = engineer.get("/due?place=on_cars").await;
    assert_eq!(on_cars.count("p.caution.again"), 0);
    let api = served.visitor().get(&format!("/api/v1{VALVE_9}")).await;
    let why = api.json()["judge_again"][0]["why"].to_string();
    assert!(why.contains("judge it again"), "{why}");
}

async fn what_is_to_be_judged_again_is_named_where_it_is_fitted(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    for (condition, at) in [
        ("unserviceable", "2026-11-20 10:00"),
        ("serviceable", "2026-11-22 10:00"),
        ("quarantined", "2026-11-21 10:00"),
    ] {
        let form = judgement(&engineer.get(VALVE_1).await, condition, at);
        let page = engineer.submit_and_agree(&form).await;
        assert_eq!(page.status(), 200, "{}", page.text("main"));
    }
    // A spreadsheet that is sorted or filtered by car or serial number keeps it.
    let row = judge_again(&engineer.get("/due.csv?car=4101").await);
    let place = ",DV/210,1,4101,41,'=BS1-K1,,North,,,";
    assert!(row.ends_with(place), "{row}");
    let due = Place::on(url).run_on_database(&["due", "--car", "4101"]);
    let mut printed = due.out.lines();
    let again = printed.find(|line| line.contains("judge again")).unwrap();
    assert!(again.ends_with("  car 4101 =BS1-K1"), "{again}");
    for path in [FILLED, "/cars/4101"] {
        let page = engineer.get(path).await;
        let again = page.text("p.caution.again");
        assert!(again.contains("judge it again"), "{path}: {again}");
        let links = page.attributes("p.caution.again a", "href");
        assert_eq!(links[0], VALVE_1, "{path}");
    }
    for path in [
        "/cars/4102",
        "/positions/4102/%3DBS1-K1",
        "/cars/4101?at=2026-11-01",
    ] {
        let page = engineer.get(path).await;
        assert_eq!(page.count("p.caution.again"), 0, "{path}");
    }
}

each_database!(
    what_is_to_be_judged_again_is_named_where_it_is_fitted,
    a_quarantine_told_after_a_judgement_is_seen_before_and_named_until_it_is_answered,
    what_comes_off_as_evidence_leads_to_its_hold,
    what_comes_off_says_by_why_in_which_condition,
    what_comes_off_serviceable_says_on_what_evidence,
);
