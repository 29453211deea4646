//! The list of trains: what runs now, and apart from it what a later formation has superseded.

use domain::people::Role;
use tests::each_database;
use tests::visitor::Visitor;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;
use super::sheets::decide;

async fn a_train_whose_cars_were_formed_into_another_stands_apart_and_says_where_they_are(
    url: &str,
) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let before = controller.get("/trains").await;
    assert_eq!(before.count("#superseded"), 0);
    assert!(before.texts("#formed tbody th").contains(&"T1".to_owned()));
    let form = before.form("#form form").fill("train", "T9");
    let formed = controller.submit(&form.fill("formation", "TM101")).await;
    assert_eq!(formed.status(), 200, "{}", formed.text("main"));
    let after = controller.get("/trains").await;
    assert_eq!(after.texts("#superseded tbody th"), ["T1"]);
    let says = after.texts("#superseded tbody td")[0].clone();
    assert!(says.contains("Cars of it are now in T9"), "{says}");
    let now = after.texts("#formed tbody th");
    assert!(now.contains(&"T9".to_owned()) && !now.contains(&"T1".to_owned()));
}

async fn a_train_with_cut_outs_tells_what_was_decided_and_whether_it_stands(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let row = async || {
        let page = controller.get("/trains").await;
        let row = page.text("#formed tr:has(a[href='/trains/T1'])");
        row.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let told = row().await;
    assert!(told.contains("1 cut-out"), "{told}");
    assert!(
        told.contains("not decided since the cut-out of 2026-11-25"),
        "{told}"
    );
    decide(&controller, "/trains/T1/decide").await;
    let told = row().await;
    assert!(
        told.contains("decided:") && told.contains("By controller"),
        "{told}"
    );
    assert!(!told.contains("not decided"), "{told}");
    record(&controller, "4105", &CYLINDER_COCK).await;
    let told = row().await;
    assert!(told.contains("decision void since entry"), "{told}");
    assert!(told.contains("cut outs changed"), "{told}");
    served.statements.take();
    controller.get("/trains").await;
    assert!(served.statements.take().len() < 10);
}

/// What the list tells of a train that takes cars out of another, about which a decision was taken.
async fn told_of_a_train_formed_of(url: &str, cars: &str) -> (Served, Visitor, String) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    decide(&controller, "/trains/T1/decide").await;
    served.pass(60);
    let page = controller.get("/trains").await;
    let form = page.form("#form form").fill("train", "T9");
    controller.submit(&form.fill("formation", cars)).await;
    let page = controller.get("/trains").await;
    let told = page.text("#formed tr:has(a[href='/trains/T9'])");
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    (served, controller, told)
}

/// Whoever was told of the decision about the former train is to hear that it is void.
async fn a_train_tells_of_the_void_decision_about_the_former_train_of_its_cars(url: &str) {
    let (served, controller, told) = told_of_a_train_formed_of(url, "TM101").await;
    let expected = "decision about train T1, in which cars of this train ran, void since entry";
    assert!(told.contains(expected), "{told}");
    assert!(!told.contains("not decided"), "{told}");
    served.statements.take();
    controller.get("/trains").await;
    assert!(served.statements.take().len() < 10);
}

/// Even where no cut-out remains on its cars.
async fn a_train_without_cut_outs_tells_of_that_void_decision_too(url: &str) {
    let (_served, _, told) = told_of_a_train_formed_of(url, "4105").await;
    let expected = "decision about train T1, in which cars of this train ran, void since entry";
    assert!(told.contains("none") && told.contains(expected), "{told}");
}

each_database!(
    a_train_without_cut_outs_tells_of_that_void_decision_too,
    a_train_tells_of_the_void_decision_about_the_former_train_of_its_cars,
    a_train_whose_cars_were_formed_into_another_stands_apart_and_says_where_they_are,
    a_train_with_cut_outs_tells_what_was_decided_and_whether_it_stands,
);
