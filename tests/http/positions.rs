//! Positions: what belongs there, fitting by scan, removing, and what the register refuses.

use domain::people::Role;
use serde_json::json;
use tests::each_database;

use super::sample::{Served, VALVE};
use super::told_then::record;

const FILLED: &str = "/positions/4101/%3DBS1-K1";
const EMPTY: &str = "/positions/4102/%3DBS2-K1";

/// Beside the valves of the sample: one with a plate that is typed in many ways.
async fn with_long_plate(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let receipt = json!({"component_received": {
        "component": {"part": VALVE, "serial": "AB-12 3"}, "condition": "serviceable",
        "location": "Store South",
    }});
    served
        .import(vec![("2024-01-01T08:00:00Z".to_owned(), receipt)])
        .await;
    served
}

async fn a_position_says_what_belongs_there_and_what_is_fitted(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get(FILLED).await;
    assert_eq!(page.text("h1"), "=BS1-K1 of car 4101");
    assert_eq!(page.text(".fitted-now"), "DV/210 serial 1");
    assert_eq!(page.fact("Kind"), "distributor valve");
    assert_eq!(page.fact("Place"), "5.0 m from end 1");
    assert_eq!(page.fact("Approved parts"), "DV/210distributor valve");
    assert_eq!(page.fact("Also called"), "no other name recorded");
    let cock = served.visitor().get("/positions/4101/%3DBS1-Q1").await;
    assert!(cock.text("main").contains("none: nothing may be fitted"));
    for unknown in ["/positions/4101/%3DBS9-Q9", "/positions/9999/%3DBS1-K1"] {
        assert_eq!(served.visitor().get(unknown).await.status(), 404);
    }
}

async fn a_component_is_fitted_by_its_serial_number_however_it_is_typed(url: &str) {
    let served = with_long_plate(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(EMPTY).await;
    assert!(page.text("main").contains("Nothing is fitted here"));
    let form = page.form("#fit form").fill("serial", "ab123");
    // Nobody said when it was made: when its overhaul is due cannot be told, and that comes first.
    let page = technician.submit(&form).await;
    assert!(page.text("#fit .caution").contains("Not yet recorded"));
    let standing = page.texts("#fit .standing-work tbody tr");
    assert!(standing[0].contains("unknown"), "{standing:?}");
    let page = technician.submit(&page.form("#fit form")).await;
    assert_eq!((page.status(), page.path()), (200, EMPTY));
    assert_eq!(page.text(".fitted-now"), "DV/210 serial AB-12 3");
    let component = technician.get("/components/DV%2F210/AB-12%203").await;
    assert!(component.text("main").contains("=BS2-K1 of car 4102"));
}

async fn what_is_in_stock_is_offered_and_can_be_chosen(url: &str) {
    let served = Served::with_fleet(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let page = stores.get(EMPTY).await;
    let links = page.count("a[href$='#fit']");
    assert_eq!(links, 12, "some of what is in stock");
    let chosen = stores.get(&format!("{EMPTY}?part=DV%2F210&serial=4")).await;
    let form = chosen.form("#fit form");
    assert_eq!(
        (form.values("serial"), form.values("part")),
        (vec!["4"], vec![VALVE])
    );
    let standing = page.count("tr:has(a[href$='#fit']) .state");
    assert_eq!(standing, 12, "how the work on each stands");
    let page = stores.submit_and_agree(&form).await;
    assert_eq!(page.text(".fitted-now"), "DV/210 serial 4");
}

async fn a_plate_that_names_nothing_is_said_beside_the_field(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let last = served.store.view().await.unwrap().last_entry;
    let form = technician.get(EMPTY).await.form("#fit form");
    let page = technician.submit(&form.clone().fill("serial", "999")).await;
    assert_eq!(page.status(), 422);
    assert!(
        page.text("#fit .wrong")
            .contains("no component in the register")
    );
    assert_eq!(page.attribute("#fit-serial", "value"), Some("999"));
    let part = form.fill("serial", "999").fill("part", VALVE);
    let page = technician.submit(&part).await;
    assert!(page.text("#fit .refusal").contains("not in the register"));
    let bad_time = page
        .form("#fit form")
        .fill("serial", "4")
        .fill("at", "yesterday");
    let page = technician.submit(&bad_time).await;
    assert!(page.text("#fit .wrong").contains("2026-03-31 10:15"));
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
}

async fn a_plate_of_several_parts_that_do_not_belong_here_is_said(url: &str) {
    let served = Served::with_fleet(url).await;
    let mut facts = Vec::new();
    for part in ["P1", "P2"] {
        facts.push(json!({"part_defined": {"number": part, "title": "hose", "kind": "hose"}}));
        facts.push(json!({"component_received": {
            "component": {"part": part, "serial": "H-9"}, "condition": "serviceable",
            "location": "Store South",
        }}));
    }
    let at = "2024-01-01T08:00:00Z";
    let facts = facts.into_iter().map(|fact| (at.to_owned(), fact));
    served.import(facts.collect()).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(EMPTY).await.form("#fit form");
    let page = technician.submit(&form.fill("serial", "H9")).await;
    let wrong = page.text("#fit .wrong");
    assert!(
        wrong.ends_with("other parts: P1 serial H-9; P2 serial H-9"),
        "{wrong}"
    );
}

async fn what_is_fitted_elsewhere_is_refused_with_the_entry_that_says_so(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(EMPTY).await.form("#fit form");
    let page = technician.submit(&form.fill("serial", "1")).await;
    assert_eq!(page.status(), 422);
    let refusal = page.text("#fit .refusal");
    assert!(
        refusal.contains("is fitted at =BS1-K1 of car 4101"),
        "{refusal}"
    );
    assert!(refusal.contains("Nothing was changed"), "{refusal}");
    let entry = page
        .attribute("#fit .refusal a", "href")
        .unwrap()
        .to_owned();
    let entry = technician.get(&entry).await;
    assert!(entry.text("h1").contains("fitted"), "{}", entry.text("h1"));
}

async fn a_removal_is_kept_in_the_history_with_both_entries(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(FILLED).await.form("#remove form");
    let form = form
        .fill("why", "failed")
        .fill("to", "Workshop North")
        .fill("at", "2026-11-24 10:00")
        .fill("reason", "sticks when cold");
    let page = technician.submit_and_agree(&form).await;
    assert_eq!((page.status(), page.path()), (200, FILLED));
    assert!(page.text("main").contains("Nothing is fitted here"));
    let row = page.texts("table.long tbody tr:first-child td");
    assert!(
        row[1].starts_with("2026-11-24 10:00 +00:00entry "),
        "{row:?}"
    );
    assert_eq!(row[2..], ["failed", "Workshop North"]);
    assert_eq!(
        page.count("table.long tbody tr:first-child a[href^='/ledger/']"),
        2
    );
    let component = technician.get("/components/DV%2F210/1").await;
    assert_eq!(component.fact("Condition"), "removed to be judged");
    assert!(component.fact("Where").starts_with("Workshop North"));
}

async fn a_form_that_somebody_else_was_faster_with_says_so(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let old = technician.get(FILLED).await.form("#remove form");
    let old = old.fill("why", "due").fill("to", "Workshop North");
    let other = technician.get(FILLED).await.form("#remove form");
    let other = other.fill("why", "due").fill("to", "Store North");
    technician.submit(&other).await;
    let page = technician.submit(&old).await;
    assert_eq!(page.status(), 422);
    let refusal = page.text("[role=alert]");
    assert!(refusal.contains("is not fitted at that time"), "{refusal}");
    assert_eq!(
        page.count("#fit"),
        1,
        "the page shows the position as it is now"
    );
}

async fn nothing_is_told_of_a_position_while_its_car_was_not_in_the_register(url: &str) {
    let served = Served::with_fleet(url).await;
    let car = json!({"car_registered": {"number": "4199", "car_type": "Motor car", "revision": "A",
        "fleet": "Fern", "depot": "South"}});
    let when = "2026-11-24T08:00:00Z";
    let mistaken = record(&served, None, when, car.clone()).await;
    record(&served, Some(mistaken), when, json!("withdrawn")).await;
    record(&served, None, when, car).await;
    let visitor = served.visitor();
    for (car, times, status) in [
        ("4101", "at=2023-11-30T00:00:00Z", 404),
        ("4101", "at=2023-12-02T00:00:00Z", 200),
        ("4199", "known=2026-11-25T12:00:30Z", 404),
        ("4199", "known=2026-11-25T12:01:30Z", 200),
        ("4199", "known=2026-11-25T12:02:30Z", 404),
        ("4199", "known=2026-11-25T12:03:00Z", 200),
    ] {
        for path in ["cars/$", "positions/$/%3DBS1-K1"] {
            let path = path.replace('$', car);
            for of in ["", "/api/v1"] {
                let asked = format!("{of}/{path}?{times}");
                assert_eq!(visitor.get(&asked).await.status(), status, "{asked}");
            }
        }
    }
    let early = visitor.get(&format!("{FILLED}?at=2023-12-02")).await;
    let says = early.text("main");
    assert!(says.contains("Nothing was fitted here then"), "{says}");
}

each_database!(
    nothing_is_told_of_a_position_while_its_car_was_not_in_the_register,
    a_position_says_what_belongs_there_and_what_is_fitted,
    a_component_is_fitted_by_its_serial_number_however_it_is_typed,
    what_is_in_stock_is_offered_and_can_be_chosen,
    a_plate_that_names_nothing_is_said_beside_the_field,
    a_plate_of_several_parts_that_do_not_belong_here_is_said,
    what_is_fitted_elsewhere_is_refused_with_the_entry_that_says_so,
    a_removal_is_kept_in_the_history_with_both_entries,
    a_form_that_somebody_else_was_faster_with_says_so,
);
