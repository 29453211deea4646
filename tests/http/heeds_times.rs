//! Lists that speak of a time heed it, or refuse it in words: never the answer of now for one of then.

use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::routes::{Route, routes};
use super::sample::Served;
use super::told_then::record;

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

async fn a_list_for_programs_that_knows_no_time_refuses_one(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for path in ["isolations", "fleets"] {
        let path = format!("/api/v1/{path}");
        assert_eq!(visitor.get(&path).await.status(), 200, "{path}");
        for time in ["at=2026-11-01T00:00:00Z", "known=2026-11-01T00:00:00Z"] {
            let refused = visitor.get(&format!("{path}?{time}")).await;
            assert_eq!(refused.status(), 422, "{path} {time}");
        }
    }
}

/// Pages that ask nothing yet tell nothing yet.
const ASK: [&str; 3] = ["/carrying", "/carrying.csv", "/fleet-checks/new"];

async fn no_page_takes_what_is_so_now_for_what_was_so_then(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.signed_in(Role::BrakeEngineer).await;
    let mut refused = 0;
    for Route { method, path } in routes() {
        if method != Method::GET || path.starts_with("/api/") || ASK.contains(&path.as_str()) {
            continue;
        }
        // Nothing was known then, which is told where a page tells of such times.
        let page = visitor.get(&format!("{path}?known=2023-01-01")).await;
        let status = page.status();
        assert!([404, 422].contains(&status), "{path}: {status}");
        refused += usize::from(status == 422);
    }
    assert!(refused > 40, "{refused}");
    for (path, says) in [
        ("/approvals", "this page tells of now alone"),
        ("/fleets/Sedge", "what is due and cut out in the fleet now"),
    ] {
        let page = visitor.get(&format!("{path}?at=2026-02-01")).await;
        assert_eq!(page.status(), 422, "{path}");
        assert!(page.text("main").contains(says), "{}", page.text("main"));
        assert_eq!(visitor.get(&format!("{path}?at=")).await.status(), 200);
    }
}

fn unit(number: &str, car: &str) -> Value {
    json!({"unit_formed": {"number": number, "cars": [{"car": car, "orientation": "forward"}]}})
}

async fn cars_are_listed_in_the_units_that_they_were_in(url: &str) {
    let served = Served::with_fleet(url).await;
    for (number, car) in [("41", "4101"), ("42", "4102")] {
        let at = "2026-05-02T08:00:00Z";
        record(&served, None, at, unit(number, car)).await;
    }
    let visitor = served.visitor();
    let of_4102 = "tbody tr:nth-child(2) td:nth-of-type(2)";
    for (times, expected) in [
        ("", "42 place 1"),
        ("?at=2026-11-01", "42 place 1"),
        ("?at=2026-03-01", "41 place 2"),
        ("?at=2026-11-01&known=2026-11-25T12:00:30Z", "41 place 2"),
        ("?at=2026-11-01&known=2026-11-25T12:01:30Z", "in no unit"),
    ] {
        let page = visitor.get(&format!("/cars{times}")).await;
        assert_eq!(page.text(of_4102), expected, "{times}");
    }
    let past = visitor.get("/cars?at=2026-03-01").await;
    assert!(past.text(".caution").contains("speaks of the past"));
    let links = past.attributes("tbody tr:nth-child(2) a", "href");
    assert_eq!(
        links[..2],
        ["/cars/4102?at=2026-03-01", "/units/41?at=2026-03-01"]
    );
    let answer = visitor.get("/api/v1/cars?at=2026-03-01T00:00:00Z").await;
    let answer = answer.json();
    assert_eq!(answer["at"], "2026-03-01T00:00:00Z");
    assert_eq!(
        (&answer["cars"][1]["unit"], &answer["cars"][1]["place"]),
        (&json!("41"), &json!(2))
    );
    let now = visitor.get("/api/v1/cars").await.json();
    assert_eq!(now["cars"][1]["unit"], "42");
}

async fn a_car_is_in_its_unit_of_then_and_is_not_told_of_before_it_was_registered(url: &str) {
    let served = Served::with_fleet(url).await;
    for (number, car) in [("41", "4101"), ("42", "4102")] {
        let at = "2026-05-02T08:00:00Z";
        record(&served, None, at, unit(number, car)).await;
    }
    let visitor = served.visitor();
    for (day, number) in [("2026-03-01", "41"), ("2026-11-01", "42")] {
        let page = visitor.get(&format!("/cars/4102?at={day}")).await;
        let of_unit = page.attribute(".trail a[href^='/units/']", "href");
        assert_eq!(of_unit, Some(&*format!("/units/{number}?at={day}")));
        let at = format!("at={day}T00:00:00Z");
        let car = visitor.get(&format!("/api/v1/cars/4102?{at}")).await.json();
        assert_eq!(car["car"]["unit"], number, "{day}");
        let due = visitor.get(&format!("/api/v1/due?car=4102&{at}")).await;
        assert_eq!(due.json()["due"][0]["unit"], number, "{day}");
    }
    let before = "at=2023-11-30T00:00:00Z";
    for (path, status) in [
        ("/api/v1/cars/4102", 404),
        ("/cars/4102", 404),
        ("/api/v1/units/41", 404),
        ("/units/41", 404),
        ("/api/v1/departures?car=4102", 422),
        ("/due?car=4102", 422),
        ("/due.csv?unit=41", 422),
    ] {
        let sign = if path.contains('?') { '&' } else { '?' };
        let page = visitor.get(&format!("{path}{sign}{before}")).await;
        assert_eq!(page.status(), status, "{path}");
    }
    let page = visitor.get("/cars/4102?at=2023-11-30").await;
    assert!(
        page.text("main")
            .contains("car 4102 is not in the register")
    );
    let none = visitor.get(&format!("/api/v1/cars?{before}")).await.json();
    assert_eq!(none["cars"], json!([]));
}

async fn car_types_are_listed_by_the_baseline_of_the_day(url: &str) {
    let served = Served::with_fleet(url).await;
    let mut design = {
        let view = served.store.view().await.unwrap();
        let known = view.documents.car_types.values().next().unwrap();
        known.document.as_ref().clone()
    };
    design.revision = "B".parse().unwrap();
    let defined = json!({"car_type_defined": design});
    record(&served, None, "2026-05-02T08:00:00Z", defined).await;
    let force = json!({"revision_effective": {"car_type": "Motor car", "revision": "B",
        "cars": [{"first": "4101", "last": "4101"}], "from": "2026-06-01"}});
    record(&served, None, "2026-05-02T08:00:00Z", force).await;
    let visitor = served.visitor();
    for (times, cars) in [
        ("", &["2", "1"][..]),
        ("?at=2026-05-31", &["3", "0"]),
        ("?at=2026-06-01", &["2", "1"]),
        ("?at=2026-06-01&known=2026-11-25T12:01:30Z", &["3", "0"]),
        ("?known=2026-11-25T12:00:30Z", &["3"]),
    ] {
        let page = visitor.get(&format!("/car-types{times}")).await;
        assert_eq!(page.texts("tbody td:nth-of-type(5)"), cars, "{times}");
        let times = times.replace("2026-05-31", "2026-05-31T00:00:00Z");
        let times = times.replace("2026-06-01", "2026-06-01T00:00:00Z");
        let answer = visitor
            .get(&format!("/api/v1/car-types{times}"))
            .await
            .json();
        assert_eq!(answer.as_array().unwrap().len(), cars.len(), "{times}");
    }
    let path = "/car-types/Motor%20car/B";
    let known = visitor
        .get(&format!("{path}?known=2026-11-25T12:01:30Z"))
        .await;
    assert!(known.text("#force + p").contains("not put in force"));
    let unknown = visitor
        .get(&format!("{path}?known=2026-11-25T12:00:30Z"))
        .await;
    assert_eq!(unknown.status(), 404);
    let circuit = format!("/api/v1{path}/circuit");
    for (known, status) in [("", 200), ("?known=2026-11-25T12:00:30Z", 404)] {
        let answer = visitor.get(&format!("{circuit}{known}")).await;
        assert_eq!(answer.status(), status, "{known}");
    }
}

async fn rule_sets_stand_as_they_stood_on_the_day(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let now = visitor.get("/rule-sets").await;
    let all = now.count("tbody tr");
    assert_eq!(now.count("tbody td strong"), all, "all in force");
    let then = visitor.get("/rule-sets?at=1990-01-01").await;
    assert_eq!(then.count("tbody td strong"), 0);
    let stand = then.texts("tbody td:nth-of-type(2)");
    assert_eq!(stand.len(), all);
    assert!(
        stand.iter().all(|one| one.starts_with("in force from ")),
        "{stand:?}"
    );
    let one = then.attributes("tbody th a", "href")[0].to_owned();
    assert!(one.ends_with("?at=1990-01-01"), "{one}");
    let page = visitor.get(&one).await;
    assert!(page.text(".caution").contains("speaks of the past"));
    assert!(page.text("main").contains("in force from "));
    let one = one.replace("1990-01-01", "1990-01-01T00:00:00Z");
    let answer = visitor.get(&format!("/api/v1{one}")).await.json();
    let standing = answer["issued"]["standing"].as_str().unwrap();
    assert!(standing.starts_with("in force from "), "{standing}");
    let list = "/api/v1/rule-sets?at=1990-01-01T00:00:00Z";
    let list = visitor.get(list).await.json();
    assert_eq!(list[0]["standing"], standing);
}

/// What the odometer of car 4101 showed last, on its page as known at a time.
async fn shown(visitor: &Visitor, known: &str) -> (String, String) {
    let known = known.replace(' ', "%20").replace('+', "%2B");
    let page = visitor.get(&format!("/cars/4101?known={known}")).await;
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    (
        page.text("table.meters tbody tr:first-child td:first-of-type"),
        page.texts(".caution").swap_remove(0),
    )
}

async fn entries_of_one_minute_are_told_apart_by_their_seconds(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    for (seconds, value) in [(20, "640000"), (15, "640000.1")] {
        served.pass(seconds);
        let form = planner.get("/cars/4101").await.form("#readings form");
        assert_eq!(
            planner.submit(&form.fill("value", value)).await.status(),
            200
        );
    }
    let visitor = served.visitor();
    let last = served.store.view().await.unwrap().last_entry;
    let entry = visitor.get(&format!("/ledger/{last}")).await;
    let recorded = entry.fact("Recorded at");
    assert_eq!(recorded, "2026-11-25 12:00:35 +00:00");
    for (known, km) in [
        ("2026-11-25 12:00:19", "632,000 km"),
        ("2026-11-25 12:00:20", "640,000 km"),
        ("2026-11-25T12:00:34Z", "640,000 km"),
        (recorded.as_str(), "640,000.1 km"),
    ] {
        let (last, says) = shown(&visitor, known).await;
        assert_eq!(last, km, "{known}");
        assert!(
            says.contains("as the register knew it at 2026-11-25 12:00:"),
            "{says}"
        );
    }
    assert_eq!(visitor.get("/ledger").await.texts("td.moment")[0], recorded);
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
    what_was_in_store_is_told_as_it_was,
    a_modification_is_listed_from_when_it_was_issued,
    a_list_for_programs_that_knows_no_time_refuses_one,
    no_page_takes_what_is_so_now_for_what_was_so_then,
    cars_are_listed_in_the_units_that_they_were_in,
    a_car_is_in_its_unit_of_then_and_is_not_told_of_before_it_was_registered,
    car_types_are_listed_by_the_baseline_of_the_day,
    rule_sets_stand_as_they_stood_on_the_day,
    entries_of_one_minute_are_told_apart_by_their_seconds,
    before_the_register_began_nothing_was_known_which_is_said,
);
