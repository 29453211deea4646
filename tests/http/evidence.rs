//! What comes off as evidence or after a recall, and what comes off serviceable, by the pages.

use domain::people::Role;
use tests::each_database;

use super::sample::Served;

const FILLED: &str = "/positions/4101/%3DBS1-K1";
const VALVE_1: &str = "/components/DV%2F210/1";

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

each_database!(
    what_comes_off_as_evidence_leads_to_its_hold,
    what_comes_off_says_by_why_in_which_condition,
    what_comes_off_serviceable_says_on_what_evidence,
);
