//! Overdue work on the cars of a train: told beside the verdicts, which do not count it.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;

use super::sample::Served;
use super::sheets::decide;
use crate::command_line::program::Place;

/// A brake test every three months, with thirty days of tolerance, of which nobody knows on the other
/// driving car when it was done.
fn task() -> (String, Value) {
    let task = json!({"task_defined": {
        "code": "BT-Q", "revision": "A", "title": "brake test of a car", "kind": "test",
        "applies_to": {"car_type": "TM-DA"}, "counts_from": "done", "clock_start": "overhaul",
        "limits": [{"interval": {"months": 3}, "early": 10, "late": 30}],
        "source": "invented for the tests"}});
    ("2026-03-02T07:00:00Z".to_owned(), task)
}

fn done(at: &str) -> (String, Value) {
    let done = json!({"task_done": {
        "subject": {"car": "4101"}, "task": "BT-Q", "evidence": "order 1"}});
    (at.to_owned(), done)
}

const WORST: &str = "BT-Q due 2026-06-02, tolerated until 2026-07-02";

/// Before a car runs no work on it is overdue (common practice, no source).
async fn overdue_work_is_told_beside_the_verdict_and_leads_to_the_due_list(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let before = visitor.get("/decision?formation=TM101").await;
    assert_eq!(before.count(".warnings .overdue"), 0);
    served
        .import(vec![task(), done("2026-03-02T08:00:00Z")])
        .await;
    let page = visitor.get("/decision?formation=TM101").await;
    let told = format!("Work is overdue, and no verdict counts it: car 4101 1 task, {WORST}.");
    let said = page.text(".warnings .overdue");
    assert!(said.starts_with(&told), "{said}");
    let says = |page: &Page| page.texts(".verdict h2");
    assert_eq!(says(&page), says(&before), "no verdict speaks of it");
    let list = page.attribute(".warnings .overdue a", "href").unwrap();
    assert_eq!(list, "/due?car=4101&state=overdue");
    assert!(visitor.get(list).await.text("main").contains("BT-Q"));
    let answer = visitor.get("/api/v1/decision?formation=TM101").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "overdue" && one["text"] == told),
        "{answer}"
    );
    let of_car = &answer["overdue"][0];
    assert_eq!(
        (&of_car["car"], &of_car["tasks"]),
        (&json!("4101"), &json!(1))
    );
    assert_eq!(of_car["worst"]["latest_on"], "2026-07-02");
    let line = Place::on(url).run_on_database(&["decide", "--formation", "TM101"]);
    assert!(line.out.contains(&format!("! {told}")), "{}", line.out);
    let controller = served.signed_in(Role::Controller).await;
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let paper = sheet.text(".paper-warnings");
    let short = format!(
        "1 task is overdue on 1 car, and no verdict counts it; the worst: car 4101 {WORST}."
    );
    assert!(paper.contains(&short), "{paper}");
    served.import(vec![done("2026-11-25T11:00:00Z")]).await;
    let page = visitor.get("/decision?formation=TM101").await;
    assert_eq!(page.count(".warnings .overdue"), 0);
}

async fn of_a_past_time_it_is_said_that_it_was_not_looked_at(url: &str) {
    let served = Served::with_trains(url).await;
    served
        .import(vec![task(), done("2026-03-02T08:00:00Z")])
        .await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1?at=2026-11-21").await;
    assert_eq!(page.count(".warnings .overdue"), 0);
    let said = page.text(".warnings .overdue_unknown");
    assert!(said.contains("was not looked at"), "{said}");
    let lists = page.attributes(".warnings .overdue_unknown a", "href");
    assert_eq!(lists.len(), 6);
    let list = lists[0];
    assert_eq!(list, "/due?car=4101&state=overdue&at=2026-11-21");
    assert!(visitor.get(list).await.text("main").contains("BT-Q"));
    let path = "/api/v1/decision?train=T1&at=2026-11-21T00:00:00Z";
    let answer = visitor.get(path).await.json();
    let of_car = &answer["overdue"][0];
    assert_eq!(
        (&of_car["car"], &of_car["tasks"]),
        (&json!("4101"), &json!(null))
    );
}

each_database!(
    overdue_work_is_told_beside_the_verdict_and_leads_to_the_due_list,
    of_a_past_time_it_is_said_that_it_was_not_looked_at,
);
