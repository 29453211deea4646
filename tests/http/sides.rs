//! A swap, a move and a component robbed for another car are one entry each, and every page that
//! shows one end tells the other.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;

use super::foreseen::{entry, post, token};
use super::sample::{FIRST, SECOND, Served, VALVE};

fn valve(serial: &str) -> Value {
    json!({"part": VALVE, "serial": serial})
}

/// Records facts a day apart, and gives the number of the last.
async fn after(served: &Served, facts: &[Value]) -> i64 {
    let facts = (1..).zip(facts.iter().cloned());
    let facts = facts.map(|(n, fact)| (format!("2026-02-{n:02}T08:00:00Z"), fact));
    served.import(facts.collect()).await;
    served.store.view().await.unwrap().last_entry
}

async fn a_swap_is_told_on_both_cars_and_of_both_components(url: &str) {
    let served = Served::with_fleet(url).await;
    let swap =
        json!({"swapped": {"first": valve("1"), "second": valve("3"), "reason": "matched_set"}});
    let entry = after(&served, &[swap]).await;
    let visitor = served.visitor();
    let page = visitor.get(&format!("/ledger/{entry}")).await;
    assert_eq!(page.texts(".sides h3"), ["car 4101", "car 4102"]);
    let told = page.texts(".sides li");
    let went = format!(
        "{FIRST} lost DV/210 serial 1, which went to {FIRST} of car 4102, and DV/210 serial 3 took its place."
    );
    let came = format!("{FIRST} got DV/210 serial 3, which came from {FIRST} of car 4102.");
    assert!(told.contains(&went), "{told:#?}");
    assert!(told.contains(&came), "{told:#?}");
    assert_eq!(told.len(), 4);
    for path in [
        "/components/DV%2F210/1",
        "/positions/4101/%3DBS1-K1",
        "/positions/4102/%3DBS1-K1",
    ] {
        let page = visitor.get(path).await;
        let text = page.text("main");
        assert!(
            text.contains("in exchange for DV/210 serial"),
            "{path}: {text}"
        );
        assert!(!text.contains("another position"), "{path}: {text}");
    }
    let answer = visitor
        .get(&format!("/api/v1/entries/{entry}"))
        .await
        .json();
    let list = visitor.get("/api/v1/entries").await.json();
    assert_eq!(list["entries"][0]["sides"], answer["sides"]);
    let first = &answer["sides"][0];
    assert_eq!(first["component"], valve("1"));
    assert_eq!(first["from"], json!({"car": "4101", "position": FIRST}));
    assert_eq!(first["to"], json!({"car": "4102", "position": FIRST}));
}

async fn whoever_records_a_move_is_answered_with_both_sides(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let token = token(&technician).await;
    let moved = json!({"moved": {"component": valve("2"),
        "to": {"car": "4102", "position": SECOND}, "reason": "access"}});
    let moved = entry("2026-11-25T11:00:00Z", &moved);
    let answer = post(&technician, "/api/v1/entries", &token, &moved).await;
    assert_eq!(answer.status(), 201, "{}", answer.body());
    let side = json!({"component": valve("2"), "from": {"car": "4101", "position": SECOND},
        "to": {"car": "4102", "position": SECOND}});
    assert_eq!(answer.json()["sides"], json!([side]));
}

/// Robbing is one entry with both sides: GAO-02-86 of November 2001 found that the services did
/// not know how much they robbed, since it was not recorded as such.
async fn a_robbed_car_and_the_one_that_was_helped_are_told_of_each_other(url: &str) {
    let served = Served::with_fleet(url).await;
    let robbed = json!({"moved": {"component": valve("2"), "to": {"car": "4102", "position": SECOND}, "reason": "robbed"}});
    let entry = after(&served, &[robbed]).await;
    let visitor = served.visitor();
    let page = visitor.get(&format!("/ledger/{entry}")).await;
    let told = page.texts(".sides li");
    let left = format!(
        "{SECOND} was robbed of DV/210 serial 2, which went to {SECOND} of car 4102, and nothing took its place."
    );
    let got = format!("{SECOND} got DV/210 serial 2, which came from {SECOND} of car 4101.");
    assert_eq!(told, [left, got]);
    let robbed = visitor.get("/positions/4101/%3DBS2-K1").await;
    assert_eq!(robbed.count("a[href='/positions/4102/%3DBS2-K1']"), 1);
    // What was taken back is no longer so on the pages of positions, and the entry still tells it.
    served.pass(60);
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let form = engineer.get(&format!("/ledger/{entry}")).await;
    let form = form
        .form("form[action$=\"/withdraw\"]")
        .fill("reason", "never done");
    engineer.submit_and_agree(&form).await;
    let page = visitor.get(&format!("/ledger/{entry}")).await;
    assert_eq!(page.count(".sides li"), 2, "{}", page.text("main"));
    let back = visitor.get("/positions/4101/%3DBS2-K1").await;
    assert_eq!(back.count("a[href='/positions/4102/%3DBS2-K1']"), 0);
}

async fn a_component_is_found_by_every_plate_it_ever_bore(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get("/components/DV%2F210/10").await;
    let form = page.form("#plate form").fill("plate", "10-B");
    let mute = technician.submit(&form).await;
    assert_eq!(mute.status(), 422, "a reason is needed");
    let form = form
        .fill("reason", "plate torn off")
        .fill("cause", "replaced");
    let done = technician.submit(&form).await;
    assert_eq!(done.status(), 200, "{}", done.body());
    assert!(
        done.fact("Plate").starts_with("10-B"),
        "{}",
        done.fact("Plate")
    );
    for typed in ["10b", "10"] {
        let found = technician.get(&format!("/find?q={typed}")).await;
        assert_eq!(found.path(), "/components/DV%2F210/10", "{typed}");
    }
    let listed = technician.get("/components?serial=10-").await;
    assert_eq!(listed.count("a[href='/components/DV%2F210/10']"), 1);
    // Another component never bears it, and a form takes it for the one that does.
    let other = technician.get("/components/DV%2F210/11").await;
    let other = other.form("#plate form").fill("plate", "10-B");
    let refused = technician.submit(&other.fill("reason", "as read")).await;
    assert_eq!(refused.status(), 422);
    assert!(
        refused.text("main").contains("DV/210 serial 10 bears"),
        "{}",
        refused.text("main")
    );
    let place = technician.get("/positions/4102/%3DBS2-K1").await;
    let fitted = technician
        .submit_and_agree(&place.form("#fit form").fill("serial", "10 b"))
        .await;
    assert_eq!(fitted.text(".fitted-now"), "DV/210 serial 10");
    let answer = technician
        .get("/api/v1/components/DV%2F210/10")
        .await
        .json();
    assert_eq!(answer["plate"], "10-B");
    assert_eq!(answer["plates"][0]["cause"], "replaced");
}

each_database!(
    whoever_records_a_move_is_answered_with_both_sides,
    a_swap_is_told_on_both_cars_and_of_both_components,
    a_robbed_car_and_the_one_that_was_helped_are_told_of_each_other,
    a_component_is_found_by_every_plate_it_ever_bore,
);
