//! The life of a component that was brought in as history.

use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::{FIRST, Served, fitted, reading};

const VALVE_1: &str = "/components/DV%2F210/1";

async fn a_component_that_came_in_as_history_tells_how_it_came_off_and_was_found_fit(url: &str) {
    let served = Served::with_fleet(url).await;
    let valve = json!({"part": "DV/210", "serial": "20"});
    let fitted = json!({"fitted": {"component": valve, "car": "4201", "position": "=BS1-K1",
        "ended": {"at": "2025-06-01T08:30:00Z", "reason": "due", "to": "Works",
            "condition": "unserviceable"}}});
    let judged = json!({"condition_judged": {"component": valve, "condition": "serviceable",
        "evidence": "release 20 after overhaul"}});
    served
        .import(vec![
            ("2025-01-01T08:00:00Z".to_owned(), fitted),
            ("2025-07-01T08:00:00Z".to_owned(), judged),
        ])
        .await;
    let visitor = served.visitor();
    let life = visitor.get("/components/DV%2F210/20/life").await;
    let told = life.texts("table.life tbody tr:not(.gap) td:nth-child(2)");
    assert!(
        told[1].ends_with("fitted at =BS1-K1 of car 4201"),
        "{told:?}"
    );
    assert!(told[2].contains("removed: due, to Works"), "{told:?}");
    assert!(told[2].contains("unserviceable"), "{told:?}");
    assert!(told[3].contains("judged serviceable"), "{told:?}");
    let when = life.texts("table.life tbody tr:not(.gap) td:nth-child(1)");
    assert_eq!(when[2], "2025-06-01 08:30 +00:00");
    let lines = visitor
        .get("/api/v1/components/DV%2F210/20/life")
        .await
        .json();
    let off = lines["lines"].as_array().unwrap().iter();
    let off = off.filter(|line| line["entry"]["fact"]["removed"]["to"] == "Works");
    let off: Vec<_> = off.collect();
    assert_eq!(off.len(), 1, "{lines}");
    assert_eq!(off[0]["entry"]["effective_at"], "2025-06-01T08:30:00Z");
    let page = visitor.get("/components/DV%2F210/20").await;
    let paper = page.fact("Certificate");
    assert!(
        paper.starts_with("judged serviceable on 2025-07-01 on “release 20 after overhaul”"),
        "{paper}"
    );
    let ledger = visitor.get("/ledger?kind=fitted").await;
    assert!(
        ledger
            .text("tbody")
            .contains("until 2025-06-01 08:30 +00:00: due")
    );
}

/// The stretches of the life of valve 1 whose use is estimated.
async fn estimated_gaps(visitor: &Visitor) -> Vec<String> {
    let life = visitor.get(&format!("{VALVE_1}/life")).await;
    let mut gaps = life.texts("table.life tr.gap");
    gaps.retain(|gap| gap.contains("is estimated"));
    gaps
}

/// Valve 1 comes off, fit to go on again.
fn removed() -> (String, Value) {
    let removed = json!({"removed": {"component": {"part": "DV/210", "serial": "1"},
        "reason": "access", "to": "Store North", "condition": "serviceable",
        "evidence": "inspection"}});
    ("2026-11-11T08:00:00Z".to_owned(), removed)
}

/// Car 4101 was last read on 2026-11-01, and runs nearly 400 km a day by its readings.
async fn what_came_off_after_the_last_reading_is_an_estimate_until_a_later_one(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let api = format!("/api/v1{VALVE_1}");
    let never = visitor.get(&api).await.json();
    assert_eq!(
        never["usage"][0]["estimated"],
        json!([]),
        "it is on the car"
    );
    served.import(vec![removed()]).await;
    let words = "car 4101 was last read on 2026-11-01, and it came off on 2026-11-11";
    let page = visitor.get(VALVE_1).await;
    let cells = page.texts("table.used tbody tr:first-child td");
    assert!(cells[1].ends_with("estimated"), "{cells:?}");
    assert!(cells[2].ends_with("estimated"), "{cells:?}");
    assert!(cells[3].contains(words), "{cells:?}");
    let due = page.text("table.due-work");
    assert!(due.contains(words), "{due}");
    let gaps = estimated_gaps(&visitor).await;
    assert_eq!(gaps.len(), 1, "{gaps:?}");
    assert!(gaps[0].contains("2026-11-01 to 2026-11-11"), "{gaps:?}");
    let told = visitor.get(&api).await.json();
    let estimated = json!([{"car": "4101", "position": "=BS1-K1",
        "last_read": "2026-11-01T08:00:00Z", "until": "2026-11-11T08:00:00Z"}]);
    assert_eq!(told["usage"][0]["estimated"], estimated);
    let limits = told["due_estimated"].as_array().unwrap().iter();
    let limits: Vec<_> = limits
        .map(|one| (&one["task"], &one["meter"], &one["estimated"]))
        .collect();
    assert_eq!(limits.len(), 2, "the limits by odometer: {limits:?}");
    assert!(limits.iter().all(|one| *one.2 == estimated), "{limits:?}");
    // It was read with less than was carried on.
    served
        .import(vec![(
            "2026-11-12T08:00:00Z".to_owned(),
            reading("4101", 632_500),
        )])
        .await;
    let after = visitor.get(&api).await.json();
    let total = |told: &serde_json::Value| told["usage"][0]["total"]["value"].as_f64().unwrap();
    assert!(total(&after) < total(&told), "{after}");
    assert_eq!(after["usage"][0]["estimated"], json!([]));
    assert_eq!(after["due_estimated"], json!([]));
    let page = visitor.get(VALVE_1).await;
    assert!(!page.text("main").contains("was last read on"));
    assert_eq!(estimated_gaps(&visitor).await, Vec::<String>::new());
    // As it was known before that reading.
    let then = format!("{api}?at=2026-11-11T12:00:00Z");
    let then = visitor.get(&then).await.json();
    assert_eq!(then["usage"][0]["estimated"], estimated, "{then}");
}

async fn a_date_that_rests_on_an_estimate_is_marked_in_the_list(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let again = fitted("1", "4101", FIRST);
    let again = ("2026-11-12T08:00:00Z".to_owned(), again);
    served.import(vec![removed(), again]).await;
    let estimated = async |query: &str| {
        let list = format!("/api/v1/due?car=4101{query}");
        let list = visitor.get(&list).await.json();
        let mut rows = list["due"].as_array().unwrap().iter();
        let row = rows.find(|row| row["task"] == "IN-DV" && row["component"]["serial"] == "1");
        row.unwrap()["limit"]["estimated"].clone()
    };
    assert_eq!(estimated("").await, true);
    assert_eq!(estimated("&at=2026-11-20T00:00:00Z").await, true);
    assert_eq!(estimated("&at=2026-11-10T00:00:00Z").await, false);
    let legend = "came off a car after the last reading of its meter";
    let page = visitor.get("/due?car=4101").await;
    assert_eq!(page.texts("td .estimated"), ["estimated"]);
    assert!(page.text("main").contains(legend));
    let file = visitor.get("/due.csv?car=4101").await;
    let lines = file.body().lines();
    let marked = lines.filter(|line| line.ends_with(",estimated"));
    assert_eq!(marked.count(), 2, "the head and one row: {}", file.body());
    let read = ("2026-11-13T08:00:00Z".to_owned(), reading("4101", 636_500));
    served.import(vec![read]).await;
    assert_eq!(estimated("").await, false);
    let page = visitor.get("/due?car=4101").await;
    assert_eq!(page.count("td .estimated"), 0);
    assert!(!page.text("main").contains(legend));
}

each_database!(
    a_date_that_rests_on_an_estimate_is_marked_in_the_list,
    a_component_that_came_in_as_history_tells_how_it_came_off_and_was_found_fit,
    what_came_off_after_the_last_reading_is_an_estimate_until_a_later_one,
);
