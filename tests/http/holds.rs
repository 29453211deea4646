//! Evidence holds on pages: set by a form, shown wherever somebody would act, lifted by whoever
//! set it and nobody else.

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::{FIRST, Served};

const VALVE: &str = "/components/DV%2F210/1";
const PLACE: &str = "/positions/4101/%3DBS1-K1";

/// Sets a hold by its form.
async fn hold(visitor: &Visitor, fields: &[(&str, &str)]) -> Page {
    let page = visitor.get("/holds/new").await;
    let form = page.form("#new form");
    let form = form.fill("investigation", "collision at Sedge Junction, ref. 7");
    let filled = fields
        .iter()
        .fold(form, |form, (name, value)| form.fill(name, value));
    visitor.submit(&filled).await
}

async fn a_held_component_is_shown_as_held_wherever_somebody_would_act(url: &str) {
    let served = Served::with_fleet(url).await;
    let train = json!({"train_formed": {"id": "2T14", "vehicles": [{"unit": ["41", "forward"]}]}});
    served
        .import(vec![("2026-11-25T04:00:00Z".to_owned(), train)])
        .await;
    let controller = served.signed_in(Role::Controller).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    assert!(engineer.get(VALVE).await.count("details.entry") > 0);
    let page = hold(&controller, &[("serial", "1"), ("part", "DV/210")]).await;
    assert_eq!(page.status(), 200);
    assert_eq!(page.text("h1"), "Hold on DV/210 serial 1");
    let at_place = format!("at {FIRST} of car 4101");
    for path in [
        VALVE,
        PLACE,
        "/cars/4101",
        "/units/41",
        "/trains/2T14",
        "/tests/new?car=4101",
    ] {
        let page = engineer.get(path).await;
        let told = page.text(".held");
        assert!(
            told.contains("Held as evidence: DV/210 serial 1"),
            "{path}: {told}"
        );
        assert!(
            told.contains(&at_place) && told.contains("set by controller"),
            "{path}: {told}"
        );
    }
    for path in [VALVE, PLACE] {
        assert_eq!(engineer.get(path).await.count("details.entry"), 0, "{path}");
    }
    // A meter is still read, and neither work nor a test of the car is offered.
    let car = engineer.get("/cars/4101").await;
    assert_eq!(car.count("#readings, #done"), 1);
    assert_eq!(car.count("a[href^='/tests/new']"), 0);
    let due = engineer.get("/due?car=4101").await;
    assert!(due.texts(".held-mark").len() > 1, "{}", due.text("main"));
    assert_eq!(due.texts(".held-mark")[0], "held as evidence");
    let other = engineer.get("/due?car=4102").await;
    assert_eq!(other.count(".held-mark"), 0);
    let listed = engineer.get("/holds").await;
    assert_eq!(listed.count("table.holds tbody tr"), 1);
    assert!(engineer.get("/").await.text("main").contains("1 in force"));
    let program = engineer.get("/api/v1/holds").await.json();
    assert_eq!(program[0]["component"]["serial"], "1");
    assert_eq!(program[0]["on_car"], "4101");
    let number = program[0]["number"].clone();
    let body = engineer.get("/api/v1/components/DV%2F210/1").await.json();
    assert_eq!(body["held_by"], serde_json::json!([number]));
    assert_eq!(
        engineer.get("/api/v1/cars/4101").await.json()["held_by"],
        body["held_by"]
    );
}

async fn only_whoever_set_it_is_offered_to_lift_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = hold(&controller, &[("car", "4101")]).await;
    let path = page.path().to_owned();
    let others = engineer.get(&path).await;
    assert_eq!(others.count("form[action$='/lift#lift']"), 0);
    // Two others lift that of somebody who cannot sign in, and of nobody else.
    assert_eq!(others.count("form[action$='/propose#propose']"), 0);
    let own = controller.get(&path).await;
    let form = own
        .form("#lift form")
        .fill("evidence", "release of 26 November");
    // The same form sent by somebody else is refused and says why.
    let mut fields: Vec<_> = form.fields().to_vec();
    let token = engineer.get("/holds/new").await.form("#new form");
    let token = token.values("form_token")[0].to_owned();
    for (name, value) in &mut fields {
        if name == "form_token" {
            value.clone_from(&token);
        }
    }
    for action in ["lift", "propose"] {
        let request = engineer.request(reqwest::Method::POST, &format!("{path}/{action}"));
        let refused = engineer.send(request.form(&fields)).await;
        assert_eq!(refused.status(), 422, "{action}");
        let why = refused.text(".refusal");
        assert!(why.contains("only controller, who set the hold"), "{why}");
    }
    served.pass(60);
    let lifted = controller.submit(&form).await;
    assert!(lifted.text(".done").starts_with("Lifted "));
    let list = engineer.get("/holds").await;
    assert!(list.text("main").contains("Nothing is held as evidence."));
    assert_eq!(list.count("table.holds tbody tr"), 1);
    assert_eq!(engineer.get("/cars/4101").await.count(".held"), 0);
    // As at the time between, and as known before it was lifted, the car was held.
    let then = engineer.get("/cars/4101?at=2026-11-25T12:00:30Z").await;
    assert!(
        then.text(".held")
            .contains("Held as evidence then: car 4101")
    );
    let known = "/cars/4101?at=2026-11-25T12:01:00Z&known=2026-11-25T12:00:30Z";
    assert_eq!(engineer.get(known).await.count(".held"), 1);
    let before = "/cars/4101?at=2026-11-25T11:00:00Z";
    assert_eq!(engineer.get(before).await.count(".held"), 0);
}

async fn what_was_held_is_listed_as_it_was_and_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = hold(&controller, &[("serial", "1"), ("part", "DV/210")]).await;
    let number = page.path().rsplit('/').next().unwrap().to_owned();
    served.pass(60);
    let form = page
        .form("#lift form")
        .fill("evidence", "release of 26 November");
    controller.submit(&form).await;
    for (times, held) in [
        ("at=2026-11-25T11:00:00Z", 0),
        ("at=2026-11-25T12:00:30Z", 1),
        ("at=2026-11-25T12:01:00Z", 0),
        // Nobody knew yet that it was lifted.
        ("at=2026-11-25T12:01:00Z&known=2026-11-25T12:00:30Z", 1),
    ] {
        let list = controller.get(&format!("/holds?{times}")).await;
        assert_eq!(list.status(), 200, "{times}");
        assert_eq!(list.count("table.holds tbody tr"), held, "{times}");
        assert!(list.text(".caution").contains("speaks of the past"));
        assert_eq!(list.count("a[href='/holds/new']"), 0, "{times}");
        let told = controller.get(&format!("/api/v1/holds?{times}")).await;
        let told = told.json();
        assert_eq!(told.as_array().unwrap().len(), held, "{times}");
        if held == 1 {
            assert_eq!(told[0]["number"].to_string(), number, "{times}");
        }
    }
    let now = controller.get("/holds").await;
    let form = now.form("form.filters:has([name=known])");
    let then = controller
        .submit(&form.fill("at", "2026-11-25T12:00:30Z"))
        .await;
    assert_eq!(then.count("table.holds tbody tr"), 1);
}

/// Who brought it in has no account: one person proposes to lift it and a brake engineer approves.
async fn two_people_lift_a_hold_that_was_brought_in(url: &str) {
    let served = Served::with_fleet(url).await;
    let held = json!({"held_as_evidence": {
        "held": {"car": "4101"}, "investigation": "collision at Sedge Junction (invented)"}});
    let at = "2026-11-24T08:00:00Z".to_owned();
    served.import(vec![(at, held)]).await;
    let controller = served.signed_in(Role::Controller).await;
    let list = controller.get("/holds").await;
    let path = list.attribute("table.holds tbody a[href^='/holds/']", "href");
    let path = path.unwrap().to_owned();
    let form = controller.get(&path).await.form("#propose form");
    let form = form.fill("evidence", "release of 26 November");
    let proposed = controller.submit(&form).await;
    assert_eq!(proposed.path(), "/approvals", "{}", proposed.text("main"));
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    served.pass(60);
    let approvals = engineer.get("/approvals").await;
    let approve = approvals.form("form:has(input[value=approved])");
    engineer.submit_and_agree(&approve).await;
    let lifted = engineer.get(&path).await;
    assert!(
        lifted.text("main").contains("Lifted "),
        "{}",
        lifted.text("main")
    );
}

async fn a_held_entry_offers_no_withdrawal(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get(VALVE).await;
    let entry = page.attribute("table.fitments small a", "href").unwrap();
    let number = entry.rsplit('/').next().unwrap();
    assert_eq!(engineer.get(entry).await.count("#withdraw"), 1);
    hold(&engineer, &[("entry", number)]).await;
    let held = engineer.get(entry).await;
    assert_eq!(held.count("#withdraw"), 0);
    assert!(held.text(".held").contains("collision at Sedge Junction"));
}

async fn a_hold_names_one_thing_and_what_is_investigated(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    for fields in [
        &[("serial", "1"), ("part", "DV/210"), ("car", "4101")][..],
        &[],
        &[("entry", "one")],
        &[("car", "4101"), ("investigation", " ")],
        &[("car", "9999")],
        &[("entry", "999999")],
    ] {
        let page = hold(&engineer, fields).await;
        assert_eq!(page.status(), 422, "{fields:?}");
        assert!(page.count(".refusal") > 0, "{fields:?}");
    }
    assert_eq!(served.store.view().await.unwrap().holds.holds, []);
    let stores = served.signed_in(Role::Stores).await;
    assert_eq!(stores.get("/holds/new").await.count("form.fields"), 0);
}

async fn another_server_knows_of_a_hold_at_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let other = store::Store::open(url, domain::time::Zone::UTC)
        .await
        .unwrap();
    assert_eq!(other.view().await.unwrap().holds.holds, []);
    let controller = served.signed_in(Role::Controller).await;
    hold(&controller, &[("car", "4101")]).await;
    assert_eq!(other.view().await.unwrap().holds.holds.len(), 1);
}

each_database!(
    what_was_held_is_listed_as_it_was_and_as_it_was_known,
    a_held_component_is_shown_as_held_wherever_somebody_would_act,
    a_held_entry_offers_no_withdrawal,
    a_hold_names_one_thing_and_what_is_investigated,
    another_server_knows_of_a_hold_at_once,
    only_whoever_set_it_is_offered_to_lift_it,
    two_people_lift_a_hold_that_was_brought_in,
);
