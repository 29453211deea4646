//! Stored air counts as brake for as long as it lasts and no longer, on the page, for programs, on the
//! command line, on the board and on the sheet; a decision that counted it is void then, by the clock
//! alone. For how long it lasts: `isolation::stored_air_counted`.

use domain::people::Role;
use serde_json::json;
use tests::each_database;

use super::isolations::record;
use super::sample::Served;
use super::sheets::decide;
use crate::command_line::program::Place;

/// The supply of a car, a minute before the time of the server.
const JUST_SHUT: [(&str, &str); 4] = [
    ("position", "=BS-QM1"),
    ("state", "supply_cut"),
    ("cause", "leak at the control unit"),
    ("at", "2026-11-25 11:59"),
];
/// The same days before.
const LONG_SHUT: [(&str, &str); 4] = [
    ("position", "=BS-QM1"),
    ("state", "supply_cut"),
    ("cause", "leak at the control unit"),
    ("at", "2026-11-22 08:00"),
];
const LATER: &str = "is not counted since 2026-11-25 12:";

async fn a_decision_that_counted_stored_air_is_void_once_that_is_not_counted(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let recorded = record(&controller, "4101", &JUST_SHUT).await;
    assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    let api = "/api/v1/decision?train=T1";
    let counted = controller.get(api).await.json();
    let until = counted["stored_air_counted_until"].as_str().unwrap();
    assert!(until.starts_with("2026-11-25T12:"), "{until}");
    let form = controller.get("/trains/T1/decide").await;
    let words = "Stored air is counted as brake until 2026-11-25 12:";
    let told = form.text("#counted-until");
    assert!(told.starts_with(words), "{told}");
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert_eq!(sheet.count(".void-banner"), 0);
    let beside = sheet.text(".paper-warnings");
    assert!(beside.contains("once stored air is used up"), "{beside}");
    let told = sheet.text(".counted-until");
    assert!(told.starts_with(words), "{told}");
    let train = controller.get("/trains/T1").await;
    let told = train.text("#counted-until");
    assert!(told.starts_with(words), "{told}");
    assert_eq!(train.count("#stored"), 1);
    let board = controller.get("/isolations").await;
    assert_eq!(board.attribute("#live", "data-until"), Some(until));
    let on_board = board.text(".board-place .counted-until");
    assert!(
        on_board.starts_with(words) && told.starts_with(&on_board),
        "{on_board}"
    );
    assert_eq!(board.count(".decided-stands"), 1);
    served.pass(40 * 60);
    let sheet = controller.get(sheet.path()).await;
    let void = sheet.text(".void-banner");
    assert!(void.contains(LATER), "{void}");
    let board = controller.get("/isolations").await;
    assert_eq!(board.attribute("#live", "data-until"), Some(""));
    assert_eq!(board.count(".board-place .counted-until"), 0);
    let void = board.text(".decided-void");
    assert!(void.contains(LATER), "{void}");
    let train = controller.get("/trains/T1").await;
    assert!(train.text(".decided-void").contains(LATER));
    assert_eq!(train.count("#counted-until"), 0);
    let after = controller.get(api).await.json();
    assert!(after["stored_air_counted_until"].is_null(), "{after}");
    assert_eq!(
        after["brake_percentage"]["after"], counted["brake_percentage_later"]["after"],
        "{after}"
    );
}

async fn air_that_is_not_counted_is_told_everywhere_and_drained_all_the_same(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let recorded = record(&controller, "4101", &LONG_SHUT).await;
    assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    let told = "Stored air is not counted (cut out since 2026-11-22 08:00 +00:00; nobody has told \
                its pressure): car 4101 =BS-CM1";
    let train = controller.get("/trains/T1").await;
    let warning = train.text(".warnings .air_not_counted");
    assert!(warning.starts_with(told), "{warning}");
    assert_eq!(train.count(".warnings .fades, .verdict .later"), 0);
    let row = train.text("#stored-air tbody tr");
    assert!(
        row.contains("not counted as brake any more") && row.contains("=BS-QM2"),
        "{row}"
    );
    let board = controller.get("/isolations").await;
    assert_eq!(board.text(".warnings .air_not_counted"), warning);
    let answer = controller.get("/api/v1/decision?train=T1").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "air_not_counted" && one["text"] == warning.as_str()),
        "{answer}"
    );
    assert_eq!(answer["stored_air"].as_array().map(Vec::len), Some(1));
    let line = Place::on(url).run_on_database(&["decide", "--train", "T1"]);
    assert!(line.out.contains(&format!("! {warning}")), "{}", line.out);
    assert!(line.out.contains("bar/min"), "{}", line.out);
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert!(sheet.text(".paper-warnings").contains(&warning));
    assert!(sheet.text(".paper-stored").contains("=BS-QM2"));
    assert_eq!(sheet.count(".later"), 0, "{}", sheet.text(".verdict"));
    // The further pages count as the decision does, and say so; what reveals a cock is asked of a sound train.
    for further in ["circuit", "closing", "weak-points", "path", "faults"] {
        let page = controller.get(&format!("/trains/T1/{further}")).await;
        let says = page.text("main");
        assert!(
            says.contains("Car 4101 =BS-CM1: not counted: cut out since 2026-11-22 08:00"),
            "{further}: {says}"
        );
    }
    let revealed = controller.get("/trains/T1/revealed").await.text("main");
    assert!(!revealed.contains("not counted"), "{revealed}");
    let weak = controller.get("/api/v1/weak-points?train=T1").await.json();
    let lost = weak["later_kg"].as_i64().unwrap();
    assert_eq!(
        weak["at_once_kg"].as_i64(),
        Some(lost),
        "nothing fades any more"
    );
    // Supposed beside it, the supply of another car counts as just shut.
    let supposed = "/api/v1/decision?train=T1&close=4104%3A%3DBS-QM1%3Asupply_cut";
    let supposed = controller.get(supposed).await.json();
    assert_eq!(
        supposed["brake_percentage"]["after"], answer["brake_percentage"]["after"],
        "{supposed}"
    );
    assert_ne!(
        supposed["brake_percentage_later"]["after"],
        supposed["brake_percentage"]["after"]
    );
}

/// The filter before the check valve of a reservoir comes off, a minute before the time of the server.
async fn air_behind_a_part_that_was_taken_out_counts_from_when_it_came_off(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let place = "/api/v1/positions/4101/%3DBS-HQ1";
    let place = visitor.get(place).await.json();
    let filter = &place["fitments"][0]["component"];
    let removed = json!({"removed": {
        "component": {"part": filter["part"], "serial": filter["serial"]},
        "reason": "due", "to": "Tarrenmoor store", "condition": "removed_to_be_judged"}});
    let at = "2026-11-25T11:59:00Z".to_owned();
    served.import(vec![(at, removed)]).await;
    let api = "/api/v1/decision?train=T1";
    let counted = visitor.get(api).await.json();
    let until = counted["stored_air_counted_until"].as_str();
    assert!(
        until.is_some_and(|until| until.starts_with("2026-11-25T12:")),
        "{counted}"
    );
    served.pass(40 * 60);
    let train = visitor.get("/trains/T1").await;
    let told = train.text(".warnings .air_not_counted");
    let since = "was taken out, and nothing feeds it since 2026-11-25 11:59 +00:00";
    assert!(told.contains(since), "{told}");
    // Found as at then it is the same.
    let then = visitor.get("/trains/T1?at=2026-11-25T12:40:00Z").await;
    assert_eq!(then.text(".warnings .air_not_counted"), told);
    let earlier = visitor.get("/trains/T1?at=2026-11-25T12:00:00Z").await;
    let until = earlier.text("#counted-until");
    assert!(until.starts_with("Stored air is counted as brake until 2026-11-25 12:"));
}

each_database!(
    air_behind_a_part_that_was_taken_out_counts_from_when_it_came_off,
    a_decision_that_counted_stored_air_is_void_once_that_is_not_counted,
    air_that_is_not_counted_is_told_everywhere_and_drained_all_the_same,
);
