//! Assemblies: what is inside a component, seen and recorded from its page and from that of a
//! place on a car.

use domain::circuit::Circuit;
use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::{FIRST, SECOND, Served, VALVE};

const PANEL: &str = "/components/BP%2F20/1";
const VALVE_9: &str = "/components/DV%2F210/9";
const PANEL_PLACE: &str = "/positions/4101/%3DBS-P1";
const INNER_PLACE: &str = "/positions/4101/%3DBS-P1-K1";

fn facts() -> Vec<(String, Value)> {
    let position = |code: &str, kind: &str, approved: &[&str]| json!({"code": code, "title": kind, "kind": kind, "along_mm": 5_000, "approved": approved});
    let facts = [
        json!({"part_defined": {"number": "BP/20", "title": "brake control panel",
        "kind": "control_panel", "positions": [
            {"code": "-K1", "title": "valve of the panel", "kind": "distributor_valve", "approved": [VALVE]},
            {"code": "-Q1", "title": "cock of the panel", "kind": "isolating_cock", "approved": []},
        ]}}),
        json!({"car_type_defined": {
        "name": "Motor car", "revision": "P", "fleet": "Sedge", "title": "with a panel",
        "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140,
        "daily_km_max": 1_000, "bogies": [], "masses": [], "braked_weights": [],
        "circuit": Circuit::default(), "positions": [
            position(FIRST, "distributor_valve", &[VALVE]),
            position(SECOND, "distributor_valve", &[VALVE]),
            position("=BS-P1", "control_panel", &["BP/20"]),
        ]}}),
        json!({"car_registered": {"number": "4101", "car_type": "Motor car", "revision": "P",
            "fleet": "Sedge", "depot": "North"}}),
        json!({"component_received": {"component": {"part": "BP/20", "serial": "1"},
            "condition": "serviceable", "location": "Store North", "brought": {"odometer": 0}}}),
    ];
    facts
        .map(|fact| ("2024-01-01T08:00:00Z".to_owned(), fact))
        .into()
}

async fn with_panel(url: &str) -> (Served, Visitor) {
    let served = Served::with_fleet(url).await;
    served.import(facts()).await;
    let technician = served.signed_in(Role::Technician).await;
    (served, technician)
}

async fn fit_inside(technician: &Visitor, serial: &str) {
    let form = technician.get(PANEL).await.form("#fit form");
    let form = form.fill("position", "-K1").fill("serial", serial);
    let form = form.fill("at", "2026-02-01 08:00");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!(page.path(), PANEL);
}

async fn fit_panel(technician: &Visitor) {
    let form = technician.get(PANEL_PLACE).await.form("#fit form");
    let form = form.fill("serial", "1").fill("part", "BP/20");
    let form = form.fill("at", "2026-03-01 08:00");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!(page.path(), PANEL_PLACE);
}

async fn what_is_inside_is_listed_with_what_is_vacant(url: &str) {
    let (_served, technician) = with_panel(url).await;
    let page = technician.get(PANEL).await;
    assert!(
        page.text(".caution")
            .contains("2 of 2 positions are vacant")
    );
    fit_inside(&technician, "9").await;
    let page = technician.get(PANEL).await;
    let rows = page.texts("table.contents tbody tr");
    assert_eq!(rows.len(), 2);
    assert!(
        rows[0].contains("-K1") && rows[0].contains("DV/210 serial 9"),
        "{rows:?}"
    );
    assert!(rows[1].contains("vacant"), "{rows:?}");
    let state = page.texts("table.contents .state");
    assert_eq!(state, ["overdue"], "the test of the valve, made in 2019");
    let places = page.form("#fit form");
    assert_eq!(
        places.values("position"),
        ["-Q1"],
        "only what is vacant is offered"
    );
    let valve = technician.get(VALVE_9).await;
    let way = "inside, at -K1 of BP/20 serial 1, which is at Store North";
    assert!(
        valve.fact("Where").starts_with(way),
        "{}",
        valve.fact("Where")
    );
    assert_eq!(valve.count("#relocate"), 0, "it is where its panel is");
}

async fn a_panel_brings_its_valve_to_the_pages_of_the_car(url: &str) {
    let (_served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    fit_panel(&technician).await;
    let car = technician.get("/cars/4101").await;
    let codes = car.texts("table.long tbody th a.code");
    let place = codes.iter().position(|code| code == "=BS-P1").unwrap();
    assert_eq!(
        codes[place..=place + 2],
        ["=BS-P1", "=BS-P1-K1", "=BS-P1-Q1"]
    );
    let found = technician.get("/find?q=4101+%3DBS-P1-K1").await;
    assert_eq!(found.path(), INNER_PLACE);
    assert_eq!(found.text(".fitted-now"), "DV/210 serial 9");
    assert!(
        found
            .text("main")
            .contains("Inside the assembly at =BS-P1, now BP/20 serial 1")
    );
    let valve = technician.get(VALVE_9).await;
    assert!(
        valve
            .fact("Where")
            .starts_with("fitted at =BS-P1-K1 of car 4101")
    );
    let due = technician.get("/due?car=4101").await;
    assert!(due.text("table.due").contains("=BS-P1-K1"));
}

async fn an_inner_valve_is_exchanged_from_the_place_on_the_car(url: &str) {
    let (_served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    fit_panel(&technician).await;
    let form = technician.get(INNER_PLACE).await.form("#remove form");
    let page = technician
        .submit_and_agree(&form.fill("why", "due").fill("to", "Workshop"))
        .await;
    let form = page.form("#fit form").fill("serial", "10");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!((page.status(), page.path()), (200, INNER_PLACE));
    assert_eq!(page.text(".fitted-now"), "DV/210 serial 10");
    let panel = technician.get(PANEL).await;
    assert!(panel.text("table.contents").contains("DV/210 serial 10"));
    assert!(
        technician
            .get(VALVE_9)
            .await
            .fact("Where")
            .starts_with("Workshop")
    );
}

async fn a_valve_moves_out_of_a_panel_and_back_by_the_full_code(url: &str) {
    let (_served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    fit_panel(&technician).await;
    for (month, car, position, place) in [
        (4, "4102", SECOND, "fitted at =BS2-K1 of car 4102"),
        (5, "4101", "=BS-P1-K1", "fitted at =BS-P1-K1 of car 4101"),
    ] {
        let form = technician.get(VALVE_9).await.form("#move form");
        let form = form.fill("car", car).fill("position", position);
        let form = form.fill("why", "access");
        let form = form.fill("at", &format!("2026-0{month}-01 08:00"));
        let page = technician.submit_and_agree(&form).await;
        assert_eq!(page.path(), VALVE_9);
        assert!(
            page.fact("Where").starts_with(place),
            "{}",
            page.fact("Where")
        );
    }
    // Without a car, the assembly is named by its plate.
    let form = technician.get(VALVE_9).await.form("#remove form");
    let form = form.fill("at", "2026-06-01 08:00").fill("why", "due");
    let page = technician
        .submit_and_agree(&form.fill("to", "Workshop"))
        .await;
    assert!(page.fact("Where").starts_with("Workshop"));
    let form = technician
        .get("/components/DV%2F210/1")
        .await
        .form("#move form");
    let form = form
        .fill("why", "access")
        .fill("assembly_serial", "1")
        .fill("assembly_part", "BP/20");
    let page = technician
        .submit_and_agree(&form.fill("position", "-K1"))
        .await;
    let place = "fitted at =BS-P1-K1 of car 4101";
    assert!(
        page.fact("Where").starts_with(place),
        "{}",
        page.fact("Where")
    );
}

async fn what_comes_off_a_car_came_there_with_its_panel_before(url: &str) {
    let (served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    fit_panel(&technician).await;
    let last = served.store.view().await.unwrap().last_entry;
    // Between the two the valve was in the panel, and that was in store.
    let form = technician.get(INNER_PLACE).await.form("#remove form");
    let form = form.fill("why", "due").fill("to", "Workshop");
    let form = form.fill("at", "2026-02-15 08:00");
    let page = technician.submit(&form).await;
    assert_eq!(page.status(), 422);
    let refusal = page.text("#remove .refusal");
    assert!(
        refusal.contains("DV/210 serial 9 removed from =BS-P1-K1 of car 4101"),
        "{refusal}"
    );
    let by = page.attribute("#remove .refusal a", "href").unwrap();
    let entry = technician.get(by).await;
    assert!(entry.text("h1").contains("BP/20 serial 1"), "{by}");
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    // It can have been taken out of the panel.
    let form = technician.get(VALVE_9).await.form("#remove form");
    let form = form.fill("why", "due").fill("to", "Workshop");
    let form = form.fill("at", "2026-02-15 08:00");
    let page = technician.submit_and_agree(&form).await;
    assert!(page.fact("Where").starts_with("Workshop"));
    let place = technician.get(INNER_PLACE).await;
    assert_eq!(place.count(".fitted-now"), 0);
}

/// The panel of car 4101 moves to the same place of the other.
async fn move_panel(served: &Served, technician: &Visitor) {
    let other = json!({"car_registered": {"number": "4102", "car_type": "Motor car", "revision": "P",
        "fleet": "Sedge", "depot": "North"}});
    let at = "2024-01-01T08:00:00Z".to_owned();
    served.import(vec![(at, other)]).await;
    let form = technician.get(PANEL).await.form("#move form");
    let form = form
        .fill("car", "4102")
        .fill("position", "=BS-P1")
        .fill("why", "access");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!(page.path(), PANEL);
    let came = page.texts("table.fitments tbody tr:first-child td")[0].clone();
    assert!(came.contains("from =BS-P1 of car 4101"), "{came}");
}

async fn pages_and_answers_of_assemblies_cost_a_handful_of_statements(url: &str) {
    let (served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    fit_panel(&technician).await;
    move_panel(&served, &technician).await;
    for address in [PANEL, VALVE_9, INNER_PLACE, "/cars/4101"] {
        served.visitor().get(address).await;
        served.statements.take();
        served.visitor().get(address).await;
        let sent = served.statements.take();
        let sent: Vec<_> = sent.iter().filter(|sent| sent.contains("from")).collect();
        assert!(sent.len() <= 9, "{address}: {sent:#?}");
    }
}

async fn what_was_inside_what_was_held_then_costs_one_statement_however_much_was(url: &str) {
    let (served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    let held = [("BP/20", "1"), (VALVE, "1"), (VALVE, "2")].map(|(part, serial)| {
        let held = json!({"component": {"part": part, "serial": serial}});
        let fact = json!({"held_as_evidence": {
            "held": held, "investigation": "collision at Sedge Junction (invented)"}});
        ("2026-11-24T08:00:00Z".to_owned(), fact)
    });
    served.import(held.into()).await;
    let path = "/api/v1/holds?at=2026-11-24T12:00:00Z";
    technician.get(path).await;
    served.statements.take();
    let told = technician.get(path).await.json();
    let sent = served.statements.take();
    let sent: Vec<_> = sent
        .iter()
        .filter(|sent| sent.contains("inner_fitment"))
        .collect();
    assert_eq!(sent.len(), 1, "{sent:#?}");
    let inside: Vec<&Value> = told
        .as_array()
        .unwrap()
        .iter()
        .map(|hold| &hold["inside"])
        .collect();
    let valve = json!([{"part": VALVE, "serial": "9"}]);
    assert_eq!(inside, [&valve, &json!([]), &json!([])]);
}

async fn the_interface_tells_what_is_inside_what(url: &str) {
    let (served, technician) = with_panel(url).await;
    fit_inside(&technician, "9").await;
    let visitor = served.visitor();
    let panel = visitor.get("/api/v1/components/BP%2F20/1").await.json();
    let content = &panel["contents"][0];
    assert_eq!(content["component"], json!({"part": VALVE, "serial": "9"}));
    assert_eq!(content["at"]["position"], "-K1");
    let valve = visitor.get("/api/v1/components/DV%2F210/9").await.json();
    let host = json!({"part": "BP/20", "serial": "1"});
    assert_eq!(valve["inside"][0]["host"], host);
    assert_eq!(valve["location"], Value::Null);
}

/// Panel 1 is longer in the register, and lacks its valve.
async fn what_is_not_complete_is_offered_last_and_says_what_it_lacks(url: &str) {
    let served = Served::with_fleet(url).await;
    let mut facts = facts();
    for (_, fact) in &mut facts {
        if let Some(part) = fact.get_mut("part_defined") {
            part["positions"][0]["vacancy"] = json!("forbidden");
        }
    }
    let panel = |serial: &str| json!({"part": "BP/20", "serial": serial});
    let mut add = |fact: Value| facts.push(("2024-01-02T08:00:00Z".to_owned(), fact));
    add(json!({"component_received": {"component": panel("2"),
        "condition": "serviceable", "location": "Store North"}}));
    add(
        json!({"fitted": {"component": {"part": VALVE, "serial": "9"},
        "host": panel("2"), "position": "-K1"}}),
    );
    served.import(facts).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(PANEL_PLACE).await;
    let offered = page.texts("table:has(a[href$='#fit']) tbody th");
    assert_eq!(offered, ["BP/20 serial 2", "BP/20 serial 1"]);
    let choices = page.attributes("a[href$='#fit']", "href");
    assert_eq!(choices.len(), 1, "{choices:?}");
    assert!(choices[0].contains("serial=2"), "{choices:?}");
    let lacks = page.text("table:has(a[href$='#fit']) .lacking");
    assert_eq!(lacks, "not complete: nothing at -K1 inside it");
}

each_database!(
    what_is_not_complete_is_offered_last_and_says_what_it_lacks,
    what_is_inside_is_listed_with_what_is_vacant,
    a_panel_brings_its_valve_to_the_pages_of_the_car,
    an_inner_valve_is_exchanged_from_the_place_on_the_car,
    a_valve_moves_out_of_a_panel_and_back_by_the_full_code,
    what_comes_off_a_car_came_there_with_its_panel_before,
    pages_and_answers_of_assemblies_cost_a_handful_of_statements,
    what_was_inside_what_was_held_then_costs_one_statement_however_much_was,
    the_interface_tells_what_is_inside_what,
);
