//! Settings of positions on pages and for programs: what is wanted, what is told, as at and as
//! known at, and the form that records one.

use domain::circuit::Circuit;
use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;

use super::sample::{FIRST, SECOND, Served, VALVE};

const PLACE: &str = "/positions/4101/%3DBS1-K1";

/// The sample fleet, of whose first unit a revision in force asks for two settings at the first
/// position, and one at the second.
pub(super) async fn with_settings(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let pressure =
        json!({"name": "opening pressure", "wanted": "8.5 bar", "lower": "8.3", "upper": "8.7"});
    let orientation = json!({"name": "orientation", "wanted": "upright", "others": ["inverted"]});
    let position = |code: &str, settings: Value| {
        json!({"code": code, "title": "valve", "kind": "distributor_valve", "along_mm": 5_000,
            "approved": [VALVE], "settings": settings})
    };
    let car_type = json!({
        "name": "Motor car", "revision": "S", "fleet": "Sedge", "title": "invented for the tests",
        "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140, "daily_km_max": 1_000,
        "bogies": [], "masses": [], "braked_weights": [], "circuit": Circuit::default(),
        "positions": [
            position(FIRST, json!([pressure, orientation])),
            position(SECOND, json!([orientation])),
        ],
    });
    let force = json!({"revision_effective": {"car_type": "Motor car", "revision": "S",
        "cars": [{"first": "4101", "last": "4102"}], "from": "2026-01-01"}});
    let day = |day: &str| format!("{day}T08:00:00Z");
    let facts = vec![
        (day("2026-01-01"), json!({"car_type_defined": car_type})),
        (day("2026-01-01"), force),
        (day("2026-02-01"), set(FIRST, "opening pressure", "8.4 bar")),
        (day("2026-03-01"), set(FIRST, "orientation", "upright")),
        (day("2026-03-01"), set(SECOND, "orientation", "inverted")),
    ];
    served.import(facts).await;
    served
}

fn set(position: &str, setting: &str, value: &str) -> Value {
    json!({"setting_made": {"car": "4101", "position": position, "setting": setting, "value": value}})
}

fn rows(page: &Page, table: &str) -> Vec<String> {
    let cells = page.texts(&format!("{table} tbody tr"));
    let squeezed = cells.iter();
    squeezed
        .map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect()
}

async fn a_position_shows_what_is_set_wanted_and_allowed_and_who_said_so(url: &str) {
    let served = with_settings(url).await;
    let visitor = served.visitor();
    let page = visitor.get(PLACE).await;
    let all = rows(&page, ".settings div");
    assert_eq!(all.len(), 2, "{all:?}");
    for said in [
        "8.4 bar",
        "not as wanted",
        "8.5 bar",
        "8.3 to 8.7 bar",
        "import",
    ] {
        assert!(all[0].contains(said), "{said}: {all:?}");
    }
    assert!(all[1].contains("as wanted"), "{all:?}");
    let then = visitor.get(&format!("{PLACE}?at=2026-02-15")).await;
    let all = rows(&then, ".settings div");
    assert!(all[0].contains("8.4 bar"), "{all:?}");
    assert!(
        all[1].contains("not told since what is here came"),
        "{all:?}"
    );
    assert!(then.text(".caution[role=status]").contains("of the past"));
    let other = visitor.get("/positions/4201/%3DBS1-K1").await;
    assert_eq!(other.count(".settings"), 0);
    let car = visitor.get("/cars/4101").await;
    assert_eq!(car.count("#settings + div tbody tr"), 3);
    // What is on the other car was set by nobody.
    let car = visitor.get("/cars/4102").await;
    assert!(car.text("#settings + div").contains("not told"));
}

async fn a_setting_is_recorded_by_a_form_that_says_what_would_be_taken(url: &str) {
    let served = with_settings(url).await;
    let planner = served.signed_in(Role::Planner).await;
    assert_eq!(planner.get(PLACE).await.count("#set"), 0);
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(PLACE).await.form("#set form");
    for (value, said) in [
        ("9 bar", "8.3 to 8.7 bar"),
        ("8.5", "a number with its unit"),
        ("", ""),
        ("8.6 bar", "Reason: leaving it empty is not possible"),
    ] {
        let page = technician.submit(&form.clone().fill("value", value)).await;
        assert_eq!(page.status(), 422, "{value}");
        assert!(
            page.text("#set").contains(said),
            "{value}: {}",
            page.text("#set")
        );
    }
    // What somebody found is recorded, whatever is allowed.
    let found = form.clone().fill("how", "found").fill("value", "9 bar");
    let page = technician.submit(&found).await;
    assert_eq!((page.status(), page.path()), (200, PLACE));
    assert!(
        rows(&page, ".settings div")[0].contains("9 bar setting out of range: not as allowed"),
        "{}",
        page.text(".settings")
    );
    // Its page says so in the words of the list.
    let banner = page.text(".refusal.departs");
    let said = "is set to 9 bar, which is not allowed; 8.5 bar wanted, 8.3 to 8.7 bar allowed";
    assert!(banner.contains(said), "{banner}");
    let list = technician
        .get("/departures?car=4101&kind=setting_out_of_range")
        .await;
    let out = list.text("tbody");
    assert!(
        out.contains("is set to 9 bar, which is not allowed"),
        "{out}"
    );
    let form = page.form("#set form");
    let page = technician.submit(&form.fill("value", "8.5 bar")).await;
    assert_eq!((page.status(), page.path()), (200, PLACE));
    let all = rows(&page, ".settings div");
    assert!(all[0].contains("8.5 bar as wanted"), "{all:?}");
    assert!(page.text(".settings table.long").contains("8.4 bar"));
    let list = technician
        .get("/departures?car=4101&kind=setting_deviates")
        .await;
    assert_eq!(list.count("tbody tr"), 1, "{}", list.text("main"));
    assert!(
        list.text("tbody")
            .contains("orientation is set to inverted")
    );
    assert!(
        list.text("tbody")
            .contains("upright wanted, upright or inverted allowed")
    );
}

async fn programs_read_and_record_settings(url: &str) {
    let served = with_settings(url).await;
    let visitor = served.visitor();
    let car = visitor.get("/api/v1/cars/4101").await.json();
    let settings = car["settings"].as_array().unwrap();
    assert_eq!(settings.len(), 3);
    assert_eq!(settings[0]["set_to"], "8.4 bar");
    assert_eq!(settings[0]["standing"], "deviates");
    assert_eq!(settings[0]["wanted"], "8.5 bar");
    let then = "/api/v1/cars/4101?at=2026-01-15T00:00Z";
    let then = visitor.get(then).await.json();
    assert_eq!(then["settings"][0]["standing"], "not_told");
    let compared = "then=2026-01-15T00:00Z";
    let compared = format!("/api/v1/cars/4101/compare?{compared}");
    let compared = visitor.get(&compared).await.json();
    let words = &compared["differences"][0]["words"];
    assert_eq!(
        *words,
        "opening pressure at =BS1-K1 is 8.4 bar and was not told"
    );
    let page = visitor.get("/cars/4101/compare?then=2026-01-15").await;
    assert!(page.text("tbody").contains("set: opening pressure"));
    let list = visitor.get("/api/v1/departures?car=4102").await.json();
    assert_eq!(list["departures"][0]["kind"], "setting_not_told");
    assert_eq!(list["departures"][0]["setting"], "opening pressure");
}

async fn pages_with_settings_stay_within_their_budget_of_statements(url: &str) {
    let served = with_settings(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    for path in [
        PLACE,
        "/cars/4101",
        "/departures?car=4102",
        "/api/v1/cars/4101",
    ] {
        engineer.get(path).await;
        served.statements.take();
        engineer.get(path).await;
        let sent = served.statements.take();
        let sent: Vec<_> = sent.iter().filter(|sent| sent.contains("from")).collect();
        assert!(sent.len() <= 9, "{path}: {}\n{sent:#?}", sent.len());
    }
}

each_database!(
    a_position_shows_what_is_set_wanted_and_allowed_and_who_said_so,
    a_setting_is_recorded_by_a_form_that_says_what_would_be_taken,
    programs_read_and_record_settings,
    pages_with_settings_stay_within_their_budget_of_statements,
);
