//! Which tests end a cut-out on its form, and what is told of an end that a test leaves without proof
//! which was failed before it and recorded after.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::visitor::Visitor;

use super::isolations::{CYLINDER_COCK, record, send_test, test_form};
use super::obligations::tested;
use super::sample::{Served, VALVE};
use super::sheets::decide;

const END: &str = "/isolations/end?car=4102&position=%3DBS1-QM1";

/// A test of car 4102 made at a minute after eleven.
async fn test_at(visitor: &Visitor, id: &str, pads: &str, minute: &str) -> tests::page::Page {
    let form = test_form(visitor, id, pads).await;
    let form = form.fill("at", &format!("2026-11-25 11:{minute}"));
    send_test(visitor, &form, "record").await
}

/// What the list of trains tells of train T1.
async fn row_of_train(visitor: &Visitor) -> String {
    let page = visitor.get("/trains").await;
    page.text("#formed tr:has(a[href='/trains/T1'])")
}

async fn a_failed_test_told_after_an_end_is_seen_first_and_told_until_one_passes(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    record(&technician, "4102", &CYLINDER_COCK).await;
    test_at(&technician, "T-1", "20", "10").await;
    let form = technician.get(END).await.form("#end form");
    let form = form.fill("at", "2026-11-25 11:40");
    let board = technician.submit_and_agree(&form).await;
    assert_eq!((board.path(), board.count(".cut-outs")), ("/isolations", 0));

    let last = served.store.view().await.unwrap().last_entry;
    let seen = test_at(&technician, "T-2", "4", "20").await;
    assert_eq!(seen.status(), 422);
    let told = seen.text(".end-unproved");
    assert!(
        told.contains("the cut-out at =BS1-QM1 of car 4102 was ended 2026-11-25 11:40"),
        "{told}"
    );
    assert!(told.contains("on test record T-1"), "{told}");
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    let agreed = send_test(&technician, &seen.form("form.test-form"), "record").await;
    assert_eq!(
        agreed.path(),
        "/test-records/T-2",
        "{}",
        agreed.text("main")
    );

    let entry = served.store.view().await.unwrap().last_entry;
    what_is_not_proved_is_told_everywhere(&technician, entry).await;
    let board = technician.get("/isolations").await;
    assert_eq!(board.texts(".board-place h2"), ["Train T1"]);
    assert_eq!(
        (board.count(".ended"), board.count(".warnings .failed_test")),
        (1, 1)
    );
    let told = row_of_train(&technician).await;
    assert!(
        told.contains("none") && told.contains("told only after a cut-out had ended"),
        "{told}"
    );

    test_at(&technician, "T-3", "20", "50").await;
    let board = technician.get("/isolations").await;
    assert_eq!(board.count(".board-place"), 0);
    let told = row_of_train(&technician).await;
    assert!(!told.contains("had ended"), "{told}");
    let car = technician.get("/cars/4102").await;
    assert_eq!(car.count(".end-unproved"), 0);
    let train = technician.get("/trains/T1").await;
    assert_eq!(train.count(".warnings .failed_test"), 0);
}

/// With the entry of the failed test, on the car and on the train, also of then.
async fn what_is_not_proved_is_told_everywhere(technician: &Visitor, entry: i64) {
    let page = technician.get(&format!("/ledger/{entry}")).await;
    assert_eq!(page.count(".end-unproved"), 1, "it is kept with the entry");
    let kept = technician.get(&format!("/api/v1/entries/{entry}")).await;
    let kept = kept.json();
    let unproved = &kept["changed"]["ends_unproved"][0];
    assert_eq!(unproved["proved_by"], "T-1", "{kept}");
    let car = technician.get("/cars/4102").await;
    let told = car.text(".end-unproved");
    assert!(
        told.contains("not proved restored: =BS1-QM1. Test record T-2"),
        "{told}"
    );
    let train = technician.get("/trains/T1").await;
    let told = train.text(".warnings .failed_test");
    assert!(
        told.contains("told after the cut-out of =BS1-QM1 was ended on an earlier test"),
        "{told}"
    );
    for (at, is_unproved) in [("11:45", true), ("11:30", false)] {
        let then = format!("/trains/T1?at=2026-11-25T{at}:00Z");
        let told = technician.get(&then).await.text(".warnings .failed_test");
        let unproved = "told after the cut-out of =BS1-QM1 was ended on an earlier test";
        assert!(told.contains("(test record T-2"), "{at}: {told}");
        assert_eq!(told.contains(unproved), is_unproved, "{at}: {told}");
        let car = format!("/cars/4102?at=2026-11-25T{at}:00Z");
        let car = technician.get(&car).await;
        assert_eq!(car.count(".end-unproved"), usize::from(is_unproved), "{at}");
    }
}

/// Whoever watches the board, and was told of the decision, is to hear that it does not stand.
async fn a_decision_that_the_end_of_its_cut_out_made_void_is_told_for_a_day(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    record(&technician, "4102", &CYLINDER_COCK).await;
    let controller = served.signed_in(Role::Controller).await;
    decide(&controller, "/trains/T1/decide").await;
    test_at(&technician, "T-1", "20", "10").await;
    served.pass(60);
    let form = technician.get(END).await.form("#end form");
    let board = technician.submit_and_agree(&form).await;
    assert_eq!((board.path(), board.count(".cut-outs")), ("/isolations", 0));
    assert!(board.text(".done").contains("No cut-out is in force"));
    let told = board.text(".board-place .decided-void");
    assert!(
        told.contains("cut outs changed") && told.contains("Tell the crew"),
        "{told}"
    );
    let visitor = served.visitor();
    let told = row_of_train(&visitor).await;
    assert!(
        told.contains("none") && told.contains("decision void"),
        "{told}"
    );
    served.pass(25 * 60 * 60);
    let board = visitor.get("/isolations").await;
    assert_eq!(board.count(".board-place"), 0);
    let told = row_of_train(&visitor).await;
    assert!(!told.contains("decision void"), "{told}");
}

async fn a_failed_test_of_after_the_end_leaves_that_proved(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    record(&technician, "4102", &CYLINDER_COCK).await;
    test_at(&technician, "T-1", "20", "10").await;
    let form = technician.get(END).await.form("#end form");
    let form = form.fill("at", "2026-11-25 11:40");
    technician.submit_and_agree(&form).await;
    let failed = test_at(&technician, "T-2", "4", "41").await;
    assert_eq!(failed.path(), "/test-records/T-2");
    let car = technician.get("/cars/4102").await;
    assert_eq!(car.count(".end-unproved"), 0);
    let train = technician.get("/trains/T1").await;
    let told = train.text(".warnings .failed_test");
    assert!(told.contains("(test record T-2)"), "{told}");
}

async fn a_test_that_another_speaks_against_is_not_offered_and_it_is_said_why(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    record(&technician, "4102", &CYLINDER_COCK).await;
    test_at(&technician, "T-1", "20", "10").await;
    test_at(&technician, "T-2", "4", "20").await;
    let page = technician.get(END).await;
    assert_eq!(page.form("#end form").values("proved_by"), [""]);
    let told = page.text("main");
    let why = "Passed since and not offered: T-1, BT-TM-T, 2026-11-25 11:10 +00:00: followed by \
               test record T-2 of the same procedure, failed.";
    assert!(told.contains(why), "{told}");
    assert!(
        told.contains("No test of car 4102 that passed since proves the brake behind =BS1-QM1"),
        "{told}"
    );
}

async fn a_void_test_is_not_offered_and_it_is_said_what_was_touched(url: &str) {
    let served = tested(url).await;
    let cut_out = json!({"isolated": {"car": "4101", "position": "=BS1-Q1",
        "state": "closed_vented", "cause": "leak"}});
    let test = json!({"test_recorded": {
        "id": "T-2", "subject": {"car": "4101"}, "procedure": "P-CAR", "revision": "A",
        "at": "2026-11-25T09:00:00Z", "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "leakage", "value": "0.1"}]}});
    let at = |hour: &str, fact: Value| (format!("2026-11-25T{hour}:00:00Z"), fact);
    served.import(vec![at("08", cut_out), at("09", test)]).await;
    let technician = served.signed_in(Role::Technician).await;
    let end = "/isolations/end?car=4101&position=%3DBS1-Q1";
    let page = technician.get(end).await;
    assert_eq!(page.form("#end form").values("proved_by"), ["T-2"]);

    let valve = |serial: &str| json!({"part": VALVE, "serial": serial});
    let swap = json!({"swapped": {
        "first": valve("1"), "second": valve("3"), "reason": "matched_set"}});
    served.import(vec![at("10", swap)]).await;
    let swap = served.store.view().await.unwrap().last_entry;
    let page = technician.get(end).await;
    assert_eq!(page.form("#end form").values("proved_by"), [""]);
    let told = page.text("main");
    let why = format!("void since entry {swap} (=BS1-K1 exchanged).");
    assert!(told.contains(&why), "{told}");
    let form = page.form("#end form").fill("proved_by", "T-2");
    let refused = technician.submit_and_agree(&form).await;
    assert_eq!(refused.status(), 422);
    let told = refused.text(".refusal");
    assert!(told.contains("which is void (=BS1-K1 exchanged)"), "{told}");
}

async fn a_state_told_late_is_seen_first_and_leaves_what_was_decided_since(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let state = |state, at| {
        [
            ("position", "=BS1-QM1"),
            ("state", state),
            ("cause", "brake does not release"),
            ("at", at),
        ]
    };
    let trapped = state("closed_trapped", "2026-11-25 10:00");
    record(&controller, "4102", &trapped).await;
    decide(&controller, "/trains/T1/decide").await;
    served.pass(3_600);
    let vented = state("closed_vented", "2026-11-25 12:30");
    record(&controller, "4102", &vented).await;
    decide(&controller, "/trains/T1/decide").await;
    let board = controller.get("/isolations").await;
    assert_eq!(board.count(".decided-stands"), 1);

    let page = controller.get("/isolations/new?car=4102").await;
    let form = state("supply_cut", "2026-11-25 11:00")
        .into_iter()
        .fold(page.form("#new form"), |form, (name, value)| {
            form.fill(name, value)
        });
    let seen = controller.submit(&form).await;
    assert_eq!(seen.status(), 422);
    let told = seen.text("main");
    assert!(
        told.contains("1 past decision may find something else"),
        "{told}"
    );
    let agreed = seen.form("form:has([name=foreseen])");
    let board = controller.submit(&agreed).await;
    assert_eq!((board.status(), board.path()), (200, "/isolations"));
    assert_eq!(board.texts(".cut-outs tbody td")[2], "✕ closed vented");
    assert_eq!(board.count(".decided-stands"), 1, "nothing moves now");
}

each_database!(
    a_decision_that_the_end_of_its_cut_out_made_void_is_told_for_a_day,
    a_state_told_late_is_seen_first_and_leaves_what_was_decided_since,
    a_failed_test_told_after_an_end_is_seen_first_and_told_until_one_passes,
    a_failed_test_of_after_the_end_leaves_that_proved,
    a_test_that_another_speaks_against_is_not_offered_and_it_is_said_why,
    a_void_test_is_not_offered_and_it_is_said_what_was_touched,
);
