//! A car and a unit between two times.

use serde_json::json;
use tests::each_database;

use super::sample::{Served, VALVE};
use super::told_then::record;

async fn a_car_is_compared_between_two_times_in_the_world_and_as_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let rows = "[aria-label=\"What is different\"] tbody tr";
    // Fitted on 2026-01-01, recorded at the server's time, 2026-11-25 12:00.
    let fitted = visitor.get("/cars/4101/compare?then=2025-12-31").await;
    assert!(fitted.count(rows) > 0);
    assert!(
        fitted.texts(rows)[0].contains("fitted"),
        "{:?}",
        fitted.texts(rows)
    );
    let same = visitor.get("/cars/4101/compare?then=2026-02-01").await;
    assert_eq!(same.count(rows), 0);
    assert!(same.text("main").contains("Nothing: the same components"));
    let back = visitor.get("/cars/4101/compare?at=2025-12-31").await;
    assert!(
        back.texts(rows)[0].contains("taken off"),
        "{:?}",
        back.texts(rows)
    );
    for (path, status) in [
        ("/cars/none/compare", 404),
        ("/cars/4101/compare?then=yesterday", 422),
        // Nothing was known then.
        (
            "/cars/4101/compare?then=2026-02-01&then_known=2026-11-25+11:59",
            422,
        ),
        ("/api/v1/cars/none/compare", 404),
        ("/api/v1/cars/4101/compare?then=yesterday", 422),
        ("/api/v1/cars/4101/compare?when=2026-01-01T00:00:00Z", 422),
    ] {
        assert_eq!(visitor.get(path).await.status(), status, "{path}");
    }
    let path = "/api/v1/cars/4101/compare?then=2025-12-31T00:00:00Z";
    let answer = visitor.get(path).await.json();
    let differences = answer["differences"].as_array().unwrap();
    assert_eq!(differences.len(), fitted.count(rows));
    assert!(differences[0]["was"].is_null() && differences[0]["is"].is_object());
    // Of one time, by what was known then and by what is known now: what was recorded late.
    let off = json!({"removed": {"component": {"part": VALVE, "serial": "1"}, "reason": "access",
        "to": "Store North", "condition": "serviceable", "evidence": "inspection"}});
    record(&served, None, "2026-01-15T08:00:00Z", off).await;
    served.statements.take();
    let late = visitor
        .get("/cars/4101/compare?then=2026-02-01&then_known=2026-11-25+12:00&at=2026-02-01")
        .await;
    assert_eq!(late.count(rows), 1);
    assert_single_digit(&served, "a car as known at two times");
}

/// Another baseline, a valve that was found to leak, and a unit formed anew.
async fn changed(served: &Served) {
    let revised = {
        let view = served.store.view().await.unwrap();
        let known = view.documents.car_types.values().next().unwrap();
        let mut revised = serde_json::to_value(&*known.document).unwrap();
        revised["revision"] = json!("B");
        revised
    };
    let valve = json!({"part": "DV/210", "serial": "1"});
    let facts = [
        json!({"car_type_defined": revised}),
        json!({"revision_effective": {"car_type": "Motor car", "revision": "B",
            "cars": [{"first": "4101", "last": "4101"}], "from": "2026-11-10"}}),
        json!({"condition_judged": {"component": valve, "condition": "unserviceable",
            "evidence": "it leaks"}}),
        json!({"unit_formed": {"number": "41", "cars": [{"car": "4102", "orientation": "reversed"},
            {"car": "4101", "orientation": "reversed"}, {"car": "4201", "orientation": "forward"}]}}),
    ];
    let at = "2026-11-15T08:00:00Z".to_owned();
    served
        .import(facts.map(|fact| (at.clone(), fact)).into())
        .await;
}

fn assert_single_digit(served: &Served, path: &str) {
    let sent = served.statements.take();
    assert!(sent.len() < 10, "{path}: {sent:#?}");
}

async fn what_became_of_a_component_and_of_the_baseline_is_compared_too(url: &str) {
    let served = Served::with_fleet(url).await;
    changed(&served).await;
    let visitor = served.visitor();
    let then = "then=2026-11-01T00:00:00Z";
    let path = format!("/api/v1/cars/4101/compare?{then}");
    served.statements.take();
    let car = visitor.get(&path).await.json();
    assert_single_digit(&served, &path);
    let told = |one: &serde_json::Value| one["words"].as_str().unwrap().to_owned();
    let words: Vec<String> = car["differences"]
        .as_array()
        .unwrap()
        .iter()
        .map(told)
        .collect();
    assert_eq!(
        words,
        [
            "baseline revision B is in force and was A",
            "DV/210 serial 1 at =BS1-K1 is unserviceable and was serviceable",
        ]
    );
    let path = format!("/api/v1/units/41/compare?{then}");
    served.statements.take();
    let unit = visitor.get(&path).await.json();
    assert_single_digit(&served, &path);
    assert_eq!(
        unit["formed"],
        json!([
            "car 4102 is at place 1 and was at place 2",
            "car 4101 is at place 2 and was at place 1, and stands the other way",
            "car 4201 is at place 3 and was not in the unit",
        ])
    );
    assert_eq!(unit["cars"][1], car);
    let page = visitor.get(&format!("/units/41/compare?{then}")).await;
    assert_eq!(page.count("ul.formed li"), 3);
    assert_eq!(
        page.count("table.long tbody tr"),
        2,
        "{}",
        page.text("main")
    );
    assert!(
        page.text("table.long")
            .contains("condition of DV/210 serial 1")
    );
    for (path, status) in [
        ("/units/none/compare", 404),
        ("/units/41/compare?then=yesterday", 422),
        ("/api/v1/units/none/compare", 404),
        ("/api/v1/units/41/compare?then=yesterday", 422),
    ] {
        assert_eq!(visitor.get(path).await.status(), status, "{path}");
    }
}

each_database!(
    a_car_is_compared_between_two_times_in_the_world_and_as_known,
    what_became_of_a_component_and_of_the_baseline_is_compared_too,
);
