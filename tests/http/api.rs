//! The register for programs.

use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;
use uuid::Uuid;

use super::sample::{FIRST, Served, VALVES, fitted, reading};

async fn every_answer_under_api_is_json_with_units_and_dates(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let due = visitor
        .get("/api/v1/due?car=4101&state=in_window&until=2026-12-01")
        .await
        .json();
    let first = &due["due"][0];
    assert_eq!(due["as_on"], "2026-11-25");
    assert_eq!(first["due_on"], "2026-11-27");
    assert_eq!(
        first["limit"]["at"],
        json!({"value": 642_400.0, "unit": "km"})
    );
    assert_eq!(first["limit"]["last_reading"]["at"], "2026-11-01T08:00:00Z");
    assert_eq!(first["component"], json!({"part": "DV/210", "serial": "1"}));
    let unknown = visitor.get("/api/v1/due?state=unknown").await.json();
    let lack = json!([{"limit": "odometer", "lacking": "use"}]);
    assert_eq!(unknown["due"][0]["not_known"], lack);

    let fleets = visitor.get("/api/v1/fleets").await.json();
    let expected = json!({"fleet": "Sedge", "depot": "North", "cars": 2});
    assert_eq!(fleets["fleets"][1], expected);
    let cars = visitor.get("/api/v1/cars?fleet=Sedge").await.json();
    assert_eq!(cars["cars"][1]["number"], "4102");
    assert_eq!(cars["cars"][1]["orientation"], "reversed");
    assert_eq!(cars["next"], Value::Null);
    let unit = visitor.get("/api/v1/units/41").await.json();
    assert_eq!(unit["cars"].as_array().unwrap().len(), 2);
}

async fn a_car_is_told_as_at_and_as_known_at_a_time(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let car = visitor.get("/api/v1/cars/4101").await.json();
    assert_eq!(
        car["meters"][0]["shown"],
        json!({"value": 632_000.0, "unit": "km"})
    );
    // 59,200 km in the 153 days between the last two readings.
    assert_eq!(
        car["meters"][0]["a_day"]["likely"],
        json!({"value": 386.929, "unit": "km"})
    );
    let positions = car["positions"].as_array().unwrap();
    assert_eq!(positions[0]["component"]["serial"], "1");
    assert_eq!(
        positions[2]["component"],
        Value::Null,
        "an empty position is told as empty"
    );
    let earlier = visitor
        .get("/api/v1/cars/4101?at=2025-12-31T00:00:00Z")
        .await
        .json();
    assert_eq!(earlier["positions"][0]["component"], Value::Null);
    let unknown = visitor
        .get("/api/v1/cars/4101?known=2026-11-01T00:00:00Z")
        .await
        .json();
    assert_eq!(unknown["positions"][0]["component"], Value::Null);
}

async fn a_component_is_told_with_its_life_use_and_due_work(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let valve = visitor.get("/api/v1/components/DV%2F210/1").await.json();
    assert_eq!(valve["title"], "distributor valve");
    // From 512,400 km at fitting to the last reading of 632,000 km.
    let run = json!({"value": 119_600.0, "unit": "km"});
    assert_eq!(
        (&valve["usage"][0]["counted"], &valve["usage"][0]["total"]),
        (&run, &run)
    );
    assert_eq!(
        valve["usage"][1]["total"],
        Value::Null,
        "running hours were never read"
    );
    assert_eq!(valve["fitments"][0]["car"], "4101");
    assert_eq!(valve["due"].as_array().unwrap().len(), 3);
    let unread = visitor.get("/api/v1/components/DV%2F210/3").await.json();
    assert_eq!(unread["usage"][0]["counted"], Value::Null);
}

async fn trains_are_told_with_their_cars_and_cut_outs(url: &str) {
    let served = Served::with_fleet(url).await;
    let at = |fact| ("2026-11-24T08:00:00Z".to_owned(), fact);
    served
        .import(vec![
            at(json!({"train_formed": {"id": "2T14", "vehicles": [{"unit": ["41", "reversed"]}]}})),
            at(json!({"isolated": {"car": "4102", "position": "=BS1-Q1", "state": "closed_vented", "cause": "leak"}})),
        ])
        .await;
    let visitor = served.visitor();
    let board = visitor.get("/api/v1/isolations").await.json();
    assert_eq!(board["isolations"][0]["train"], "2T14");
    let trains = visitor.get("/api/v1/trains").await.json();
    let vehicle = json!({"kind": "unit", "number": "41", "orientation": "reversed"});
    assert_eq!(trains["trains"][0]["vehicles"], json!([vehicle]));
    let train = visitor.get("/api/v1/trains/2T14").await.json();
    assert_eq!(train["cars"][0]["number"], "4102");
    assert_eq!(train["cars"][0]["isolations"][0]["state"], "closed_vented");
    assert_eq!(train["cars"][1]["orientation"], "reversed");
}

async fn the_due_list_is_paged_and_gives_each_row_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let more = (61..=160).map(|serial| {
        let receipt = json!({"component_received": {"component": {"part": "DV/210", "serial": serial.to_string()},
            "condition": "serviceable", "location": "Store North", "manufactured_on": "2023-01-01"}});
        ("2024-01-01T08:00:00Z".to_owned(), receipt)
    });
    served.import(more.collect()).await;
    let visitor = served.visitor();
    let (mut tasks, mut path) = (Vec::new(), "/api/v1/due".to_owned());
    loop {
        let page = visitor.get(&path).await.json();
        for row in page["due"].as_array().unwrap() {
            tasks.push(format!(
                "{} {} {}",
                row["due_on"], row["component"]["serial"], row["task"]
            ));
        }
        match page["next"].as_str() {
            Some(next) => path = format!("/api/v1/due?after={next}"),
            None => break,
        }
    }
    let days: Vec<&str> = tasks.iter().map(|task| &task[..12]).collect();
    assert!(days.is_sorted());
    tasks.sort();
    tasks.dedup();
    assert_eq!(tasks.len(), 2 * (VALVES + 100) + 2);
}

async fn a_fact_is_recorded_once_and_due_dates_follow(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = Client::signed_in(&served, Role::Planner).await;
    let entry = entry(&reading("4101", 650_000));
    let page = planner.record(&entry).await;
    assert_eq!(page.status(), 201, "{}", page.body());
    let recorded = page.json();
    assert_eq!(
        (&recorded["actor"], &recorded["kind"]),
        (&json!("planner"), &json!("reading_taken"))
    );
    assert_eq!(recorded["fact"], reading("4101", 650_000));
    let location = page.header("location").unwrap().to_owned();
    assert_eq!(planner.visitor.get(&location).await.json(), recorded);
    let again = planner.record(&entry).await;
    assert_eq!((again.status(), again.json()), (200, recorded));

    let due = planner
        .visitor
        .get("/api/v1/due?car=4101&state=overdue")
        .await
        .json();
    let tasks: Vec<_> = due["due"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| &row["task"])
        .collect();
    assert_eq!(tasks.iter().filter(|task| **task == "IN-DV").count(), 2);

    let south = "/api/v1/due?depot=South";
    assert_eq!(planner.visitor.get(south).await.json()["due"], json!([]));
    let technician = Client::signed_in(&served, Role::Technician).await;
    let fitting = self::entry(&fitted("9", "4201", FIRST));
    assert_eq!(technician.record(&fitting).await.status(), 201);
    let due = planner.visitor.get(south).await.json();
    assert_eq!(due["due"][0]["component"]["serial"], "9");
}

async fn what_is_not_recorded_is_a_problem_that_says_why(url: &str) {
    let served = Served::with_fleet(url).await;
    let last = served.store.view().await.unwrap().last_entry;
    let technician = Client::signed_in(&served, Role::Technician).await;
    let taken = entry(&fitted("9", "4101", FIRST));
    let unknown = entry(&fitted("9", "9999", FIRST));
    let wrong_time =
        json!({"id": Uuid::new_v4(), "effective_at": "yesterday", "fact": "withdrawn"});
    let negative = entry(&reading("4101", -1));
    let nonsense = entry(&json!({"brake_released": {}}));
    let unplaced = entry(&json!({"fitted": {"component": {"part": "DV/210", "serial": "9"}}}));
    let mut misnamed = entry(&fitted("9", "4101", FIRST));
    misnamed["fact"]["fitted"]["concesion"] = json!("C-1");
    for (body, status, kind, field) in [
        (&misnamed, 422, "/api#unreadable", "fact"),
        (&taken, 409, "/api#conflict", "position"),
        (&unknown, 422, "/api#refused", "car"),
        (&wrong_time, 422, "/api#unreadable", "effective_at"),
        (&negative, 422, "/api#unreadable", "fact"),
        (&nonsense, 422, "/api#unreadable", "fact"),
        (&unplaced, 422, "/api#unreadable", "fact"),
    ] {
        let problem = is_problem(&technician.record(body).await, status);
        assert_eq!(
            (&problem["type"], &problem["field"]),
            (&json!(kind), &json!(field)),
            "{problem}"
        );
    }
    let problem = is_problem(&technician.record(&taken).await, 409);
    assert!(problem["entry"].as_i64().is_some(), "{problem}");
    let auditor = Client::signed_in(&served, Role::Auditor).await;
    is_problem(
        &auditor.record(&entry(&reading("4101", 640_000))).await,
        403,
    );
    let without_token = Client {
        form_token: String::new(),
        ..technician
    };
    is_problem(
        &without_token
            .record(&entry(&reading("4101", 640_000)))
            .await,
        403,
    );
    let nobody = Client {
        visitor: served.visitor(),
        form_token: "x".to_owned(),
    };
    is_problem(&nobody.record(&entry(&reading("4101", 640_000))).await, 401);
    assert_eq!(
        served.store.view().await.unwrap().last_entry,
        last,
        "nothing was changed"
    );
}

async fn every_error_under_api_is_a_problem_document(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = Client::signed_in(&served, Role::Planner).await;
    let visitor = &planner.visitor;
    for (path, status) in [
        ("/api/v1/nothing", 404),
        ("/api/v2/due", 404),
        ("/api/v1/cars/9999", 404),
        ("/api/v1/units/9999", 404),
        ("/api/v1/components/DV%2F210/9999", 404),
        ("/api/v1/trains/9999", 404),
        ("/api/v1/positions/4101/%3DXX-K1", 404),
        ("/api/v1/positions/4101/no%20such%20label", 422),
        ("/api/v1/rule-sets/None/A", 404),
        ("/api/v1/test-records/T-99999", 404),
        ("/api/v1/find", 422),
        ("/api/v1/entries/99999", 404),
        ("/api/v1/entries/x", 422),
        ("/api/v1/cars/%20", 422),
        ("/api/v1/cars/4101?at=noon", 422),
        ("/api/v1/due?state=late", 422),
        ("/api/v1/due?after=7", 422),
        ("/api/v1/due?flet=Sedge", 422),
    ] {
        is_problem(&visitor.get(path).await, status);
    }
    is_problem(
        &visitor
            .send(visitor.request(Method::DELETE, "/api/v1/due"))
            .await,
        405,
    );
    let large = json!({"id": "x".repeat(65_600)});
    is_problem(&planner.record(&large).await, 413);
    is_problem(&planner.record(&json!([])).await, 422);
    let untyped = visitor.request(Method::POST, "/api/v1/entries").body("{}");
    is_problem(&visitor.send(untyped).await, 415);
    let problem = is_problem(&visitor.get("/api/v1/due?state=late").await, 422);
    assert_eq!(problem["field"], "state");
    let detail = problem["detail"].as_str().unwrap();
    assert!(
        detail.contains("“late”") && detail.contains("not_due, in_window"),
        "{detail}"
    );
}

async fn an_answer_costs_a_handful_of_statements(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.signed_in(Role::Planner).await;
    visitor.get("/api/v1/due").await;
    for (path, most) in [
        ("/api/v1/due?fleet=Sedge", 3),
        ("/api/v1/fleets", 3),
        ("/api/v1/cars", 3),
        ("/api/v1/cars/4101", 5),
        ("/api/v1/units/41", 3),
        ("/api/v1/positions/4101/%3DBS1-K1", 9),
        ("/api/v1/entries?about=car&name=4101", 5),
        ("/api/v1/components/DV%2F210/1", 9),
        ("/api/v1/isolations", 4),
        ("/api/v1/trains", 3),
        ("/api/v1/session", 1),
    ] {
        served.statements.take();
        assert_eq!(visitor.get(path).await.status(), 200, "{path}");
        let sent = served.statements.take();
        assert!((1..=most).contains(&sent.len()), "{path}: {sent:#?}");
    }
}

each_database!(
    every_answer_under_api_is_json_with_units_and_dates,
    a_car_is_told_as_at_and_as_known_at_a_time,
    a_component_is_told_with_its_life_use_and_due_work,
    trains_are_told_with_their_cars_and_cut_outs,
    the_due_list_is_paged_and_gives_each_row_once,
    a_fact_is_recorded_once_and_due_dates_follow,
    what_is_not_recorded_is_a_problem_that_says_why,
    every_error_under_api_is_a_problem_document,
    an_answer_costs_a_handful_of_statements,
);

/// A program with a session.
struct Client {
    visitor: Visitor,
    form_token: String,
}

impl Client {
    async fn signed_in(served: &Served, role: Role) -> Self {
        let visitor = served.signed_in(role).await;
        let session = visitor.get("/api/v1/session").await.json();
        assert_eq!(session["roles"], json!([role.name()]));
        let form_token = session["form_token"].as_str().unwrap().to_owned();
        Self {
            visitor,
            form_token,
        }
    }

    async fn record(&self, body: &Value) -> Page {
        let request = self.visitor.request(Method::POST, "/api/v1/entries");
        let request = request
            .header("content-type", "application/json")
            .header("x-form-token", &self.form_token)
            .body(body.to_string());
        self.visitor.send(request).await
    }
}

fn entry(fact: &Value) -> Value {
    json!({"id": Uuid::new_v4(), "effective_at": "2026-11-24T08:00:00Z", "reason": "for the test", "fact": fact})
}

/// The members of RFC 9457, section 3.1: each of them is there and fits the answer.
fn is_problem(page: &Page, status: u16) -> Value {
    assert_eq!(page.status(), status, "{}: {}", page.path(), page.body());
    assert_eq!(
        page.header("content-type"),
        Some("application/problem+json"),
        "{}",
        page.path()
    );
    let problem = page.json();
    assert_eq!(problem["status"], status);
    for member in ["type", "title", "detail"] {
        assert!(problem[member].is_string(), "{member} of {problem}");
    }
    problem
}
