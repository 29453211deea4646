//! A receipt and a test record that were wrong are put right on the pages, with what that changes
//! seen before.

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::page::Page;

use super::sample::{FIRST, Served, VALVE, fitted};

/// A valve in store.
const STORED: &str = "/components/DV%2F210/9";

/// The date of a task of a component.
fn due(page: &Page, task: &str) -> String {
    let tasks = page.texts("table.due-work tbody th > .nowrap:first-child");
    let dates = page.texts("table.due-work tbody td:nth-of-type(1)");
    let mut rows = tasks.into_iter().zip(dates);
    let row = rows.find(|(of, _)| of == task).unwrap();
    row.1
}

async fn a_receipt_is_corrected_by_its_form(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let stores = served.signed_in(Role::Stores).await;
    let component = stores.get(STORED).await;
    let received = "dl.facts + dl.facts dd:first-of-type a[href^='/ledger/']";
    let receipt = component.attribute(received, "href").unwrap().to_owned();
    let before = due(&component, "OH-DV");
    let other = planner.get(&receipt).await;
    assert_eq!(other.count("#correct"), 0, "another role has no such form");
    let entry = stores.get(&receipt).await;
    let form = entry.attribute("section a.button[href*='corrects=']", "href");
    let page = stores.get(form.unwrap()).await;
    let form = page.form("#new form");
    assert_eq!(form.values("manufactured_on"), ["2019-08-29"]);
    assert_eq!(form.values("location"), ["Store North"]);
    assert_eq!(form.values("serial"), ["9"]);

    let right = form
        .fill("manufactured_on", "2019-09-29")
        .fill("certificate", "C 9");
    let mute = stores.submit(&right).await;
    assert_eq!(mute.status(), 422, "nobody said why it was wrong");
    let right = right.fill("reason", "read from the plate");
    let foreseen = stores.submit(&right).await;
    assert_eq!(foreseen.status(), 422);
    assert!(foreseen.text("#new .caution").contains("due date"));
    assert_eq!(due(&stores.get(STORED).await, "OH-DV"), before);
    let done = stores.submit(&foreseen.form("#new form")).await;
    assert_eq!((done.status(), done.path()), (200, STORED));
    assert_ne!(due(&done, "OH-DV"), before);
    let entry = stores.get(&receipt).await;
    assert!(entry.text(".caution").contains("no longer holds"));
    assert_eq!(entry.count("#correct"), 0);
}

/// The test of valve 9 was done half a year ago.
fn done() -> (String, serde_json::Value) {
    let done = json!({"task_done": {"subject": {"component": {"part": VALVE, "serial": "9"}},
        "task": "TS-DV", "evidence": "test 7"}});
    ("2026-06-01T08:00:00Z".to_owned(), done)
}

async fn a_test_record_is_corrected_by_its_form(url: &str) {
    let served = Served::with_fleet(url).await;
    let procedure = json!({"procedure_defined": {
        "code": "P-1", "revision": "A", "title": "bench test", "applies_to": {"part": VALVE},
        "source": "invented for the tests", "task": "TS-DV", "measurands": [{"name": "pressure",
        "unit": "bar", "role": "result", "bounds": {"lower": "3", "upper": "4"}}]}});
    let tested = json!({"test_recorded": {
        "id": "T-1", "subject": {"component": {"part": VALVE, "serial": "9"}}, "procedure": "P-1",
        "revision": "A", "at": "2026-11-20T08:00:00Z", "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "pressure", "value": "2.5"}]}});
    let mut revised = procedure.clone();
    revised["procedure_defined"]["revision"] = json!("B");
    served
        .import(vec![
            ("2026-01-01T08:00:00Z".to_owned(), procedure),
            done(),
            ("2026-11-20T08:00:00Z".to_owned(), tested),
            ("2026-11-21T08:00:00Z".to_owned(), revised),
        ])
        .await;
    let technician = served.signed_in(Role::Technician).await;
    let test = technician.get("/test-records/T-1").await;
    let entry = test.attribute("dl.facts a[href^='/ledger/']", "href");
    let entry = technician.get(entry.unwrap()).await;
    let form = entry.attribute("section a.button[href*='corrects=']", "href");
    let page = technician.get(form.unwrap()).await;
    let form = page.form("form.test-form");
    assert_eq!(form.values("revision"), ["A"], "by the limits of then");
    assert_eq!(form.values("value_0"), ["2.5"]);
    let right = form
        .fill("value_0", "3.5")
        .fill("reason", "the 3 was read as a 2")
        .forge("do", "record");
    let foreseen = technician.submit(&right).await;
    assert_eq!(foreseen.status(), 422, "{}", foreseen.text("main"));
    assert!(foreseen.text("main .caution").contains("due date"));
    let agreed = foreseen.form("form.test-form").forge("do", "record");
    let done = technician.submit(&agreed).await;
    assert_eq!((done.status(), done.path()), (200, "/test-records/T-1"));
    assert!(
        done.text("main").contains("Passed"),
        "{}",
        done.text("main")
    );
}

/// What is told late of a test is seen first, and can then be recorded.
async fn a_test_told_late_is_recorded_once_its_consequences_were_seen(url: &str) {
    let served = Served::with_fleet(url).await;
    let procedure = json!({"procedure_defined": {
        "code": "P-1", "revision": "A", "title": "bench test", "applies_to": {"part": VALVE},
        "source": "invented for the tests", "task": "TS-DV", "measurands": [{"name": "pressure",
        "unit": "bar", "role": "result", "bounds": {"lower": "3", "upper": "4"}}]}});
    served
        .import(vec![("2026-01-01T08:00:00Z".to_owned(), procedure), done()])
        .await;
    let technician = served.signed_in(Role::Technician).await;
    let page = "/tests/new?part=DV%2F210&serial=9&procedure=P-1";
    let form = technician.get(page).await.form("form.test-form");
    let late = form
        .fill("id", "T-9")
        .fill("instrument", "G-7")
        .fill("calibrated_until", "2026-12-31")
        .fill("at", "2026-11-20 08:00")
        .fill("value_0", "2.5")
        .forge("do", "record");
    let foreseen = technician.submit(&late).await;
    assert_eq!(foreseen.status(), 422);
    assert!(foreseen.text("main .caution").contains("due date"));
    let agreed = foreseen.form("form.test-form").forge("do", "record");
    let done = technician.submit(&agreed).await;
    assert_eq!((done.status(), done.path()), (200, "/test-records/T-9"));
}

/// A valve came off, and another came in its place.
async fn a_removal_is_corrected_by_the_form_of_its_entry(url: &str) {
    let served = Served::with_fleet(url).await;
    let removed = json!({"removed": {"component": {"part": VALVE, "serial": "1"},
        "reason": "due", "to": "Store North", "condition": "removed_to_be_judged"}});
    let successor = fitted("5", "4101", FIRST);
    served
        .import(vec![
            ("2026-11-20T08:00:00Z".to_owned(), removed),
            ("2026-11-20T10:00:00Z".to_owned(), successor),
        ])
        .await;
    let last = served.store.view().await.unwrap().last_entry;
    let removal = format!("/ledger/{}", last - 1);
    let planner = served.signed_in(Role::Planner).await;
    assert_eq!(planner.get(&removal).await.count("#correct"), 0);
    let technician = served.signed_in(Role::Technician).await;
    let entry = technician.get(&removal).await;
    let form = entry.attribute("section a.button[href$='/correct']", "href");
    let page = technician.get(form.unwrap()).await;
    let form = page.form("#correct form");
    assert_eq!(form.values("why"), ["due"]);
    assert_eq!(form.values("to"), ["Store North"]);
    assert_eq!(form.values("condition"), ["removed_to_be_judged"]);

    // It did not come off after the other came.
    let right = form
        .fill("why", "failed")
        .fill("reason", "read from another line");
    let late = right.fill("at", "2026-11-20 11:00");
    let late = technician.submit(&late).await;
    assert_eq!(late.status(), 422);
    let against = format!("entry {last}");
    assert!(late.text("#correct .refusal").contains(&against));
    let form = late.form("#correct form").fill("at", "2026-11-20 09:30");
    let mut answer = technician.submit(&form).await;
    // What it changes is seen before, where it changes anything.
    if answer.count("#correct input[name=foreseen]") == 1 {
        answer = technician.submit(&answer.form("#correct form")).await;
    }
    let done = format!("/ledger/{}", last + 1);
    assert_eq!((answer.status(), answer.path()), (200, &*done));
    assert_eq!(answer.fact("Effective from"), "2026-11-20 09:30 +00:00");
    assert!(answer.text("table.fact-rows").contains("failed"));
    let wrong = technician.get(&removal).await;
    assert!(wrong.text(".caution").contains("no longer holds"));
    let again = technician.get(&format!("{removal}/correct")).await;
    assert_eq!(again.status(), 404, "it is corrected already");
}

each_database!(
    a_removal_is_corrected_by_the_form_of_its_entry,
    a_receipt_is_corrected_by_its_form,
    a_test_record_is_corrected_by_its_form,
    a_test_told_late_is_recorded_once_its_consequences_were_seen,
);
