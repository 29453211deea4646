//! A position is found by any of its names, where that is of it alone; nothing is guessed.

use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::sample::{FIRST, Served, VALVE};

/// A car of a type whose positions have other names, one of them the same for two.
async fn with_names(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let alias = |name: &str| json!({"name": name, "source": "label on the car"});
    let place = |code: &str, kind: &str, parts: &[&str], names: &[&str]| {
        let names: Vec<Value> = names.iter().map(|name| alias(name)).collect();
        json!({"code": code, "title": kind, "kind": kind, "along_mm": 5_000, "approved": parts, "aliases": names})
    };
    let car_type = json!({
        "name": "Named car", "revision": "A", "fleet": "Sedge", "title": "invented for the tests",
        "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140, "daily_km_max": 1_000,
        "bogies": [], "masses": [], "braked_weights": [],
        "circuit": domain::circuit::Circuit::default(),
        "positions": [
            place(FIRST, "distributor_valve", &[VALVE], &["B 1", "valve"]),
            place("=BS2-K1", "distributor_valve", &[VALVE], &["B 2", "valve"]),
        ],
    });
    let car = json!({"car_registered": {
        "number": "4301", "car_type": "Named car", "revision": "A", "fleet": "Sedge", "depot": "North",
    }});
    let at = "2024-01-01T08:00:00Z".to_owned();
    let facts = [json!({"car_type_defined": car_type}), car];
    let facts = facts.map(|fact| (at.clone(), fact));
    served.import(facts.into()).await;
    served
}

async fn post(visitor: &Visitor, fact: Value) -> tests::page::Page {
    let session = visitor.get("/api/v1/session").await.json();
    let token = session["form_token"].as_str().unwrap().to_owned();
    let body = json!({
        "id": uuid::Uuid::new_v4().to_string(), "effective_at": "2026-11-25T08:00:00Z", "fact": fact,
    });
    let request = visitor.request(Method::POST, "/api/v1/entries");
    let request = request.header("x-form-token", token);
    let request = request.header("content-type", "application/json");
    visitor.send(request.body(body.to_string())).await
}

async fn a_page_and_a_form_take_any_name_that_is_of_one_position(url: &str) {
    let served = with_names(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get("/positions/4301/b%201").await;
    assert_eq!(page.path(), "/positions/4301/%3DBS1-K1");
    let then = technician.get("/positions/4301/b%201?at=2026-06-01").await;
    assert_eq!(then.path(), "/positions/4301/%3DBS1-K1?at=2026-06-01");
    let says = then.text("main");
    assert!(says.contains("speaks of the past"), "{says}");
    let as_drawn = technician.get("/positions/4301/BS1-K1").await;
    assert_eq!(as_drawn.path(), "/positions/4301/%3DBS1-K1");
    let told = technician.get("/api/v1/positions/4301/b%201").await.json();
    assert_eq!(told["position"], FIRST);
    assert_eq!(told["aliases"][0]["name"], "B 1");
    let several = technician.get("/positions/4301/valve").await;
    assert!(several.status() >= 400);
    let words = several.text("main");
    assert!(words.contains("=BS1-K1, =BS2-K1"), "{words}");
    let found = technician.get("/find?q=4301%20Valve").await;
    assert_eq!(found.count(".found li"), 2, "nothing is guessed");
    let form = technician.get("/components/DV%2F210/1").await;
    let form = form
        .form("#move form")
        .fill("car", "4301")
        .fill("why", "robbed")
        .fill("reason", "4301 is needed first");
    let several = technician
        .submit(&form.clone().fill("position", "valve"))
        .await;
    assert_eq!(several.status(), 422);
    assert!(
        several.text("#move").contains("all have that name"),
        "{}",
        several.text("#move")
    );
    let form = form.fill("position", "B 2");
    let moved = technician.submit_and_agree(&form).await;
    assert!(
        moved.fact("Where").contains("=BS2-K1 of car 4301"),
        "{}",
        moved.fact("Where")
    );
}

async fn a_program_names_positions_as_people_do(url: &str) {
    let served = with_names(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let fitted = |position: &str| json!({"fitted": {"component": {"part": VALVE, "serial": "9"}, "car": "4301", "position": position}});
    let several = post(&technician, fitted("valve")).await;
    assert_eq!(several.status(), 422, "{}", several.body());
    assert!(
        several.body().contains("=BS1-K1, =BS2-K1"),
        "{}",
        several.body()
    );
    let none = post(&technician, fitted("B 9")).await;
    assert_eq!(none.status(), 422, "{}", none.body());
    let done = post(&technician, fitted("B 2")).await;
    assert_eq!(done.status(), 201, "{}", done.body());
    assert_eq!(done.json()["fact"]["fitted"]["position"], "=BS2-K1");
}

async fn a_question_about_a_train_takes_any_name_of_a_position(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let by_code = "4101%3A%3DBS1-QM1%3Aclosed_vented";
    let by_name = "4101%3Ab1%3Aclosed_vented";
    for (path, field) in [
        ("/api/v1/decision?train=T1", "losses"),
        ("/api/v1/weak-points?train=T1", "singles"),
    ] {
        let [code, name] = [by_code, by_name].map(|close| format!("{path}&close={close}"));
        let (code, name) = (visitor.get(&code).await, visitor.get(&name).await);
        assert_eq!((code.status(), name.status()), (200, 200), "{field}");
        assert_eq!(code.json(), name.json());
    }
    let page = visitor.get(&format!("/trains/T1?close={by_name}")).await;
    assert!(
        page.text("main").contains("=BS1-QM1"),
        "{}",
        page.text("main")
    );
    let circuit = visitor
        .get(&format!("/trains/T1/circuit?car=4101&close={by_name}"))
        .await;
    assert_eq!(circuit.status(), 200);
    for path in ["/trains/T1?close=", "/api/v1/decision?train=T1&close="] {
        let refused = visitor.get(&format!("{path}4101%3Awhistle%3Aopen")).await;
        assert_eq!(refused.status(), 422);
        assert!(refused.body().contains("whistle"), "{}", refused.body());
    }
}

/// In further questions about a train, as whoever stands at the car calls it.
async fn a_further_question_may_call_a_position_by_what_stands_on_the_car(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for path in ["/api/v1/path", "/api/v1/closing"] {
        let of = async |name: &str| {
            let asked = format!("{path}?train=T1&car=4101&position={name}");
            let answer = visitor.get(&asked).await;
            assert_eq!(answer.status(), 200, "{asked}: {}", answer.body());
            answer.json()
        };
        assert_eq!(of("B1").await, of("%3DBS1-QM1").await, "{path}");
        let unknown = visitor
            .get(&format!("{path}?train=T1&car=4101&position=B99"))
            .await;
        assert_eq!(unknown.status(), 422, "{path}");
        assert!(unknown.body().contains("position"), "{}", unknown.body());
    }
    let saw = async |name: &str| {
        let asked = format!("/api/v1/faults?train=T1&saw=4101:{name}:service:no_pressure");
        visitor.get(&asked).await
    };
    assert_eq!(
        saw("B1").await.json(),
        saw("%3DBS1-QM1").await.json(),
        "seen there"
    );
    assert_eq!(saw("B99").await.status(), 422);
    for page in ["path", "closing"] {
        let path = format!("/trains/T1/{page}?car=4101&position=B1");
        let shown = visitor.get(&path).await;
        assert_eq!(shown.status(), 200, "{path}");
        let position = shown.attribute("form.filters [name=position]", "value");
        assert_eq!(position, Some("=BS1-QM1"), "{path}");
    }
    let page = visitor
        .get("/trains/T1/faults?saw=4101:B1:service:no_pressure")
        .await;
    assert_eq!(page.count(".sights li"), 1);
}

each_database!(
    a_further_question_may_call_a_position_by_what_stands_on_the_car,
    a_page_and_a_form_take_any_name_that_is_of_one_position,
    a_program_names_positions_as_people_do,
    a_question_about_a_train_takes_any_name_of_a_position,
);
