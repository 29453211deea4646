//! From a decision to its sheet and back: taken about the train as it stands, printed with a code,
//! and checked later.

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::facts::{at, isolated, position};
use tests::page::Page;
use tests::register::{command, person};
use tests::visitor::Visitor;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;

async fn nobody_was_told_of_a_decision_before_it_was_taken(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let page = controller.get("/trains/T1/decide").await;
    let form = page.form("#decide form").fill("told_1", "signaller");
    let early = form.fill("told_1_at", "2026-11-25 10:00");
    let refused = controller.submit(&early).await;
    assert_eq!(refused.status(), 422);
    let says = refused.text("#decide-told_1_at-wrong");
    assert!(says.contains("not before the decision"), "{says}");
    assert_eq!(
        controller.get("/isolations").await.count(".decided-stands"),
        0
    );
}

async fn a_question_that_cannot_be_read_leads_back_to_its_train(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    for path in [
        "/trains/T1/decide?close=4101:%3DXX-QM9:closed_vented",
        "/trains/T1?close=4101:%3DXX-QM9:closed_vented",
        "/trains/T1?gradiant=-20",
    ] {
        let page = controller.get(path).await;
        assert_eq!(page.status(), 422, "{path}");
        assert_eq!(
            page.attribute(".next li:first-child a", "href"),
            Some("/trains/T1"),
            "{path}"
        );
    }
}

async fn a_time_at_which_nobody_was_told_is_asked_back(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/trains/T1/decide").await;
    let form = page.form("#decide form");
    let refused = controller
        .submit(&form.fill("told_2_at", "2026-11-25 12:30"))
        .await;
    assert_eq!(refused.status(), 422);
    let says = refused.text("#decide-told_2-wrong");
    assert!(says.contains("who was told then"), "{says}");
}

/// Decides about train T1 by its form.
pub(crate) async fn decide(visitor: &Visitor, path: &str) -> Page {
    let page = visitor.get(path).await;
    let form = page.form("#decide form").fill("told_1", "signaller");
    visitor.submit(&form).await
}

async fn a_decision_leads_to_a_sheet_whose_code_proves_it_until_something_changes(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let train = controller.get("/trains/T1").await;
    let link = train
        .attribute("a.button[href*='/decide']", "href")
        .unwrap();
    let sheet = decide(&controller, link).await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert!(sheet.path().starts_with("/decisions/"));
    assert_eq!(sheet.texts(".paper tbody th"), ["4102"]);
    assert!(sheet.text(".paper-effect").contains("142.08 %"));
    assert!(sheet.text(".paper-sign").contains("signaller"));
    let code = sheet.text(".paper-code .code");
    let visitor = served.visitor();
    let check = format!("/check?code={}", code.to_lowercase());
    assert!(
        visitor
            .get(&check)
            .await
            .text(".genuine")
            .contains("it stands")
    );
    let board = visitor.get("/isolations").await;
    assert!(
        board
            .text(".decided-stands")
            .contains("Decided by controller")
    );

    record(&controller, "4105", &CYLINDER_COCK).await;
    let last = served.store.view().await.unwrap().last_entry;
    let void = visitor.get(&check).await;
    assert!(void.text(".genuine").contains("void by now"));
    let since = format!("void since entry {last}: cut outs changed");
    assert!(
        void.text(".decided").contains(&since),
        "{}",
        void.text(".decided")
    );
    let board = visitor.get("/isolations").await;
    assert!(board.text(".decided-void").contains(&since));
    let sheet = visitor.get(sheet.path()).await;
    assert!(sheet.text(".void-banner").contains("Do not use this sheet"));
    let api = visitor
        .get(&format!("/api/v1/check?code={code}"))
        .await
        .json();
    assert_eq!(api["genuine"], true);
    assert_eq!(api["void_since_entry"], last);
    assert_eq!(api["void_because"], "cut outs changed");
}

/// A cock was closed before the decision, and nobody had said so.
async fn what_is_told_late_is_marked_at_the_decision_that_did_not_know_of_it(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let sheet = decide(&controller, "/trains/T1/decide").await;
    let code = sheet.text(".paper-code .code");
    let late = isolated(&position("4101", "=BS1-QM1"));
    let late = command(at("2026-11-25T11:00Z"), late);
    let engineer = person(Role::BrakeEngineer);
    let recorded = served
        .store
        .record(engineer, late, at("2026-11-25T13:00Z"))
        .await;
    let entry = recorded.unwrap().seq().0;
    let marked = format!("Entry {entry}, told later, changes what it rested on");
    let sheet = controller.get(sheet.path()).await;
    assert!(sheet.text(".paper .caution").contains(&marked));
    let board = controller.get("/isolations").await;
    assert!(board.text(".decided-void").contains(&marked));
    let trains = controller.get("/trains").await;
    assert!(trains.text("main").contains(&marked));
    let api = controller.get(&format!("/api/v1/check?code={code}")).await;
    assert_eq!(api.json()["told_late_by_entry"], entry);
}

/// Whoever was told of the decision about the former train is to be told that it is void.
async fn a_decision_about_the_former_train_of_a_car_is_told_as_void(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    decide(&controller, "/trains/T1/decide").await;
    let formed =
        json!({"train_formed": {"id": "T9", "vehicles": [{"unit": ["TM101", "forward"]}]}});
    let at = "2026-11-25T11:45:00Z".to_owned();
    served.import(vec![(at, formed)]).await;
    for path in ["/isolations", "/trains/T9"] {
        let page = controller.get(path).await;
        let void = page.text(".decided-void");
        assert!(
            void.contains("about train T1, in which cars of this train ran, is void since entry"),
            "{path}: {void}"
        );
        assert!(
            void.contains("Tell the crew and whoever was told of it or acts on it"),
            "{void}"
        );
    }
    decide(&controller, "/trains/T9/decide").await;
    let board = controller.get("/isolations").await;
    assert_eq!(
        (board.count(".decided-void"), board.count(".decided-stands")),
        (0, 1)
    );
}

async fn a_train_whose_cars_run_in_a_later_one_is_not_decided_about(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4105", &CYLINDER_COCK).await;
    let seen = controller.get("/trains/T1/decide").await;
    let formed =
        json!({"train_formed": {"id": "T9", "vehicles": [{"unit": ["TM101", "forward"]}]}});
    let at = "2026-11-25T11:45:00Z".to_owned();
    served.import(vec![(at, formed)]).await;
    let last = served.store.view().await.unwrap().last_entry;
    let refused = controller.submit(&seen.form("#decide form")).await;
    assert_eq!(refused.status(), 422);
    let says = refused.text("#formed-later");
    assert!(
        says.contains("T9") && says.contains("Nothing was recorded"),
        "{says}"
    );
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    let page = controller.get("/trains/T1/decide").await;
    assert_eq!((page.status(), page.count("#decide")), (200, 0));
    let text = page.text("main");
    assert!(!text.contains("the sheet will say so"), "{text}");
    let says = page.text("#formed-later");
    assert!(
        says.contains("cannot be decided about") && !says.contains("Nothing was recorded"),
        "nothing was sent: {says}"
    );
    let instead = page.count("#formed-later a[href='/trains/T9/decide']");
    assert_eq!(instead, 1, "where it is decided about");
    let page = controller.get("/trains/T1").await;
    assert_eq!(page.count("a.button[href*='/decide']"), 0);
    let answer = controller.get("/api/v1/decision?train=T1").await.json();
    assert_eq!(answer["formed_later"], json!(["T9"]));
    let answer = controller.get("/api/v1/trains/T1").await.json();
    assert_eq!(answer["formed_later"], json!(["T9"]));
    // What was left over is judged by itself.
    let board = controller.get("/isolations").await;
    assert_eq!(board.texts(".board-place h2"), ["Unit TM102, in no train"]);
    let listed = controller.get("/api/v1/isolations").await.json();
    assert_eq!(listed["isolations"][0]["train"], json!(null));
}

async fn a_wrong_code_is_told_from_a_mistyped_one(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let sheet = decide(&controller, "/trains/T1/decide").await;
    let code = sheet.text(".paper-code .code");
    let entry: i64 = sheet.path().rsplit('/').next().unwrap().parse().unwrap();
    let forged =
        domain::decision::check_code::CheckCode::of(domain::ledger::entry::Seq(entry), &[7; 32]);
    let page = controller.get(&format!("/check?code={forged}")).await;
    assert!(
        page.text(".refusal")
            .contains("No decision of this register")
    );
    let api = controller
        .get(&format!("/api/v1/check?code={forged}"))
        .await;
    assert_eq!(api.json()["genuine"], false);
    let mut mistyped = code.clone();
    let last = if code.ends_with('2') { "3" } else { "2" };
    mistyped.replace_range(code.len() - 1.., last);
    for path in ["/check", "/api/v1/check"] {
        let page = controller.get(&format!("{path}?code={mistyped}")).await;
        assert_eq!(page.status(), 422, "{path}");
    }
}

async fn a_what_if_is_never_decided_and_an_answer_that_has_changed_is_not_either(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let what_if = "close=4101%3A%3DBS1-QM1%3Aclosed_vented";
    let page = controller
        .get(&format!("/trains/T1/decide?{what_if}"))
        .await;
    assert_eq!(page.status(), 422);
    let page = controller.get(&format!("/trains/T1?{what_if}")).await;
    assert_eq!(page.count("a[href*='/decide']"), 0);
    assert_eq!(
        page.count(".instruction li"),
        1,
        "what would have to be said"
    );

    let seen = controller.get("/trains/T1/decide").await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let last = served.store.view().await.unwrap().last_entry;
    let refused = controller.submit(&seen.form("#decide form")).await;
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text("#decide-rule_set-wrong")
            .contains("has changed")
    );
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    let again = controller.submit(&refused.form("#decide form")).await;
    assert_eq!(again.status(), 200, "now it was seen");

    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/trains/T1/decide").await;
    assert_eq!(page.count("#decide"), 0);
}

async fn checks_are_confirmed_by_name_and_open_again_with_the_next_cut_out(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    record(&technician, "4102", &CYLINDER_COCK).await;
    let mut page = technician.get("/trains/T1").await;
    let checks = page.count(".checks li");
    assert_eq!(checks, 6);
    assert_eq!(page.count(".check-open"), 6);
    let confirm = |place: usize| format!(".checks li:nth-child({place}) .confirm");
    let form = page.form(&confirm(1)).fill("by", "");
    let refused = technician.submit(&form).await;
    assert_eq!(refused.status(), 422);
    assert_eq!(refused.count("#checks-by-wrong"), 1);
    for place in 1..=checks {
        let open = checks - place;
        let form = page.form(&confirm(place)).fill("by", "F. Fitter");
        page = technician.submit(&form).await;
        assert_eq!(
            (page.path(), page.count(".check-open")),
            ("/trains/T1", open)
        );
    }
    assert!(page.texts(".check-state")[0].contains("Confirmed by F. Fitter"));
    let board = technician.get("/isolations").await;
    assert!(
        board
            .text(".open-checks")
            .contains("All 6 checks confirmed")
    );
    record(&technician, "4105", &CYLINDER_COCK).await;
    let page = technician.get("/trains/T1").await;
    assert_eq!(page.count(".checks li"), 8);
    assert_eq!(
        page.count(".check-open"),
        6,
        "two of the new one, four again"
    );
    let board = technician.get("/isolations").await;
    assert!(board.text(".open-checks").contains("6 of 8 checks open"));
    let instruction = page.texts(".instruction dd");
    assert!(
        instruction[0].starts_with("Car 4102, number 2 of 6 from the front, its end 1 in front.")
    );
    // What is recorded was done: nobody is told to do it again.
    assert!(instruction[1].starts_with("It is recorded as closed and vented."));
}

each_database!(
    a_time_at_which_nobody_was_told_is_asked_back,
    a_train_whose_cars_run_in_a_later_one_is_not_decided_about,
    what_is_told_late_is_marked_at_the_decision_that_did_not_know_of_it,
    a_decision_about_the_former_train_of_a_car_is_told_as_void,
    nobody_was_told_of_a_decision_before_it_was_taken,
    a_question_that_cannot_be_read_leads_back_to_its_train,
    a_decision_leads_to_a_sheet_whose_code_proves_it_until_something_changes,
    a_wrong_code_is_told_from_a_mistyped_one,
    a_what_if_is_never_decided_and_an_answer_that_has_changed_is_not_either,
    checks_are_confirmed_by_name_and_open_again_with_the_next_cut_out,
);
