//! Which cars carry a part or serial numbers that begin alike, today, as at a past time, and as
//! known at one.

use domain::ledger::command::Command;
use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::facts::at;
use tests::register::person;
use uuid::Uuid;

use super::sample::Served;

async fn every_car_that_carries_it_is_listed_with_its_place(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let all = visitor.get("/carrying?part=DV%2F210").await;
    assert!(
        all.text(".carried").starts_with("3 on 2 cars"),
        "{}",
        all.text(".carried")
    );
    assert_eq!(
        all.texts("table.carrying tbody th"),
        ["4101", "4101", "4102"]
    );
    let batch = visitor.get("/carrying?part=DV%2F210&serial=3").await;
    assert!(
        batch.text(".carried").starts_with("1 on 1 car:"),
        "{}",
        batch.text(".carried")
    );
    assert_eq!(batch.texts("table.carrying tbody th"), ["4102"]);
    let stored = visitor.get("/carrying?part=DV%2F210&serial=9").await;
    assert!(stored.text(".carried").starts_with("0 on 0 cars"));
    assert_eq!(visitor.get("/carrying").await.count("table.carrying"), 0);
    let file = visitor
        .get(all.attribute(".files a", "href").unwrap())
        .await;
    assert_eq!(file.body().lines().count(), 4, "{}", file.body());
    assert!(file.header("content-type").unwrap().starts_with("text/csv"));
}

async fn a_component_is_found_by_every_plate_it_bore(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = person(Role::BrakeEngineer);
    let plate = json!({"plate_changed": {
        "component": {"part": "DV/210", "serial": "2"}, "plate": "77-5", "cause": "misread",
    }});
    served.pass(60);
    let read_again = Command {
        id: Uuid::new_v4(),
        effective_at: at("2026-11-25T12:00:30Z"),
        reason: "as read on the bench".to_owned(),
        corrects: None,
        fact: serde_json::from_value(plate).unwrap(),
    };
    let told = at("2026-11-25T12:01:00Z");
    served
        .store
        .record(planner, read_again, told)
        .await
        .unwrap();
    let visitor = served.visitor();
    let cars = async |query: &str| {
        let path = format!("/carrying?part=DV%2F210&serial={query}");
        visitor.get(&path).await.texts("table.carrying tbody th")
    };
    assert_eq!(cars("775").await, ["4101"]);
    assert_eq!(cars("2").await, ["4101"]);
    assert_eq!(cars("77&known=2026-11-25T12:00:30Z").await, [""; 0]);
}

async fn a_serial_number_that_nothing_ever_bore_is_unknown_and_no_answer(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    for path in ["/carrying", "/carrying.csv", "/api/v1/carrying"] {
        let asked = format!("{path}?part=DV%2F210&serial=78");
        let refused = visitor.get(&asked).await;
        assert_eq!(refused.status(), 422, "{asked}");
        let says = refused.body();
        assert!(
            says.contains("no component of it has ever borne one that begins so"),
            "{asked}: {says}"
        );
    }
}

async fn programs_read_which_cars_carry_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let all = visitor.get("/api/v1/carrying?part=DV%2F210").await.json();
    assert_eq!(all["found"], json!({"cars": 2, "places": 3}));
    assert_eq!(all["carried"][2]["car"], "4102");
    assert_eq!(all["next"], json!(null));
    let after = "&after_car=4101&after_position=%3DZZ";
    let rest = format!("/api/v1/carrying?part=DV%2F210{after}");
    let rest = visitor.get(&rest).await.json();
    assert_eq!(rest["carried"].as_array().unwrap().len(), 1);
    assert_eq!(rest["found"]["places"], 3);
    let before = "/api/v1/carrying?part=DV%2F210&at=2025-01-01T00:00:00Z";
    let before = visitor.get(before).await.json();
    assert_eq!(before["found"]["places"], 0);
    for wrong in [
        "",
        "?part=",
        "?part=DV%2F210&at=yesterday",
        "?part=DV%2F210&batch=3",
    ] {
        let wrong = visitor.get(&format!("/api/v1/carrying{wrong}")).await;
        assert!(matches!(wrong.status(), 400 | 422), "{}", wrong.status());
    }
}

async fn the_past_is_told_as_it_was_and_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    // Told late: valve 2 came off a month before it was recorded, which is now.
    let removed = json!({"removed": {
        "component": {"part": "DV/210", "serial": "2"},
        "reason": "recall", "to": "Store North", "condition": "quarantined",
    }});
    let late = Command {
        id: Uuid::new_v4(),
        effective_at: at("2026-10-25T12:00:00Z"),
        reason: String::new(),
        corrects: None,
        fact: serde_json::from_value(removed).unwrap(),
    };
    let engineer = person(Role::BrakeEngineer);
    served.pass(60);
    let minute_later = at("2026-11-25T12:01:00Z");
    served
        .store
        .record(engineer, late, minute_later)
        .await
        .unwrap();
    let visitor = served.visitor();
    let cars = async |query: &str| {
        let page = visitor
            .get(&format!("/carrying?part=DV%2F210&serial=2{query}"))
            .await;
        assert_eq!(page.status(), 200, "{query}");
        page.texts("table.carrying tbody th")
    };
    assert_eq!(cars("").await, [""; 0]);
    assert_eq!(cars("&at=2026-10-01T00:00:00Z").await, ["4101"]);
    assert_eq!(cars("&at=2026-11-01T00:00:00Z").await, [""; 0]);
    let known_before = "&at=2026-11-01T00:00:00Z&known=2026-11-25T12:00:30Z";
    assert_eq!(cars(known_before).await, ["4101"]);
    assert_eq!(cars("&at=2025-01-01T00:00:00Z").await, [""; 0]);
    let past = visitor
        .get("/carrying?part=DV%2F210&at=2026-10-01T00:00:00Z")
        .await;
    assert!(past.text(".caution").contains("2026-10-01"));
    let wrong = visitor.get("/carrying?part=DV%2F210&at=yesterday").await;
    assert_eq!(wrong.status(), 422);
}

async fn of_a_time_when_no_car_was_in_the_register_there_is_no_answer(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let later = "?part=DV%2F210&at=2023-12-02T00:00:00Z";
    for path in [
        "/carrying",
        "/carrying.csv",
        "/api/v1/carrying",
        "/fleet-checks/new",
    ] {
        for asked in ["part=DV%2F210", "part=DV%2F210&serial=1"] {
            let asked = format!("{path}?{asked}&at=2023-11-30T00:00:00Z");
            let refused = engineer.get(&asked).await;
            assert_eq!(refused.status(), 422, "{asked}");
            let says = refused.body();
            let expected = "a time when a car was in the register";
            assert!(says.contains(expected), "{asked}: {says}");
        }
        let told = engineer.get(&format!("{path}{later}")).await;
        assert_eq!(told.status(), 200, "{path}");
    }
    let told = engineer.get(&format!("/api/v1/carrying{later}")).await;
    assert_eq!(told.json()["found"], json!({"cars": 0, "places": 0}));
}

each_database!(
    of_a_time_when_no_car_was_in_the_register_there_is_no_answer,
    every_car_that_carries_it_is_listed_with_its_place,
    a_component_is_found_by_every_plate_it_bore,
    a_serial_number_that_nothing_ever_bore_is_unknown_and_no_answer,
    programs_read_which_cars_carry_it,
    the_past_is_told_as_it_was_and_as_it_was_known,
);
