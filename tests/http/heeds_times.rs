//! Lists that speak of a time heed it, or refuse it in words: never the answer of now for one of then.

use domain::people::Role;
use serde_json::json;
use tests::each_database;

use super::sample::Served;

const STORE: &str = "/components?location=Store%20North";

async fn what_was_in_store_is_told_as_it_was(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let serials = async |path: &str| visitor.get(path).await.texts("table.long tbody th");
    let first = async |path: &str| serials(path).await.iter().any(|serial| serial == "1");
    // Valve 1 went to car 4101 on 1 January 2026.
    assert!(!first(STORE).await);
    assert!(first(&format!("{STORE}&at=2025-06-01")).await);
    assert!(!first(&format!("{STORE}&at=2026-06-01")).await);
    assert!(first("/components?part=DV%2F210&at=2025-06-01").await);
    let nothing = visitor.get(&format!("{STORE}&at=2023-06-01")).await;
    let says = nothing.text("main");
    assert!(says.contains("Nothing was kept at Store North"), "{says}");
    let whole = visitor.get("/components?serial=1&at=2025-06-01").await;
    assert_eq!(whole.texts("table.long tbody th"), ["1"]);
    assert!(
        whole
            .text("table.long tbody td:nth-of-type(3)")
            .contains("Store North")
    );
    assert!(whole.text(".caution").contains("speaks of the past"));
    let link = whole.attribute("table.long tbody th a", "href");
    assert_eq!(link, Some("/components/DV%2F210/1?at=2025-06-01"));
    let form = whole.form("form.filters:has([name=at])");
    assert_eq!(form.values("serial"), ["1"], "asked again of another time");
    let stores = served.signed_in(Role::Stores).await;
    let past = stores.get(&format!("{STORE}&at=2025-06-01")).await;
    assert_eq!(past.count("a[href='/components/new']"), 0);
}

async fn a_modification_is_listed_from_when_it_was_issued(url: &str) {
    let served = Served::with_fleet(url).await;
    let issued = json!({"modification_issued": {"number": "M-7", "title": "another label",
        "scope": {"cars": {"car_type": "Motor car", "cars": [{"first": "4101", "last": "4199"}]}},
        "by": "2026-12-01", "source": "instruction 7"}});
    let at = "2026-05-02T08:00:00Z".to_owned();
    served.import(vec![(at, issued)]).await;
    let visitor = served.visitor();
    for (at, listed, status) in [("2026-02-01", 0, 404), ("2026-06-01", 1, 200)] {
        let page = visitor.get(&format!("/modifications?at={at}")).await;
        assert_eq!(page.count("tbody th"), listed, "{at}");
        let list = format!("/api/v1/modifications?at={at}T00:00:00Z");
        let list = visitor.get(&list).await.json();
        assert_eq!(
            list["modifications"].as_array().unwrap().len(),
            listed,
            "{at}"
        );
        let one = visitor.get(&format!("/modifications/M-7?at={at}")).await;
        assert_eq!(one.status(), status, "{at}");
        let one = format!("/api/v1/modifications/M-7?at={at}T00:00:00Z");
        assert_eq!(visitor.get(&one).await.status(), status, "{at}");
    }
}

async fn the_board_of_now_is_not_shown_for_one_of_then(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for asked in ["at=2026-02-01", "known=2026-02-01"] {
        let page = visitor.get(&format!("/isolations?{asked}")).await;
        assert_eq!(page.status(), 422, "{asked}");
        let says = page.text("main");
        assert!(
            says.contains("the board tells what is cut out now"),
            "{says}"
        );
    }
    assert_eq!(visitor.get("/isolations?at=").await.status(), 200);
}

async fn the_trains_of_now_are_not_shown_for_those_of_then(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for asked in ["at=2026-02-01", "known=2026-02-01"] {
        let page = visitor.get(&format!("/trains?{asked}")).await;
        assert_eq!(page.status(), 422, "{asked}");
        let says = page.text("main");
        assert!(says.contains("which trains are formed now"), "{says}");
    }
    assert_eq!(visitor.get("/trains?at=").await.status(), 200);
}

async fn a_list_for_programs_that_knows_no_time_refuses_one(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for path in [
        "isolations",
        "trains",
        "trains/T1",
        "fleets",
        "car-types",
        "rule-sets",
    ] {
        let path = format!("/api/v1/{path}");
        assert_eq!(visitor.get(&path).await.status(), 200, "{path}");
        for time in ["at=2026-11-01T00:00:00Z", "known=2026-11-01T00:00:00Z"] {
            let refused = visitor.get(&format!("{path}?{time}")).await;
            assert_eq!(refused.status(), 422, "{path} {time}");
        }
    }
}

/// The sample fleet is recorded at noon.
async fn before_the_register_began_nothing_was_known_which_is_said(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let says = "the register began on 2026-11-25 12:00 +00:00; nothing was known then";
    for path in [
        "/cars/4101",
        "/units/41",
        "/components/DV%2F210/1",
        "/positions/4101/%3DBS1-K1",
        "/due",
        "/departures",
        "/away",
        "/modifications",
        "/components",
    ] {
        let page = visitor
            .get(&format!("{path}?known=2026-11-25T11:59:00Z"))
            .await;
        assert_eq!(page.status(), 422, "{path}: {}", page.text("main"));
        assert!(
            page.text("main").contains(says),
            "{path}: {}",
            page.text("main")
        );
        let same = visitor
            .get(&format!("{path}?known=2026-11-25T12:00:00Z"))
            .await;
        assert!(!same.text("main").contains("began"), "{path}");
    }
    let answer = "/api/v1/cars/4101?known=2026-11-25T11:59:00Z";
    let answer = visitor.get(answer).await;
    assert_eq!(answer.status(), 422);
    assert_eq!(answer.json()["field"], "known");
    assert_eq!(answer.json()["detail"], says);
}

each_database!(
    the_board_of_now_is_not_shown_for_one_of_then,
    the_trains_of_now_are_not_shown_for_those_of_then,
    what_was_in_store_is_told_as_it_was,
    a_modification_is_listed_from_when_it_was_issued,
    a_list_for_programs_that_knows_no_time_refuses_one,
    before_the_register_began_nothing_was_known_which_is_said,
);
