//! Modifications as pages and for programs: issued, embodied, and what is left of them.

use domain::people::Role;
use tests::each_database;

use super::sample::Served;

async fn a_campaign_on_cars_is_issued_and_comes_forward_car_by_car(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get("/modifications/new").await;
    let form = page.form("#new form");
    let form = form
        .fill("number", "M-7")
        .fill("title", "another label")
        .fill("car_type", "Motor car")
        .fill("cars", "4101 to 4199")
        .fill("by", "2026-11-01")
        .fill("source", "instruction 7");
    let both = engineer.submit(&form.clone().fill("part", "DV/210")).await;
    assert_eq!(both.status(), 422);
    let issued = engineer.submit(&form).await;
    assert_eq!(issued.path(), "/modifications/M-7");
    assert_eq!(issued.text("#progress"), "0 of 2");
    assert_eq!(issued.count("dl.facts .state-overdue"), 1);
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get("/modifications/M-7").await;
    let form = page.form("form[action*=\"/embodied\"]");
    let mute = technician.submit(&form.clone().fill("car", "4101")).await;
    assert_eq!(mute.status(), 422);
    let form = form.fill("car", "4101").fill("evidence", "order 12");
    let done = technician.submit(&form).await;
    assert_eq!(done.text("#progress"), "1 of 2");
    served.statements.take();
    let page = technician.get("/modifications/M-7").await;
    assert!(served.statements.take().len() < 10);
    let left = page.texts("[aria-label=\"What is left\"] tbody th");
    assert_eq!(left, ["car 4102"]);
    // The work on the car stands beside it, what is overdue first.
    let due = page.text("[aria-label=\"What is left\"] td.day");
    assert!(due.starts_with("overdue, was due "), "{due}");
    assert!(due.contains("next 2027-03-02"), "{due}");
    let rows = page.attribute("[aria-label=\"What is left\"] td.day > a", "href");
    let rows = technician.get(rows.unwrap()).await;
    assert_eq!(rows.count("table.due tbody tr"), 1);
    let answer = technician.get("/api/v1/modifications/M-7").await.json();
    assert_eq!(answer["units"][0]["embodied"], 1);
    assert_eq!(answer["left"][0]["car"], "4102");
    assert_eq!(answer["left"][0]["next_due"], "2027-03-02");
    assert!(answer["left"][0]["overdue"].is_string(), "{answer}");
    let list = technician.get("/api/v1/modifications").await.json();
    assert_eq!(list["modifications"][0]["number"], "M-7");
    assert_eq!(technician.get("/modifications/M-8").await.status(), 404);
    let listed = technician.get("/modifications").await;
    assert_eq!(listed.texts("tbody th"), ["M-7"]);
}

each_database!(a_campaign_on_cars_is_issued_and_comes_forward_car_by_car);
