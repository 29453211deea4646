//! Batches on the pages and for programs: given at receipt, which cars carry one today and at a past
//! time, every item of one wherever it is, and a check of the fleet that asks for one.

use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::record::founder;
use domain::people::Role;
use reqwest::Method;
use serde_json::{Value, json};
use store::Recorded;
use tests::each_database;
use tests::facts::at;
use tests::page::Page;
use uuid::Uuid;

use super::sample::{FIRST, SECOND, Served, VALVE, fitted};

const RECEIVED: &str = "2026-02-01T08:00:00Z";
const ON_CARS: &str = "/carrying?ask=batch&part=DV%2F210&batch=l24%2007";
const ITEMS: &str = "/components?batch=l2407&part=DV%2F210";

fn received(serial: &str, batch: &str) -> Value {
    json!({"component_received": {"component": {"part": VALVE, "serial": serial},
        "condition": "serviceable", "location": "Store North", "batch": batch}})
}

/// The sample fleet, whose valves came without a batch, with two batches: of one an item is on a car
/// and one in the store, of the other one is on the same car.
async fn with_batches(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let came = |serial, batch| (RECEIVED.to_owned(), received(serial, batch));
    let goes = |serial, position| {
        let on = "2026-03-01T08:00:00Z".to_owned();
        (on, fitted(serial, "4201", position))
    };
    let facts = vec![
        came("L24-07-001", "L24-07"),
        came("L24-07-002", "L24-07"),
        came("L24-08-001", "L24-08"),
        goes("L24-07-001", FIRST),
        goes("L24-08-001", SECOND),
    ];
    served.import(facts).await;
    served
}

/// Puts another receipt in the place of one, a minute later.
async fn correct(served: &Served, serial: &str, fact: Value) {
    served.pass(60);
    let component = format!("/api/v1/components/DV%2F210/{serial}");
    let component = served.visitor().get(&component).await.json();
    let command = Command {
        id: Uuid::new_v4(),
        effective_at: at(RECEIVED),
        reason: "the label was read again".to_owned(),
        corrects: component["received_by"].as_i64().map(Seq),
        fact: serde_json::from_value(fact).unwrap(),
    };
    let known = at(component["known"].as_str().unwrap());
    let founder = founder("import".parse().unwrap());
    let recorded = served.store.record(founder, command, known).await;
    assert!(matches!(recorded, Ok(Recorded::Now(_))), "{recorded:?}");
}

fn cars(page: &Page) -> Vec<String> {
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    page.texts("table.carrying tbody th")
}

async fn the_cars_that_carry_a_batch_are_told_today_and_of_the_past(url: &str) {
    let served = with_batches(url).await;
    let visitor = served.visitor();
    let on_cars = async |times: &str| cars(&visitor.get(&format!("{ON_CARS}{times}")).await);
    assert_eq!(on_cars("").await, ["4201"]);
    assert_eq!(on_cars("&at=2026-06-01").await, ["4201"]);
    assert_eq!(on_cars("&at=2026-02-15").await, [""; 0], "it was in store");
    correct(&served, "L24-08-001", received("L24-08-001", "L24-07")).await;
    assert_eq!(on_cars("").await, ["4201", "4201"]);
    let between = "&known=2026-11-25T12:00:30Z";
    assert_eq!(on_cars(between).await, ["4201"]);
    let page = visitor.get(ON_CARS).await;
    let file = page.attribute(".files a", "href").unwrap();
    let file = visitor.get(file).await;
    assert_eq!(file.body().lines().count(), 3, "{}", file.body());
    let items = page.attribute(".carried a", "href").unwrap();
    let items = visitor.get(items).await;
    assert_eq!(items.count("table.stock tbody tr"), 3);
}

async fn of_how_many_the_batch_is_not_known_is_said_beside_the_answer(url: &str) {
    let served = with_batches(url).await;
    let visitor = served.visitor();
    visitor.get(ON_CARS).await;
    served.statements.take();
    let found = visitor.get(ON_CARS).await;
    assert!(served.statements.take().len() < 10);
    assert!(found.text(".carried").starts_with("1 on 1 car:"));
    assert!(
        found
            .text(".missing")
            .starts_with("3 more on 2 cars cannot be told"),
        "{}",
        found.text("main")
    );
    let untold = found.attribute(".missing a", "href").unwrap();
    let untold = visitor.get(untold).await;
    assert_eq!(cars(&untold), ["4101", "4101", "4102"]);
    assert_eq!(untold.count(".missing"), 0);
    let api = visitor.get(&format!("/api/v1{ON_CARS}")).await.json();
    assert_eq!(api["found"], json!({"cars": 1, "places": 1}));
    assert_eq!(api["not_told"], json!({"cars": 2, "places": 3}));
    assert_eq!(api["carried"][0]["component"]["serial"], "L24-07-001");
    for wrong in [
        "?ask=batch&part=DV%2F210",
        "?ask=batch&batch=L24-07",
        "?ask=batch&part=DV%2F210&batch=-",
        "?ask=batch&part=DV%2F210&standing=deviates",
        "?part=DV%2F210&batch=L24-07",
    ] {
        let wrong = visitor.get(&format!("/api/v1/carrying{wrong}")).await;
        assert!(matches!(wrong.status(), 400 | 422), "{}", wrong.status());
    }
}

async fn a_batch_is_given_at_receipt_and_shown_wherever_the_component_is(url: &str) {
    let served = with_batches(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let form = stores.get("/components/new").await.form("#new form");
    let form = form
        .fill("part", VALVE)
        .fill("serial", "L24-07-003")
        .fill("location", "Store North");
    let wrong = stores.submit(&form.clone().fill("batch", "-")).await;
    assert_eq!(wrong.status(), 422);
    let says = wrong.text("#new-batch-wrong");
    assert!(says.contains("at least one letter or digit"), "{says}");
    let component = stores.submit(&form.fill("batch", "L24-07")).await;
    assert_eq!(component.path(), "/components/DV%2F210/L24-07-003");
    assert_eq!(component.fact("Batch"), "L24-07");
    let api = stores.get("/api/v1/components/DV%2F210/L24-07-003").await;
    assert_eq!(api.json()["batch"], "L24-07");
    let life = stores.get("/components/DV%2F210/L24-07-003/life").await;
    assert!(
        life.text("main").contains("in batch L24-07"),
        "{}",
        life.text("main")
    );
    let entry = format!("/ledger/{}", api.json()["received_by"]);
    let entry = stores.get(&entry).await;
    assert!(
        entry.text("main").contains("batch L24-07"),
        "{}",
        entry.text("main")
    );
    let correct = entry.attribute("section a.button[href*='corrects=']", "href");
    let correct = stores.get(correct.unwrap()).await.form("#new form");
    assert_eq!(correct.values("batch"), ["L24-07"]);
    let items = component.attribute("dl.facts a[href^='/components?batch=']", "href");
    let items = stores.get(items.unwrap()).await;
    assert_eq!(
        items.texts("table.stock tbody th a"),
        ["L24-07-001", "L24-07-002", "L24-07-003"]
    );
    let without = stores.get("/api/v1/components/DV%2F210/1").await.json();
    assert_eq!(without["batch"], Value::Null);
}

async fn a_program_records_a_receipt_with_its_batch_and_reads_it_back(url: &str) {
    let served = Served::with_fleet(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let session = stores.get("/api/v1/session").await.json();
    let token = session["form_token"].as_str().unwrap().to_owned();
    let send = async |fact: &Value| {
        let entry = json!({"id": Uuid::new_v4().to_string(), "reason": "by a program",
            "effective_at": "2026-11-25T12:00:00Z", "fact": fact});
        let request = stores.request(Method::POST, "/api/v1/entries");
        let request = request.header("x-form-token", &token);
        let request = request.header("content-type", "application/json");
        stores.send(request.body(entry.to_string())).await
    };
    let mut receipt = received("L24-07-001", "L24-07");
    receipt["component_received"]["condition"] = json!("quarantined");
    let recorded = send(&receipt).await;
    assert_eq!(recorded.status(), 201, "{}", recorded.body());
    assert_eq!(recorded.json()["fact"], receipt);
    let kept = format!("/api/v1/entries/{}", recorded.json()["number"]);
    assert_eq!(stores.get(&kept).await.json()["fact"], receipt);
    let mut wrong = receipt.clone();
    wrong["component_received"]["component"]["serial"] = json!("L24-07-002");
    wrong["component_received"]["batch"] = json!(" L24-07");
    let refused = send(&wrong).await;
    assert!(matches!(refused.status(), 400 | 422), "{}", refused.body());
    assert!(refused.body().contains("batch"), "{}", refused.body());
}

async fn every_item_of_a_batch_is_listed_and_brought_out_as_a_file(url: &str) {
    let served = with_batches(url).await;
    let visitor = served.visitor();
    let listed = visitor.get(ITEMS).await;
    let rows = listed.texts("table.stock tbody tr");
    assert!(rows[0].contains("of car 4201"), "{rows:?}");
    assert!(rows[1].contains("Store North"), "{rows:?}");
    assert_eq!(rows.len(), 2);
    let file = listed.attribute(".files a", "href").unwrap();
    let file = visitor.get(file).await;
    assert!(file.header("content-type").unwrap().starts_with("text/csv"));
    let lines: Vec<&str> = file.body().lines().collect();
    assert_eq!(lines.len(), 3, "{lines:?}");
    assert!(lines[1].starts_with("DV/210,L24-07-001,L24-07-001,L24-07,serviceable,,"));
    assert!(lines[1].contains("of car 4201"), "{lines:?}");
    assert!(lines[2].starts_with("DV/210,L24-07-002,L24-07-002,L24-07,serviceable,Store North,,"));
    // As it was told before anything was fitted, and before anything was received.
    let stored = visitor.get(&format!("{ITEMS}&at=2026-02-15")).await;
    assert_eq!(
        stored.texts("table.stock tbody th a"),
        ["L24-07-001", "L24-07-002"]
    );
    let file = stored.attribute(".files a", "href").unwrap();
    let file = visitor.get(file).await;
    assert_eq!(file.body().matches("Store North").count(), 2);
    let earlier = visitor.get(&format!("{ITEMS}&at=2026-01-15")).await;
    assert_eq!(earlier.count("table.stock"), 0);
    let none = visitor.get("/components?batch=L99").await;
    assert!(none.text("main").contains("No item of batch L99"));
    let api = visitor.get(&format!("/api/v1{ITEMS}")).await.json();
    let place = json!({"car": "4201", "assembly": null, "position": FIRST});
    assert_eq!(api["items"][0]["place"], place);
    assert_eq!(api["items"][1]["location"], "Store North");
    assert_eq!(api["next"], Value::Null);
    let rest = "&after_part=DV%2F210&after_serial=L24-07-001";
    let rest = visitor.get(&format!("/api/v1{ITEMS}{rest}")).await.json();
    assert_eq!(rest["items"][0]["component"]["serial"], "L24-07-002");
    assert_eq!(rest["items"][1], Value::Null);
    let found = visitor.get("/find?q=l24%2007").await;
    let here = "/components?batch=l24%2007&part=DV%2F210";
    assert_eq!(found.path(), here, "the only thing of that name");
    for wrong in [
        "/components?batch=-",
        "/components.csv",
        "/components.csv?batch=-",
        "/components?batch=L24-07&part=DV%2F999",
        "/api/v1/components",
    ] {
        assert_eq!(visitor.get(wrong).await.status(), 422, "{wrong}");
    }
}

async fn a_check_of_the_fleet_asks_for_a_batch(url: &str) {
    let served = with_batches(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let found = engineer.get(ON_CARS).await;
    let open = found.attribute("a[href^='/fleet-checks/new']", "href");
    let page = engineer.get(open.unwrap()).await;
    let notes = page.text("main");
    let says =
        "Of 2 of the cars that are named it cannot be told whether they carry it: 4101, 4102.";
    assert!(notes.contains(says), "{notes}");
    let form = page.form("#new form");
    assert_eq!(form.values("cars"), ["4101\n4102\n4201"]);
    let form = form
        .fill("title", "porous castings")
        .fill("instruction", "look for frost at the housing")
        .fill("cars", "4102, 4201")
        .fill("answer_by", "2026-12-01");
    let check = engineer.submit(&form).await;
    assert_eq!(check.texts("table tbody th"), ["4102", "4201"]);
    assert_eq!(
        check.texts("table tbody td.why"),
        ["cannot be told", "carries it"]
    );
    let facts = check.text(".facts");
    assert!(facts.contains("part DV/210 of batch l24 07"), "{facts}");
    let left = check.text("#not-looked-at");
    assert!(
        left.contains("Of 1 car that was not looked at it cannot be told: 4101"),
        "{left}"
    );
    assert!(!left.contains("Now on"), "{left}");
    served.pass(60);
    let now = "2026-11-25T12:00:00Z".to_owned();
    let late = fitted("L24-07-002", "4102", SECOND);
    served.import(vec![(now, late)]).await;
    let check = engineer.get(check.path()).await;
    assert_eq!(
        check.texts("table tbody td.why"),
        ["carries it", "carries it"]
    );
    let again = check.attribute("#not-looked-at a[href^='/carrying']", "href");
    let again = engineer.get(again.unwrap()).await;
    assert_eq!(cars(&again), ["4102", "4201"]);
    let api = engineer
        .get(&format!("/api/v1{}", check.path()))
        .await
        .json();
    assert_eq!(api["cars"][0]["by_the_register"], "carries_it");
    assert_eq!(api["not_looked_at"]["cannot_be_told"], json!(["4101"]));
}

async fn a_batch_that_no_component_ever_bore_is_unknown_and_no_answer(url: &str) {
    let served = with_batches(url).await;
    let visitor = served.visitor();
    let asked = "carrying?ask=batch&part=DV%2F210&batch=L99-9";
    for path in [format!("/{asked}"), format!("/api/v1/{asked}")] {
        let refused = visitor.get(&path).await;
        assert_eq!(refused.status(), 422, "{path}");
        let says = refused.body();
        assert!(
            says.contains("no component of it has ever borne this one"),
            "{path}: {says}"
        );
    }
    let file = "/carrying.csv?ask=batch&part=DV%2F210&batch=L99-9";
    assert_eq!(visitor.get(file).await.status(), 422);
    // Before its label was read again it was of that batch, and by what is known now nothing ever was.
    correct(&served, "L24-08-001", received("L24-08-001", "L24-07")).await;
    let once = "/carrying?ask=batch&part=DV%2F210&batch=L24-08";
    let now = visitor.get(once).await;
    assert_eq!(now.status(), 422, "{}", now.text("main"));
    let then = format!("{once}&known=2026-11-25T12:00:30Z");
    assert_eq!(cars(&visitor.get(&then).await), ["4201"]);
}

async fn what_bore_a_batch_and_never_came_in_is_no_answer(url: &str) {
    let served = with_batches(url).await;
    let visitor = served.visitor();
    let came = received("L25-01-001", "L25-01");
    served.import(vec![(RECEIVED.to_owned(), came)]).await;
    let asked = ["ask=batch&batch=L25-01", "serial=L25"];
    let asked = asked.map(|asked| format!("/api/v1/carrying?part=DV%2F210&{asked}"));
    for asked in &asked {
        let found = visitor.get(asked).await;
        assert_eq!(found.status(), 200, "{asked}: {}", found.body());
        assert_eq!(found.json()["found"], json!({"cars": 0, "places": 0}));
    }
    correct(&served, "L25-01-001", json!("withdrawn")).await;
    for asked in &asked {
        let refused = visitor.get(asked).await;
        assert_eq!(refused.status(), 422, "{asked}: {}", refused.body());
        // What was known before is still told.
        let then = format!("{asked}&known=2026-11-25T12:00:30Z");
        let then = visitor.get(&then).await;
        assert_eq!(then.status(), 200, "{}", then.body());
    }
}

each_database!(
    the_cars_that_carry_a_batch_are_told_today_and_of_the_past,
    of_how_many_the_batch_is_not_known_is_said_beside_the_answer,
    a_batch_is_given_at_receipt_and_shown_wherever_the_component_is,
    a_program_records_a_receipt_with_its_batch_and_reads_it_back,
    every_item_of_a_batch_is_listed_and_brought_out_as_a_file,
    a_check_of_the_fleet_asks_for_a_batch,
    a_batch_that_no_component_ever_bore_is_unknown_and_no_answer,
    what_bore_a_batch_and_never_came_in_is_no_answer,
);
