//! Components: found by plate and place, their life and use, and what is recorded of them.

use std::collections::BTreeSet;

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::page::Page;

use super::sample::{Served, VALVES, reading};

const FIRST_VALVE: &str = "/components/DV%2F210/1";
const STORED: &str = "/components/DV%2F210/9";

async fn what_is_at_a_location_comes_in_pages_each_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let more: Vec<_> = (100..130)
        .map(|serial: usize| {
            let receipt = json!({"component_received": {
                "component": {"part": "DV/210", "serial": serial.to_string()},
                "condition": "serviceable", "location": "Store North",
            }});
            ("2024-01-01T08:00:00Z".to_owned(), receipt)
        })
        .collect();
    served.import(more).await;
    let visitor = served.visitor();
    let all = visitor.get("/components").await;
    assert_eq!(all.texts(".locations a"), ["Store North"]);
    let mut page = visitor.get("/components?location=Store+North").await;
    let mut serials = page.texts("tbody th");
    while page.count(".pages a") == 1 {
        let next = page.attribute(".pages a", "href").unwrap().to_owned();
        page = visitor.get(&next).await;
        serials.extend(page.texts("tbody th"));
    }
    let once: BTreeSet<_> = serials.iter().collect();
    let expected = VALVES - 3 + 30;
    assert_eq!((serials.len(), once.len()), (expected, expected));
}

async fn serial_numbers_are_found_by_how_they_begin(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/components?serial=5").await;
    let serials = page.texts("tbody th");
    assert_eq!(serials.len(), 11, "5 and 50 to 59: {serials:?}");
    let none = visitor.get("/components?serial=O5").await;
    assert!(none.text("main").contains("O and 0"));
}

async fn a_component_that_may_have_come_in_twice_says_so(url: &str) {
    let served = Served::with_fleet(url).await;
    let twice = ["AB-12", "ab12"].map(|serial| {
        let receipt = json!({"component_received": {
            "component": {"part": "DV/210", "serial": serial},
            "condition": "serviceable", "location": "Store North",
        }});
        ("2024-01-01T08:00:00Z".to_owned(), receipt)
    });
    served.import(twice.to_vec()).await;
    let visitor = served.visitor();
    let page = visitor.get("/components/DV%2F210/AB-12").await;
    let said = page.text("p.caution");
    assert!(said.starts_with("May be in the register twice."), "{said}");
    let other = page.attribute("p.caution a", "href");
    assert_eq!(other, Some("/components/DV%2F210/ab12"));
    let told = visitor.get("/api/v1/components/DV%2F210/ab12").await;
    assert_eq!(
        told.json()["alike"],
        json!([{"part": "DV/210", "serial": "AB-12"}])
    );
    assert_eq!(visitor.get(STORED).await.count("p.caution"), 0);
}

async fn the_use_of_a_component_is_told_with_its_steps(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get(FIRST_VALVE).await;
    // Nothing was brought in. The car ran 72,800 km in 182 days from 2025-12-01: on 2026-01-01,
    // 31 days later, 512,400 km. It was read last with 632,000 km.
    let cells = page.texts("table.used tbody tr:first-child td");
    assert_eq!(cells[..3], ["0 km", "119,600 km", "119,600 km"]);
    let steps = page.text("table.used tbody tr:first-child ol.steps");
    assert!(
        steps.contains("632000 km − 512400 km = 119600 km"),
        "{steps}"
    );
    assert!(
        steps.contains("readings of the odometer of car 4101"),
        "{steps}"
    );
}

async fn use_that_cannot_be_told_is_not_nought_and_says_why(url: &str) {
    let served = Served::with_fleet(url).await;
    // Valve 3 is on a car that was never read.
    let page = served.visitor().get("/components/DV%2F210/3").await;
    let cells = page.texts("table.used tbody tr:first-child td");
    assert_eq!(cells[..2], ["0 km", "not known"]);
    assert!(cells[2].starts_with("not known since entry "), "{cells:?}");
    assert!(
        cells[3].contains("odometer reading for 2026-01-01 of car 4102"),
        "{cells:?}"
    );
    let hours = page.texts("table.used tbody tr:nth-child(2) td");
    assert_eq!(hours[0], "not known");
    assert!(hours[3].contains("use by running hours before it came in of DV/210 serial 3"));
}

async fn due_work_shows_each_limit_and_which_sets_the_date(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get(FIRST_VALVE).await;
    let inspection = page.text("table.due-work tbody tr:nth-child(2)");
    assert!(inspection.contains("IN-DV"), "{inspection}");
    let expected = "130,000 km (odometer): when the car’s meter shows 642,400 km; window 637,400 km \
                    to 647,400 km sets the date";
    assert!(inspection.contains(expected), "{inspection}");
    // The list of due work and the page of the component agree.
    let list = served.visitor().get("/due?car=4101&part=DV%2F210").await;
    let on_list = list.text("table.due tbody tr:nth-child(3) td:first-child");
    let on_page = page.texts("table.due-work tbody tr:nth-child(2) td");
    assert_eq!(on_page[0][..10], on_list[..10]);
}

async fn a_life_is_drawn_with_its_gaps(url: &str) {
    let served = Served::with_fleet(url).await;
    let removed = json!({"removed": {
        "component": {"part": "DV/210", "serial": "1"}, "reason": "access",
        "to": "Store North", "condition": "serviceable", "evidence": "inspection",
    }});
    let again = super::sample::fitted("1", "4101", super::sample::FIRST);
    served
        .import(vec![
            ("2026-03-01T08:00:00Z".to_owned(), removed),
            ("2026-05-01T08:00:00Z".to_owned(), again),
        ])
        .await;
    let page = served.visitor().get(FIRST_VALVE).await;
    assert_eq!(page.count("svg.drawing.life-strip a .bar"), 2);
    let gaps = page.texts("svg.drawing.life-strip g:has(.gap) title");
    assert_eq!(gaps.len(), 2);
    assert!(
        gaps[1].starts_with("off the car, removed to Store North"),
        "{gaps:?}"
    );
    assert_eq!(page.count("svg.drawing.life-strip .before.unknown"), 0);
}

async fn a_condition_is_judged_on_evidence(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(STORED).await.form("#condition form");
    let form = form.fill("condition", "unserviceable");
    let page = technician.submit(&form).await;
    assert_eq!(page.status(), 422);
    assert!(page.text("#condition .refusal").contains("Evidence: "));
    let form = page
        .form("#condition form")
        .fill("evidence", "inspection: seat worn");
    let page = technician.submit(&form).await;
    assert_eq!(page.path(), STORED);
    assert_eq!(page.fact("Condition"), "unserviceable");
}

async fn a_component_moves_between_locations_and_positions(url: &str) {
    let served = Served::with_fleet(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let page = stores.get(STORED).await;
    assert_eq!(
        (page.count("#move"), page.count("#swap")),
        (0, 0),
        "it is not fitted"
    );
    let form = page.form("#relocate form").fill("to", "Workshop South");
    let page = stores.submit(&form).await;
    assert!(page.fact("Where").starts_with("Workshop South"));
    let page = stores.get(FIRST_VALVE).await;
    assert_eq!(page.count("#relocate"), 0, "it is fitted");
    let form = page.form("#move form").fill("car", "4102");
    let form = form.fill("position", "=BS2-K1").fill("why", "robbed");
    let mute = stores.submit(&form).await;
    assert_eq!(mute.status(), 422, "a car is not robbed without a word");
    assert!(
        mute.text("#move").contains("reason"),
        "{}",
        mute.text("#move")
    );
    let form = form.fill("reason", "4102 is needed for the first train");
    let page = stores.submit_and_agree(&form).await;
    assert_eq!(page.path(), FIRST_VALVE);
    let newest = page.texts("table.fitments tbody tr:nth-child(2) td");
    assert_eq!(newest[2..], ["robbed", "=BS2-K1 of car 4102"]);
    let donor = stores.get("/positions/4101/%3DBS1-K1").await;
    assert!(donor.text("main").contains("Nothing is fitted here"));
}

async fn two_components_change_places_in_one_entry(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let last = served.store.view().await.unwrap().last_entry;
    let form = technician.get(FIRST_VALVE).await.form("#swap form");
    let form = form.fill("other_serial", "2").fill("why", "register_error");
    technician.submit_and_agree(&form).await;
    assert_eq!(served.store.view().await.unwrap().last_entry, last + 1);
    for (position, serial) in [("%3DBS1-K1", "2"), ("%3DBS2-K1", "1")] {
        let page = technician.get(&format!("/positions/4101/{position}")).await;
        assert_eq!(page.text(".fitted-now"), format!("DV/210 serial {serial}"));
    }
}

async fn work_done_moves_the_due_date(url: &str) {
    let served = Served::with_fleet(url).await;
    served
        .import(vec![(
            "2026-11-20T08:00:00Z".to_owned(),
            reading("4101", 640_000),
        )])
        .await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(FIRST_VALVE).await;
    assert_eq!(states(&page)["TS-DV"], "overdue");
    let form = page.form("#done form").fill("task", "TS-DV");
    let form = form
        .fill("evidence", "order 7")
        .fill("at", "2026-11-21 09:00");
    // Told four days late: what it changes is seen first.
    let page = technician.submit(&form).await;
    assert_eq!(
        states(&technician.get(FIRST_VALVE).await)["TS-DV"],
        "overdue"
    );
    let told = page.text("#done .caution");
    assert!(told.contains("1 due date moves"), "{told}");
    let row = page.texts("#done .caution tbody td");
    assert_eq!(row[..2], ["DV/210 serial 1", "TS-DV"], "{row:?}");
    let page = technician.submit(&page.form("#done form")).await;
    assert_eq!(page.path(), FIRST_VALVE);
    let entry = page.attribute("table.done-work a[href^='/ledger/']", "href");
    let entry = technician.get(entry.unwrap()).await;
    let changed = entry.text(".changed");
    assert!(changed.contains("1 due date moves"), "{changed}");
    assert_eq!(states(&page)["TS-DV"], "not due");
    let done = page.texts("table.done-work tbody tr:first-child > *");
    assert_eq!(done[..3], ["2026-11-21 09:00 +00:00", "TS-DV", "4101"]);
}

/// The state of each task of a component.
fn states(page: &Page) -> std::collections::BTreeMap<String, String> {
    let tasks = page.texts("table.due-work tbody th > .nowrap:first-child");
    let states = page.texts("table.due-work tbody .state");
    tasks.into_iter().zip(states).collect()
}

async fn a_component_is_received_with_what_its_papers_say_and_nothing_is_made_up(url: &str) {
    let served = Served::with_fleet(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let page = stores.get("/components/new?serial=A-77").await;
    let form = page.form("#new form").fill("location", "Store North");
    let none = stores.submit(&form).await;
    assert_eq!(none.status(), 422);
    assert!(none.text("#new-part-wrong").starts_with("expected"));
    let form = none.form("#new form").fill("part", "DV/210");
    let form = form
        .fill("km", "12.34567")
        .fill("overhauled_on", "2027-01-01");
    let bad = stores.submit(&form).await;
    assert!(bad.text("#new-km-wrong").contains("at most three decimals"));
    let form = bad.form("#new form").fill("km", "120000");
    let early = stores.submit(&form).await;
    assert!(
        early.text("p.refusal").contains("2027-01-01"),
        "from the future"
    );
    let form = early.form("#new form").fill("overhauled_on", "2026-05-04");
    let page = stores.submit(&form).await;
    assert_eq!(
        (page.status(), page.path()),
        (200, "/components/DV%2F210/A-77")
    );
    // Two forms sent at once by a double click are one entry.
    assert_eq!(stores.submit(&form).await.status(), 200);
    let text = page.text("main");
    assert!(
        text.contains("quarantined") && text.contains("120,000 km"),
        "{text}"
    );
    assert!(text.contains("not known"), "hours were left empty: {text}");
    let again = stores
        .get("/components/new?part=DV%2F210&serial=A-77")
        .await;
    let form = again.form("#new form").fill("location", "Store North");
    let refused = stores.submit(&form).await;
    assert_eq!(refused.status(), 422);
    assert!(refused.text("p.refusal").contains("A-77"));
    let planner = served.signed_in(Role::Planner).await;
    assert_eq!(planner.get("/components/new").await.count("form.fields"), 0);
}

async fn a_certificate_is_copied_by_a_form_and_part_of_the_life(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(STORED).await;
    let filled = |page: &Page| {
        page.form("#done form")
            .fill("task", "OH-DV")
            .fill("evidence", "C 1187")
            .fill("issuer", "Fenwick Brake Works, approval 12")
            .fill("signed_on", "2026-11-24")
            .fill("instruction", "MI 44 revision C")
            .fill("work_done", "seals replaced, tested")
            .fill("not_done", "body not crack-tested")
    };
    // Who signed is needed, and what is left is of a task of the part.
    let refused = technician.submit(&filled(&page).fill("left", "soon")).await;
    assert_eq!(refused.status(), 422);
    assert!(
        refused.count("#done .wrong") >= 2,
        "{}",
        refused.text("#done")
    );
    let signed = filled(&page)
        .fill("signed_by", "S. Signatory")
        .fill("left", "OH-DV 600000 km; OH-DV 2034-11-24");
    let page = technician.submit(&signed).await;
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    let life = technician.get(&format!("{STORED}/life")).await;
    let told = life.text("table.life tbody tr:last-child");
    for words in [
        "C 1187 of Fenwick Brake Works, approval 12",
        "S. Signatory on 2026-11-24",
        "body not crack-tested",
        "OH-DV: 600000 km left",
        "OH-DV: until 2034-11-24",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let program = technician
        .get(&format!("/api/v1{STORED}/life"))
        .await
        .json();
    let lines = program["lines"].as_array().unwrap();
    let last = &lines.last().unwrap()["entry"];
    let not_done = &last["fact"]["task_done"]["release"]["not_done"];
    assert_eq!(not_done, "body not crack-tested");
}

async fn gaps_stand_in_the_life_of_a_component(url: &str) {
    let served = Served::with_fleet(url).await;
    // Valve 3 is on a car that was never read; the others were read throughout.
    let page = served.visitor().get("/components/DV%2F210/3/life").await;
    let gaps = page.texts("tr.gap");
    assert!(gaps.iter().any(|gap| gap.contains("car 4102")), "{gaps:?}");
    let page = served.visitor().get("/components/DV%2F210/99/life").await;
    assert_eq!(page.status(), 404);
}

each_database!(
    a_certificate_is_copied_by_a_form_and_part_of_the_life,
    gaps_stand_in_the_life_of_a_component,
    a_component_is_received_with_what_its_papers_say_and_nothing_is_made_up,
    what_is_at_a_location_comes_in_pages_each_once,
    serial_numbers_are_found_by_how_they_begin,
    a_component_that_may_have_come_in_twice_says_so,
    the_use_of_a_component_is_told_with_its_steps,
    use_that_cannot_be_told_is_not_nought_and_says_why,
    due_work_shows_each_limit_and_which_sets_the_date,
    a_life_is_drawn_with_its_gaps,
    a_condition_is_judged_on_evidence,
    a_component_moves_between_locations_and_positions,
    two_components_change_places_in_one_entry,
    work_done_moves_the_due_date,
);
