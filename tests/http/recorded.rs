//! What a form recorded is told on the page that follows, once; a form that was sent before with
//! something else in it says so; and what somebody else saw closed does not open by a correction.

use domain::ledger::entry::Seq;
use domain::people::Role;
use tests::each_database;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;

async fn what_a_form_recorded_is_told_on_the_page_that_follows_and_once(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let board = record(&controller, "4102", &CYLINDER_COCK).await;
    let entry = served.store.view().await.unwrap().last_entry;
    assert_eq!(
        board.text(".recorded"),
        format!("Recorded as entry {entry}.")
    );
    let link = board.attribute(".recorded a", "href").unwrap().to_owned();
    assert_eq!(link, format!("/ledger/{entry}"));
    assert_eq!(controller.get(&link).await.count(".recorded"), 0);
    // Nobody else is told, and what was refused was not recorded.
    let other = served.signed_in(Role::Technician).await;
    assert_eq!(other.get("/isolations").await.count(".recorded"), 0);
    let refused = record(&controller, "4102", &CYLINDER_COCK).await;
    assert_eq!((refused.status(), refused.count(".recorded")), (422, 0));
    assert_eq!(controller.get("/isolations").await.count(".recorded"), 0);
}

async fn a_form_sent_again_with_something_else_in_it_says_what_it_recorded(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/trains").await;
    let form = page.form("#form form").fill("train", "T8");
    let first = form.clone().fill("formation", "4102");
    assert_eq!(controller.submit(&first).await.status(), 200);
    let entry = served.store.view().await.unwrap().last_entry;
    // Back, another formation, sent again.
    let other = form.fill("formation", "4102, 4105");
    let again = controller.submit(&other).await;
    assert_eq!(again.status(), 422);
    let why = again.text(".refusal");
    assert!(
        why.contains(&format!("already recorded entry {entry}")),
        "{why}"
    );
    assert_eq!(served.store.view().await.unwrap().last_entry, entry);
    let anew = again.form("#form form");
    assert_eq!(anew.values("formation"), ["4102, 4105"]);
    served.pass(1);
    assert_eq!(controller.submit(&anew).await.path(), "/trains/T8");
    assert_eq!(served.store.view().await.unwrap().last_entry, entry + 1);
}

/// A cut-out stays in force until it is ended with a test; its recorder may have mistaken the
/// place.
async fn a_cut_out_is_taken_back_by_its_recorder_or_a_brake_engineer_alone(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let entry = served.store.view().await.unwrap().last_entry;
    let path = format!("/ledger/{entry}");
    let withdraw = "form[action$=\"/withdraw\"]";
    let technician = served.signed_in(Role::Technician).await;
    let form = technician.get(&path).await.form(withdraw);
    let form = form.fill("reason", "it works again");
    let refused = technician.submit_and_agree(&form).await;
    assert_eq!(refused.status(), 422);
    let why = refused.text(".refusal");
    assert!(
        why.contains("they or a brake engineer take it back"),
        "{why}"
    );
    assert_eq!(technician.get("/isolations").await.count(".cut-outs"), 1);
    let form = controller.get(&path).await.form(withdraw);
    let form = form.fill("reason", "it was car 4105");
    let gone = controller.submit_and_agree(&form).await;
    assert_eq!(gone.status(), 200);
    assert_eq!(controller.get("/isolations").await.count(".cut-outs"), 0);
}

/// Who is asked why in words of the matter is not asked for a reason besides, and the entry has it.
async fn whoever_says_why_is_asked_once(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let hold = [("car", "4105"), ("investigation", "collision, ref. 7")];
    let concession = [
        ("number", "C-1"),
        ("cars", "4102; 4105"),
        ("position", "=BS1-QM1"),
        ("part", "TRR-4102-01"),
        ("until", "2027-01-01"),
        ("why", "none of the approved ones is in stock"),
    ];
    for (who, page, fields, why) in [
        (
            &controller,
            "/isolations/new?car=4102",
            &CYLINDER_COCK[..],
            "brake does not release",
        ),
        (&controller, "/holds/new", &hold[..], "collision, ref. 7"),
        (
            &engineer,
            "/concessions/new",
            &concession[..],
            "none of the approved ones is in stock",
        ),
    ] {
        let shown = who.get(page).await;
        assert_eq!(shown.count("#new [name=reason]"), 0, "{page}");
        let filled = fields
            .iter()
            .fold(shown.form("#new form"), |form, (name, value)| {
                form.fill(name, value)
            });
        let done = who.submit_and_agree(&filled).await;
        assert_eq!(done.status(), 200, "{page}: {}", done.text("main"));
        let mut view = served.store.view().await.unwrap();
        let last = view.last_entry;
        let entry = view.entry(Seq(last)).await.unwrap().unwrap().entry;
        assert_eq!(entry.reason, why, "{page}");
    }
}

each_database!(
    whoever_says_why_is_asked_once,
    what_a_form_recorded_is_told_on_the_page_that_follows_and_once,
    a_form_sent_again_with_something_else_in_it_says_what_it_recorded,
    a_cut_out_is_taken_back_by_its_recorder_or_a_brake_engineer_alone,
);
