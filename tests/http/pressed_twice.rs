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
use super::settings::with_settings;

/// Fills in the fields of a form of a page.
async fn filled(visitor: &Visitor, (path, form): (&str, &str), fields: &[(&str, &str)]) -> Form {
    let form = visitor.get(path).await.form(form);
    let fill = |form: Form, (name, value): &(&str, &str)| form.fill(name, value);
    fields.iter().fold(form, fill)
}

/// The form once what it changes was shown, as it is agreed to.
async fn agreed(visitor: &Visitor, form: &Form) -> Form {
    let shown = visitor.submit(form).await;
    shown.form("form:has([name=foreseen])")
}

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
        .fill("part", "TRR-4102-01")
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

async fn a_modification_and_a_visit_for_it_are_recorded_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let issue = [
        ("number", "M-7"),
        ("title", "another label"),
        ("car_type", "Motor car"),
        ("cars", "4101 to 4199"),
        ("by", "2026-12-10"),
        ("source", "instruction 7"),
    ];
    let form = filled(&engineer, ("/modifications/new", "#new form"), &issue).await;
    let issued = twice(&served, &engineer, &form).await;
    assert_eq!(issued.text("#progress"), "0 of 2");

    let planner = served.signed_in(Role::Planner).await;
    let fields = [
        ("number", "V 1"),
        ("unit", "41"),
        ("depot", "North"),
        ("from", "2026-12-08"),
        ("until", "2026-12-12"),
        ("hours", "40"),
    ];
    let form = filled(&planner, ("/visits/new", "#new form"), &fields).await;
    let visit = twice(&served, &planner, &form).await;
    assert_eq!(visit.path(), "/visits/V%201");
    let later = visit.form("#plan form").fill("from", "2026-12-09");
    let visit = twice(&served, &planner, &later).await;
    let off = visit.form("#cancel form").fill("reason", "pit flooded");
    let gone = twice(&served, &planner, &off).await;
    assert!(gone.text(".caution").contains("Cancelled"));

    let technician = served.signed_in(Role::Technician).await;
    let done = [("car", "4101"), ("evidence", "order 12")];
    let form = ("/modifications/M-7", "form[action*=\"/embodied\"]");
    let form = filled(&technician, form, &done).await;
    let done = twice(&served, &technician, &form).await;
    assert_eq!(done.text("#progress"), "1 of 2");
}

async fn a_check_of_the_fleet_and_a_hold_are_recorded_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let opened = [
        ("title", "cracked seats"),
        ("instruction", "look at the seat"),
        ("answer_by", "2026-12-01"),
    ];
    let form = ("/fleet-checks/new?part=DV%2F210", "#new form");
    let form = filled(&planner, form, &opened).await;
    let check = twice(&served, &planner, &form).await.path().to_owned();
    let technician = served.signed_in(Role::Technician).await;
    let asked = format!("{check}?car=4101");
    let form = (asked.as_str(), "#answer form");
    let form = filled(&technician, form, &[("answer", "sound")]).await;
    let answered = twice(&served, &technician, &form).await;
    assert!(answered.text(".caution").contains("1 of 2 cars"));

    let controller = served.signed_in(Role::Controller).await;
    let fields = [("car", "4201"), ("investigation", "collision, ref. 7")];
    let form = filled(&controller, ("/holds/new", "#new form"), &fields).await;
    let hold = twice(&served, &controller, &form).await;
    let lift = hold.form("#lift form").fill("evidence", "release of today");
    let lifted = twice(&served, &controller, &lift).await;
    assert!(lifted.text(".done").starts_with("Lifted "));
}

async fn what_happens_to_components_is_recorded_once(url: &str) {
    let served = with_settings(url).await;
    let stores = served.signed_in(Role::Stores).await;
    let papers = [
        ("location", "Store North"),
        ("condition", "serviceable"),
        ("certificate", "C 77"),
    ];
    let form = ("/components/new?part=DV%2F210&serial=A-77", "#new form");
    let form = filled(&stores, form, &papers).await;
    let received = twice(&served, &stores, &form).await;
    assert_eq!(received.path(), "/components/DV%2F210/A-77");
    let form = received.form("#relocate form").fill("to", "Workshop South");
    twice(&served, &stores, &form).await;

    let technician = served.signed_in(Role::Technician).await;
    let place = "/positions/4101/%3DBS1-K1";
    let set = [("value", "8.5 bar")];
    let form = filled(&technician, (place, "#set form"), &set).await;
    twice(&served, &technician, &form).await;

    let first = "/components/DV%2F210/1";
    let swap = [("other_serial", "3"), ("why", "matched_set")];
    let form = filled(&technician, (first, "#swap form"), &swap).await;
    let form = agreed(&technician, &form).await;
    let swapped = twice(&served, &technician, &form).await;
    assert!(swapped.fact("Where").contains("car 4102"));
    let to = [
        ("car", "4102"),
        ("position", "=BS2-K1"),
        ("why", "register_error"),
    ];
    served.pass(1);
    let form = filled(&technician, (first, "#move form"), &to).await;
    let form = agreed(&technician, &form).await;
    let moved = twice(&served, &technician, &form).await;
    assert!(moved.fact("Where").contains("=BS2-K1"));
    served.pass(1);
    let off = [("why", "failed"), ("to", "Workshop South")];
    let at = ("/positions/4102/%3DBS2-K1", "#remove form");
    let form = filled(&technician, at, &off).await;
    let removed = twice(&served, &technician, &form).await;
    assert!(removed.text("main").contains("Nothing is fitted here"));
    let there = [("part", "DV/210"), ("serial", "9")];
    let form = ("/positions/4102/%3DBS2-K1", "#fit form");
    let form = filled(&technician, form, &there).await;
    let form = agreed(&technician, &form).await;
    let fitted = twice(&served, &technician, &form).await;
    assert_eq!(fitted.text(".fitted-now"), "DV/210 serial 9");
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
    a_modification_and_a_visit_for_it_are_recorded_once,
    a_check_of_the_fleet_and_a_hold_are_recorded_once,
    what_happens_to_components_is_recorded_once,
    a_cut_out_its_checks_its_decision_and_its_end_are_recorded_once,
    a_train_is_formed_and_a_release_is_proposed_and_approved_once,
    a_form_that_was_recorded_is_not_recorded_anew_with_other_content,
);
