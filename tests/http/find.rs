//! One field finds a car, a unit, a train, a component or a position.

use serde_json::json;
use tests::each_database;

use super::sample::Served;

async fn what_names_one_thing_leads_to_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let plate = json!({"component_received": {
        "component": {"part": "DV/210", "serial": "AB-12 3"}, "condition": "serviceable",
        "location": "Store South",
    }});
    let numbered = json!({"car_registered": {
        "number": "X1", "car_type": "Motor car", "revision": "A", "fleet": "Fern",
        "depot": "South", "vehicle_number": "21 81 2471 217-3",
    }});
    let at = "2024-01-01T08:00:00Z";
    served
        .import(vec![(at.to_owned(), plate), (at.to_owned(), numbered)])
        .await;
    let visitor = served.visitor();
    for (typed, path) in [
        ("4101", "/cars/4101"),
        (" 4101 ", "/cars/4101"),
        ("x1", "/cars/X1"),
        ("218124712173", "/cars/X1"),
        ("ab12-3", "/components/DV%2F210/AB-12%203"),
        ("4101 =bs1-k1", "/positions/4101/%3DBS1-K1"),
    ] {
        let page = visitor.get(&format!("/find?q={}", encoded(typed))).await;
        assert_eq!((page.status(), page.path()), (200, path), "{typed}");
    }
}

async fn what_names_several_things_lists_them_all(url: &str) {
    let served = Served::with_fleet(url).await;
    // Unit 41 and the valve with serial number 41.
    let page = served.visitor().get("/find?q=41").await;
    let listed = page.texts(".found li");
    assert_eq!(listed.len(), 2, "{listed:?}");
    assert_eq!(listed[0], "unit 41");
    assert!(
        listed[1].starts_with("component DV/210 serial 41 distributor valve"),
        "{listed:?}"
    );
    let told = served.visitor().get("/api/v1/find?q=41").await.json();
    assert_eq!(told["misread"], false);
    let unit = json!({"kind": "unit", "name": "41", "page": "/units/41", "beside": ""});
    assert_eq!(told["found"][0], unit);
    let valve = &told["found"][1];
    assert_eq!(valve["name"], "DV/210 serial 41");
    assert_eq!(valve["page"], "/components/DV%2F210/41");
    let beside = valve["beside"].as_str().unwrap();
    assert!(beside.contains("serviceable, "), "{beside}");
}

async fn a_list_of_one_serial_number_tells_car_and_position(url: &str) {
    let served = Served::with_fleet(url).await;
    let part = json!({"part_defined": {"number": "SV/9", "title": "filter", "kind": "filter"}});
    let other = json!({"component_received": {
        "component": {"part": "SV/9", "serial": "1"}, "condition": "serviceable",
        "location": "Store South",
    }});
    let at = "2024-01-01T08:00:00Z";
    served
        .import(vec![(at.to_owned(), part), (at.to_owned(), other)])
        .await;
    let page = served.visitor().get("/find?q=1").await;
    let listed = page.texts(".found li");
    let fitted = listed.iter().find(|line| line.contains("DV/210"));
    let fitted = fitted.unwrap();
    assert!(fitted.contains("fitted at =BS1-K1 of car 4101"), "{fitted}");
    let kept = listed.iter().find(|line| line.contains("SV/9")).unwrap();
    assert!(kept.ends_with("serviceable, Store South"), "{kept}");
    let stock = served.visitor().get("/components?serial=1").await;
    let row = stock.text("tbody tr:has(a[href='/components/DV%2F210/1'])");
    assert!(row.contains("fitted at =BS1-K1 of car 4101"), "{row}");
}

async fn parts_tests_locations_and_part_with_serial_are_found(url: &str) {
    let served = Served::with_fleet(url).await;
    let component = json!({"component_received": {
        "component": {"part": "DV/210", "serial": "AO-1I7"}, "condition": "serviceable",
        "location": "Store South",
    }});
    let at = "2024-01-01T08:00:00Z";
    served.import(vec![(at.to_owned(), component)]).await;
    let visitor = served.visitor();
    for (typed, path) in [
        ("DV/210", "/components?part=DV%2F210"),
        ("dv/210", "/components?part=DV%2F210"),
        ("DV/210 ao1i7", "/components/DV%2F210/AO-1I7"),
        ("DV/210 serial AO-1I7", "/components/DV%2F210/AO-1I7"),
        ("store south", "/components?location=Store%20South"),
    ] {
        let page = visitor.get(&format!("/find?q={}", encoded(typed))).await;
        assert_eq!((page.status(), page.path()), (200, path), "{typed}");
    }
    let stock = visitor.get("/find?q=DV/210").await;
    assert!(stock.text("caption").contains("In stock of part DV/210"));
    assert!(stock.texts("tbody th").contains(&"AO-1I7".to_owned()));
    assert!(stock.text("tbody").contains("Store South"));
}

async fn concessions_modifications_and_tests_are_found_by_their_numbers(url: &str) {
    let served = Served::with_fleet(url).await;
    let part = json!({"part_defined": {"number": "DV/200", "title": "earlier valve",
        "kind": "distributor_valve"}});
    let concession = json!({"concession_granted": {"number": "C-7",
        "cars": [{"first": "4102", "last": "4102"}], "position": "=BS2-K1", "part": "DV/200",
        "reason": "until stock arrives", "until": "2026-12-31"}});
    let procedure = json!({"procedure_defined": {
        "code": "P-1", "revision": "A", "title": "bench test", "applies_to": {"part": "DV/210"},
        "source": "invented for the tests", "task": "TS-DV", "measurands": [{"name": "pressure",
        "unit": "bar", "role": "result", "bounds": {"lower": "3", "upper": "4"}}]}});
    let tested = json!({"test_recorded": {
        "id": "T-1", "subject": {"component": {"part": "DV/210", "serial": "9"}},
        "procedure": "P-1", "revision": "A", "at": "2026-11-20T08:00:00Z", "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "pressure", "value": "3.5"}]}});
    let modification = json!({"modification_issued": {"number": "M-7", "title": "another label",
        "scope": {"cars": {"car_type": "Motor car", "cars": [{"first": "4101", "last": "4199"}]}},
        "by": "2026-12-31", "source": "instruction 7"}});
    let at = "2026-11-20T08:00:00Z".to_owned();
    let facts = [part, concession, modification, procedure, tested];
    let facts = facts.map(|fact| (at.clone(), fact));
    served.import(facts.into()).await;
    let visitor = served.visitor();
    for (typed, path) in [
        ("C-7", "/concessions/C-7"),
        ("c-7", "/concessions/C-7"),
        ("M-7", "/modifications/M-7"),
        (" m-7 ", "/modifications/M-7"),
        ("T-1", "/test-records/T-1"),
        ("t-1", "/test-records/T-1"),
    ] {
        let page = visitor.get(&format!("/find?q={}", encoded(typed))).await;
        assert_eq!((page.status(), page.path()), (200, path), "{typed}");
    }
    let told = visitor.get("/api/v1/find?q=m-7").await.json();
    let modification = json!({"kind": "modification", "name": "M-7",
        "page": "/modifications/M-7", "beside": "another label"});
    assert_eq!(told["found"], json!([modification]));
}

async fn a_misread_serial_number_is_found_and_said_to_be(url: &str) {
    let served = Served::with_fleet(url).await;
    let component = json!({"component_received": {
        "component": {"part": "DV/210", "serial": "AO-1I7"}, "condition": "serviceable",
        "location": "Store South",
    }});
    let at = "2024-01-01T08:00:00Z";
    served.import(vec![(at.to_owned(), component)]).await;
    let visitor = served.visitor();
    for typed in ["a0-117", "AOII7", "DV/210 A0117"] {
        let page = visitor.get(&format!("/find?q={}", encoded(typed))).await;
        assert_eq!(page.status(), 200);
        assert!(
            page.text("[role=status]")
                .contains("by taking O and 0, and I and 1"),
            "{typed}"
        );
        let found = page.text(".found li");
        assert!(
            found.starts_with("component DV/210 serial AO-1I7"),
            "{found}"
        );
        assert!(found.ends_with("serviceable, Store South"), "{found}");
    }
}

async fn a_position_without_its_car_is_asked_for_the_car(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/find?q=%3DBS1-K1").await;
    assert_eq!(page.texts("tbody th"), ["Motor car revision A"]);
    let form = page.form("main form").fill("car", "4102");
    assert_eq!(
        visitor.submit(&form).await.path(),
        "/positions/4102/%3DBS1-K1"
    );
}

async fn what_names_nothing_says_what_to_do_next(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/find?q=%3Cb%3EO5").await;
    assert_eq!(page.status(), 200);
    assert!(
        page.text("[role=status]").contains("“<b>O5”"),
        "as typed, and no HTML"
    );
    assert_eq!(page.count("a[href='/components?serial=%3Cb%3EO5']"), 1);
    let empty = visitor.get("/find").await;
    assert!(empty.text("main").contains("What can be found"));
}

fn encoded(text: &str) -> String {
    text.replace(' ', "%20").replace('=', "%3D")
}

each_database!(
    a_list_of_one_serial_number_tells_car_and_position,
    what_names_one_thing_leads_to_it,
    what_names_several_things_lists_them_all,
    parts_tests_locations_and_part_with_serial_are_found,
    concessions_modifications_and_tests_are_found_by_their_numbers,
    a_misread_serial_number_is_found_and_said_to_be,
    a_position_without_its_car_is_asked_for_the_car,
    what_names_nothing_says_what_to_do_next,
);
