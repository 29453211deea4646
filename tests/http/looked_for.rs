//! Which cars carry a modification state, and which are set in a way: today, as at a past time, as
//! known at one, and where it cannot be told.

use domain::circuit::Circuit;
use domain::ledger::command::Command;
use domain::people::Role;
use serde_json::{Value, json};
use store::Recorded;
use tests::each_database;
use tests::facts::at;
use tests::page::Page;
use tests::register::person;
use uuid::Uuid;

use super::sample::{FIRST, SECOND, Served, fitted};
use super::settings::with_settings;

const PART: &str = "DV/230";

/// On car 4201 a valve in state A and one whose state is not known.
pub(super) async fn with_states(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let position = |code: &str| {
        json!({"code": code, "title": "valve", "kind": "distributor_valve", "along_mm": 5_000,
            "approved": [PART]})
    };
    let car_type = json!({
        "name": "Motor car", "revision": "M", "fleet": "Fern", "title": "invented for the tests",
        "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140, "daily_km_max": 1_000,
        "bogies": [], "masses": [], "braked_weights": [], "circuit": Circuit::default(),
        "positions": [position(FIRST), position(SECOND)],
    });
    let received = |serial: &str, state: Option<&str>| {
        let mut receipt = json!({"component": {"part": PART, "serial": serial},
            "condition": "serviceable", "location": "Store North"});
        if let Some(state) = state {
            receipt["modification"] = json!(state);
        }
        json!({"component_received": receipt})
    };
    let fit = |serial: &str, position: &str| {
        let mut fit = fitted(serial, "4201", position);
        fit["fitted"]["component"]["part"] = json!(PART);
        fit
    };
    let facts = [
        json!({"part_defined": {"number": PART, "title": "distributor valve",
            "kind": "distributor_valve", "modification_states": ["A", "B"]}}),
        json!({"car_type_defined": car_type}),
        json!({"revision_effective": {"car_type": "Motor car", "revision": "M",
            "cars": [{"first": "4201", "last": "4201"}], "from": "2026-01-01"}}),
        json!({"modification_issued": {"number": "M-7", "title": "a stiffer spring",
            "scope": {"components": {"part": PART, "state": "B"}}, "by": "2026-12-31",
            "source": "invented for the tests"}}),
        received("71", Some("A")),
        received("72", None),
        fit("71", FIRST),
        fit("72", SECOND),
    ];
    let facts = facts.map(|fact| ("2026-01-02T08:00:00Z".to_owned(), fact));
    served.import(facts.into()).await;
    served
}

async fn record(served: &Served, corrects: Option<&str>, fact: Value) -> String {
    served.pass(60);
    let now = served.visitor().get("/api/v1/carrying?part=DV%2F210").await;
    let now = now.json()["at"].as_str().unwrap().to_owned();
    let command = Command {
        id: Uuid::new_v4(),
        effective_at: at("2026-05-01T08:00:00Z"),
        reason: "for the test".to_owned(),
        corrects: corrects.map(|entry| domain::ledger::entry::Seq(entry.parse().unwrap())),
        fact: serde_json::from_value(fact).unwrap(),
    };
    let engineer = person(Role::BrakeEngineer);
    let recorded = served.store.record(engineer, command, at(&now)).await;
    match recorded.unwrap() {
        Recorded::Now(entry) => entry.seq.0.to_string(),
        other @ Recorded::Before(_) => panic!("{other:?}"),
    }
}

fn cars(page: &Page) -> Vec<String> {
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    page.texts("table.carrying tbody th")
}

async fn a_modification_state_is_told_as_it_was_and_as_it_was_known(url: &str) {
    let served = with_states(url).await;
    let visitor = served.visitor();
    let in_state = async |state: &str, times: &str| {
        let state = format!("/carrying?ask=state&part=DV%2F230&state={state}{times}");
        cars(&visitor.get(&state).await)
    };
    assert_eq!(in_state("A", "").await, ["4201"]);
    let embodied = json!({"embodied": {"modification": "M-7",
        "subject": {"component": {"part": PART, "serial": "71"}}, "evidence": "order 12"}});
    let entry = record(&served, None, embodied).await;
    assert_eq!(in_state("A", "").await, [""; 0]);
    assert_eq!(in_state("B", "").await, ["4201"]);
    // Before it was embodied, and before that was known.
    assert_eq!(in_state("A", "&at=2026-04-01").await, ["4201"]);
    assert_eq!(in_state("B", "&at=2026-04-01").await, [""; 0]);
    let before = "&at=2026-06-01&known=2026-11-25T12:00:30Z";
    assert_eq!(in_state("A", before).await, ["4201"]);
    record(&served, Some(&entry), json!("withdrawn")).await;
    assert_eq!(in_state("A", "").await, ["4201"]);
    // What was known while the entry held is still told so.
    let between = "&at=2026-06-01&known=2026-11-25T12:01:30Z";
    assert_eq!(in_state("B", between).await, ["4201"]);
    assert_eq!(in_state("A", between).await, [""; 0]);
}

async fn what_cannot_be_told_of_a_state_is_said_beside_the_answer(url: &str) {
    let served = with_states(url).await;
    let visitor = served.visitor();
    let found = visitor
        .get("/carrying?ask=state&part=DV%2F230&state=A")
        .await;
    assert!(found.text(".carried").starts_with("1 on 1 car:"));
    assert!(
        found
            .text(".missing")
            .starts_with("1 more on 1 car cannot be told"),
        "{}",
        found.text("main")
    );
    let untold = visitor
        .get(found.attribute(".missing a", "href").unwrap())
        .await;
    assert!(untold.text("table.carrying").contains("serial 72"));
    assert_eq!(untold.count(".missing"), 0);
    let api = "/api/v1/carrying?ask=state&part=DV%2F230&state=A";
    let api = visitor.get(api).await.json();
    assert_eq!(api["found"], json!({"cars": 1, "places": 1}));
    assert_eq!(api["not_told"], json!({"cars": 1, "places": 1}));
    assert_eq!(api["carried"][0]["component"]["serial"], "71");
    for wrong in [
        "?ask=state&part=DV%2F230",
        "?ask=state&part=DV%2F230&standing=deviates",
        "?ask=state&state=A",
        "?ask=colour&part=DV%2F230",
        "?ask=setting&setting=opening%20pressure&value=8.5",
    ] {
        let wrong = visitor.get(&format!("/api/v1/carrying{wrong}")).await;
        assert!(matches!(wrong.status(), 400 | 422), "{}", wrong.status());
    }
}

async fn a_setting_is_found_by_its_value_where_it_deviates_and_where_it_is_not_told(url: &str) {
    let served = with_settings(url).await;
    let visitor = served.visitor();
    let set = async |query: &str| {
        let page = visitor.get(&format!("/carrying?ask=setting&{query}")).await;
        let places = page.texts("table.carrying tbody td .code");
        cars(&page).into_iter().zip(places).collect::<Vec<_>>()
    };
    let place = |car: &str, position: &str| (car.to_owned(), position.to_owned());
    let pressure = "setting=opening%20pressure";
    let first = [place("4101", FIRST)];
    assert_eq!(set(&format!("{pressure}&value=8.4%20bar")).await, first);
    assert_eq!(set(&format!("{pressure}&value=8.40%20bar")).await, first);
    assert_eq!(set(&format!("{pressure}&standing=deviates")).await, first);
    assert_eq!(set(&format!("{pressure}&value=8.5%20bar")).await, []);
    let orientation = "setting=orientation";
    let second = [place("4101", SECOND)];
    assert_eq!(
        set(&format!("{orientation}&standing=deviates")).await,
        second
    );
    let here = format!("{orientation}&value=inverted&position={FIRST}");
    assert_eq!(set(&here).await, []);
    // Car 4102 has a valve at the first position only: at the other nothing is there to be set.
    let untold = format!("{orientation}&standing=not_told");
    assert_eq!(set(&untold).await, [place("4102", FIRST)]);
    assert_eq!(
        set(&format!("{orientation}&value=inverted&at=2026-02-15")).await,
        []
    );
    let found = format!("/carrying?ask=setting&{orientation}&value=inverted");
    let found = visitor.get(&found).await;
    assert!(found.text(".missing").starts_with("1 more on 1 car"));
}

async fn a_setting_withdrawn_is_told_as_it_was_known(url: &str) {
    let served = with_settings(url).await;
    let visitor = served.visitor();
    let made = json!({"setting_made": {"car": "4101", "position": FIRST,
        "setting": "opening pressure", "value": "8.6 bar"}});
    let entry = record(&served, None, made).await;
    record(&served, Some(&entry), json!("withdrawn")).await;
    let set = async |query: &str| {
        let asked = "/carrying?ask=setting&setting=opening%20pressure&value=8.6%20bar";
        cars(&visitor.get(&format!("{asked}{query}")).await)
    };
    assert_eq!(set("").await, [""; 0]);
    assert_eq!(set("&known=2026-11-25T12:01:30Z").await, ["4101"]);
    assert_eq!(set("&known=2026-11-25T12:00:30Z").await, [""; 0]);
    let api = visitor.get(
        "/api/v1/carrying?ask=setting&setting=opening%20pressure&standing=deviates&known=2026-11-25T12:01:30Z",
    );
    let api = api.await.json();
    assert_eq!(api["carried"][0]["setting"]["set_to"], "8.6 bar");
    assert_eq!(api["carried"][0]["component"], json!(null));
}

async fn a_check_is_opened_for_cars_that_are_set_so(url: &str) {
    let served = with_settings(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let asked = "/carrying?ask=setting&setting=orientation&standing=deviates";
    engineer.get(asked).await;
    served.statements.take();
    let found = engineer.get(asked).await;
    assert!(served.statements.take().len() < 10);
    let file = engineer.get(found.attribute(".files a", "href").unwrap());
    let file = file.await;
    assert!(
        file.body().contains("orientation,inverted"),
        "{}",
        file.body()
    );
    let open = found.attribute("a[href^='/fleet-checks/new']", "href");
    let page = engineer.get(open.unwrap()).await;
    let form = page.form("#new form");
    let form = form
        .fill("title", "plates the wrong way round")
        .fill("instruction", "look at the plate")
        .fill("answer_by", "2026-12-01");
    let check = engineer.submit(&form).await;
    assert_eq!(check.texts("table tbody th"), ["4101", "4102"]);
    assert_eq!(
        check.texts("table tbody td.why"),
        ["carries it", "cannot be told"]
    );
    assert!(
        check
            .text(".facts")
            .contains("orientation not as the baseline wants it"),
        "{}",
        check.text(".facts")
    );
}

async fn a_state_that_no_part_can_be_in_is_unknown_and_no_answer(url: &str) {
    let served = with_states(url).await;
    let visitor = served.visitor();
    for (asked, expected) in [
        (
            "ask=state&part=DV%2F230&state=Z",
            "a state that part DV/230 can be in: A, B",
        ),
        (
            "ask=state&part=DV%2F210&state=A",
            "nothing: part DV/210 has no modification states",
        ),
    ] {
        for path in ["/carrying", "/carrying.csv", "/api/v1/carrying"] {
            let refused = visitor.get(&format!("{path}?{asked}")).await;
            assert_eq!(refused.status(), 422, "{path}?{asked}");
            let says = refused.body();
            assert!(says.contains(expected), "{path}?{asked}: {says}");
        }
    }
}

async fn a_setting_that_no_design_asks_for_is_unknown_and_no_answer(url: &str) {
    let served = with_settings(url).await;
    let visitor = served.visitor();
    for (asked, expected) in [
        (
            "setting=opning+pressure&value=7.8+bar",
            "a setting that a design asks for: ",
        ),
        (
            "setting=orientation&standing=deviates&position=%3DZZ9",
            "a position that is asked for orientation: ",
        ),
    ] {
        let refused = visitor.get(&format!("/carrying?ask=setting&{asked}")).await;
        assert_eq!(refused.status(), 422, "{asked}");
        assert!(refused.body().contains(expected), "{}", refused.body());
    }
}

each_database!(
    a_setting_that_no_design_asks_for_is_unknown_and_no_answer,
    a_state_that_no_part_can_be_in_is_unknown_and_no_answer,
    a_modification_state_is_told_as_it_was_and_as_it_was_known,
    what_cannot_be_told_of_a_state_is_said_beside_the_answer,
    a_setting_is_found_by_its_value_where_it_deviates_and_where_it_is_not_told,
    a_setting_withdrawn_is_told_as_it_was_known,
    a_check_is_opened_for_cars_that_are_set_so,
);
