//! Forms that are sent twice by a double click: time passes between the presses, one entry is
//! recorded, and both presses lead to the same page.

use domain::people::Role;
use store::refused::RefusedFilter;
use tests::each_database;
use tests::form::Form;
use tests::page::Page;
use tests::visitor::Visitor;

use super::approvals::second;
use super::isolations::{CYLINDER_COCK, passed_test};
use super::sample::Served;

/// Presses the button of a form twice, a second apart, and answers with the page it leads to.
async fn twice(served: &Served, visitor: &Visitor, form: &Form) -> Page {
    let before = newest(served).await;
    let first = visitor.submit(form).await;
    assert_eq!(first.status(), 200, "{}", first.text("main"));
    assert_eq!(newest(served).await, before + 1);
    served.pass(1);
    let second = visitor.submit(form).await;
    assert_eq!(
        (second.status(), second.path()),
        (200, first.path()),
        "{}",
        second.text("main")
    );
    assert_eq!(newest(served).await, before + 1, "recorded once");
    let all = RefusedFilter::default();
    let refused = served.store.refused_attempts(&all).await.unwrap();
    assert!(refused.is_empty(), "nothing was refused");
    second
}

async fn newest(served: &Served) -> i64 {
    served.store.view().await.unwrap().last_entry
}

/// The form of a cut-out of which no time is said.
fn cut_out(page: &Page) -> Form {
    let untimed = CYLINDER_COCK.iter().filter(|(name, _)| *name != "at");
    untimed.fold(page.form("#new form"), |form, (name, value)| {
        form.fill(name, value)
    })
}

async fn a_cut_out_its_checks_its_decision_and_its_end_are_recorded_once(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/isolations/new?car=4102").await;
    let board = twice(&served, &controller, &cut_out(&page)).await;
    assert_eq!((board.path(), board.count(".cut-outs")), ("/isolations", 1));

    let train = controller.get("/trains/T1").await;
    let check = train
        .form(".checks li:first-child form.confirm")
        .fill("by", "Fitter Dale");
    let train = twice(&served, &controller, &check).await;
    assert_eq!(train.count(".check-done"), 1);

    let page = controller.get("/trains/T1/decide").await;
    let decided = page.form("#decide form").fill("told_1", "signaller");
    let sheet = twice(&served, &controller, &decided).await;
    assert!(sheet.path().starts_with("/decisions/"));

    let technician = served.signed_in(Role::Technician).await;
    let page = passed_test(&technician, "T-1").await;
    assert_eq!(page.text(".verdict h2"), "✓ Passed");
    let end = technician
        .get("/isolations/end?car=4102&position=%3DBS1-QM1")
        .await;
    let board = twice(&served, &technician, &end.form("#end form")).await;
    assert_eq!(board.count(".cut-outs"), 0);
}

async fn a_train_is_formed_and_a_release_is_proposed_and_approved_once(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/trains").await;
    let form = page
        .form("#form form")
        .fill("train", "T9")
        .fill("formation", "4102");
    let train = twice(&served, &controller, &form).await;
    assert_eq!(train.path(), "/trains/T9");

    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get("/concessions/new").await;
    let form = page
        .form("#new form")
        .fill("number", "C-1")
        .fill("cars", "4102")
        .fill("position", "=BS1-QM1")
        .fill("part", "TRR-4211-01")
        .fill("until", "2027-01-01")
        .fill("why", "none of the approved ones is in stock");
    let waiting = twice(&served, &engineer, &form).await;
    assert_eq!(waiting.path(), "/approvals");
    let other = second(&served).await;
    let page = other.get("/approvals").await;
    let approve = page.form("form:has(input[value=approved])");
    let decided = twice(&served, &other, &approve).await;
    assert!(decided.text("table.long tbody").contains("approved"));
}

async fn a_form_that_was_recorded_is_not_recorded_anew_with_other_content(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/isolations/new?car=4102").await;
    let form = cut_out(&page);
    controller.submit(&form).await;
    let before = newest(&served).await;
    let other = form.fill("position", "=BS2-QM1");
    let refused = controller.submit(&other).await;
    assert_eq!(refused.status(), 422);
    let says = refused.text(".refusal");
    assert!(says.contains(&format!("entry {before}")), "{says}");
    assert_eq!(newest(&served).await, before);
}

each_database!(
    a_cut_out_its_checks_its_decision_and_its_end_are_recorded_once,
    a_train_is_formed_and_a_release_is_proposed_and_approved_once,
    a_form_that_was_recorded_is_not_recorded_anew_with_other_content,
);
