//! The life of a component that was brought in as history.

use serde_json::json;
use tests::each_database;

use super::sample::Served;

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

each_database!(a_component_that_came_in_as_history_tells_how_it_came_off_and_was_found_fit);
