//! What must be known beside a verdict, on the page, for programs, on the command line, on the
//! board and on the sheet: brakes that drag, service braking that is lost, what a verdict becomes
//! once stored air is used up.
//!
//! That brakes must act in service and in emergency braking, and that the state of each that can be
//! isolated must be known: Regulation (EU) 1302/2014, annex, 4.2.4.2.1 and 4.2.4.9. Brakes that drag
//! are a constructed case of practice D.8.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;

use super::isolations::record;
use super::sample::Served;
use super::sheets::decide;
use crate::command_line::program::Place;

/// The cock that vents the parking cylinders of a car.
const PARKING: &str = "4101:=PB-QM2:closed_vented";
/// The cock in the service path of a bogie.
const SERVICE: &str = "4101:=BS1-QM2:closed_vented";
/// The only compressor stands.
const DEAD: [&str; 2] = ["4102:=AP-GQ1:failed", "4101:=BS1-QM1:closed_vented"];

fn asked(close: &[&str]) -> String {
    let close = close.iter().map(|one| {
        let one = one.replace(':', "%3A").replace('=', "%3D");
        format!("&close={one}")
    });
    format!("formation=TM101{}", close.collect::<String>())
}

async fn brakes_that_drag_are_told_before_the_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor
        .get(&format!("/decision?{}", asked(&[PARKING])))
        .await;
    let drags = page.text(".warnings .drags");
    assert!(
        drags.contains("drag") && drags.contains("car 4101"),
        "{drags}"
    );
    let before = page.body().find("class=\"caution warnings\"").unwrap();
    assert!(before < page.body().find("class=\"verdicts\"").unwrap());
    let answer = visitor
        .get(&format!("/api/v1/decision?{}", asked(&[PARKING])))
        .await
        .json();
    assert_eq!(answer["warnings"][0]["kind"], "drags");
    assert_eq!(answer["warnings"][0]["text"], drags.as_str());
    let told = ["decide", "--formation", "TM101", "--close", PARKING];
    let told = Place::on(url).run_on_database(&told);
    assert!(told.out.contains(&format!("! {drags}")), "{}", told.out);
    let sound = visitor.get("/decision?formation=TM101").await;
    assert_eq!(sound.count(".warnings"), 0);
}

async fn a_brake_that_only_emergency_braking_reaches_is_not_operative(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served
        .visitor()
        .get(&format!("/decision?{}", asked(&[SERVICE])))
        .await;
    let only = page.text(".warnings .one_mode_only");
    assert!(only.contains("Only emergency braking reaches"), "{only}");
    // Ten of twelve axles act in service braking: 83.33 %, as 49 CFR 238.15 counts.
    let verdicts = page.texts(".verdict .decided-by");
    assert!(
        verdicts.iter().any(|by| by.contains("10 of 12")),
        "{verdicts:?}"
    );
    let says = page.texts(".verdict h2");
    assert!(!says[0].ends_with("May run"), "{says:?}");
}

async fn a_verdict_says_what_it_becomes_once_stored_air_is_used_up(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get(&format!("/decision?{}", asked(&DEAD))).await;
    let later = page.texts(".verdict .later");
    assert_eq!(later.len(), page.count(".verdict"), "{later:?}");
    for words in &later {
        assert!(words.starts_with("Once stored air is used up: "), "{words}");
    }
    let forbids = later.iter().find(|words| words.contains("May not run; "));
    // Not that it may not alone, but by which rule, with its numbers.
    assert!(forbids.unwrap().contains(": "), "{later:?}");
    let answer = format!("/api/v1/decision?{}", asked(&DEAD));
    let answer = visitor.get(&answer).await.json();
    let told = answer["verdicts"].as_array().unwrap().iter();
    let told: Vec<String> = told
        .map(|one| format!("{}.", one["later"].as_str().unwrap()))
        .collect();
    assert_eq!(told, later);
    let closing = visitor
        .get("/decision/closing?formation=TM101&car=4102&position=%3DMP-QM1")
        .await;
    assert!(
        closing
            .text("main")
            .contains("Once stored air is used up: ")
    );
}

/// Every brake goes on braking, and later with the force for an empty car: a verdict for then.
async fn a_load_signal_that_is_lost_later_counts_later(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let shut = asked(&["4101:=AS-QM1:closed_trapped"]);
    let question = format!("/decision?{shut}&load=maximum&whereabouts=leaving_depot");
    let page = visitor.get(&question).await;
    let signal = page.text(".warnings .load_signal");
    assert!(
        signal.starts_with("Once stored air is used up, the load signal is lost on car 4101"),
        "{signal}"
    );
    let later = page.texts(".verdict .later");
    assert!(
        later.iter().any(|words| words.contains("May not run")),
        "{later:?}"
    );
}

/// One that was left open empties what it drains. That is told of the reservoir; of the cock it
/// would be answered as if nothing were amiss.
async fn a_drain_cock_is_told_of_by_what_it_empties(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    for state in ["open", "failed"] {
        let close = asked(&[&format!("4101:=BS-QM2:{state}")]);
        let refused = controller.get(&format!("/api/v1/decision?{close}")).await;
        assert_eq!(refused.status(), 422);
        assert!(
            refused.body().contains("=BS-CM1:closed_vented"),
            "{}",
            refused.body()
        );
    }
    let form = controller.get("/isolations/new?car=4101").await;
    let offered = form.attributes("select[name=position] option", "value");
    assert!(
        offered.contains(&"=BS-CM1") && !offered.contains(&"=BS-QM2"),
        "{offered:?}"
    );
}

async fn the_drawing_of_a_train_says_what_may_drag(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for (state, dragging) in [
        ("closed_vented", 0),
        ("closed_trapped", 2),
        ("supply_cut", 2),
    ] {
        let close = asked(&[&format!("4101:=BS1-QM1:{state}")]);
        let page = visitor.get(&format!("/decision?{close}")).await;
        assert_eq!(
            page.count("svg.train .wheel.wheel-dragging"),
            dragging,
            "{state}"
        );
    }
}

async fn the_board_puts_the_strictest_first_and_the_sheet_says_what_drags(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    for (car, position, state) in [
        ("4101", "=PB-QM2", "closed_vented"),
        ("5102", "=BP-QM1", "closed_trapped"),
    ] {
        let cut_out = [
            ("position", position),
            ("state", state),
            ("cause", "found so"),
            ("at", "2026-11-25 11:00"),
        ];
        let recorded = record(&controller, car, &cut_out).await;
        assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    }
    let board = controller.get("/isolations").await;
    let rank = |class: &str| {
        let order = ["may_not_run", "no_verdict", "with_restrictions", "may_run"];
        order.iter().position(|one| class.contains(one)).unwrap()
    };
    let classes = board.attributes(".board-place li:first-child", "class");
    let ranks: Vec<usize> = classes
        .iter()
        .filter(|class| class.contains("verdict-line"))
        .map(|class| rank(class))
        .collect();
    assert!(ranks.len() > 1 && ranks.is_sorted(), "{classes:?}");
    let drags = board.texts(".warnings .drags");
    assert!(drags.iter().any(|text| text.contains("4101")), "{drags:?}");
    let page = controller.get("/trains/T1/decide").await;
    assert_eq!(page.count("#decide form"), 1, "{}", page.text("main"));
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert!(
        sheet.text(".paper-warnings").contains("drag"),
        "{}",
        sheet.text("main")
    );
}

/// No car is assessed for the brake position, and axles are counted all the same.
async fn that_nothing_is_known_of_the_brake_percentage_is_told_beside_the_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let question = "/decision?formation=TM101&brake_position=G";
    let page = visitor.get(question).await;
    let says = page.texts(".verdict h2");
    assert!(says.iter().any(|one| one.ends_with("May run")), "{says:?}");
    let told = "The brake percentage is not known, and no verdict rests on it. Missing is the \
                braked weight (brake position G, normal load) of car type TM-DA revision 1, \
                TM-DB revision 1, TM-T revision 1.";
    assert_eq!(page.texts(".warnings .percentage_unknown"), [told]);
    let answer = visitor.get(&format!("/api/v1{question}")).await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "percentage_unknown" && one["text"] == told),
        "{answer}"
    );
    let asked = ["decide", "--formation", "TM101", "--brake-position", "G"];
    let line = Place::on(url).run_on_database(&asked);
    assert!(line.out.contains(&format!("! {told}")), "{}", line.out);
    let controller = served.signed_in(Role::Controller).await;
    let sheet = decide(&controller, "/trains/T1/decide?brake_position=G").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert!(sheet.text(".paper-warnings").contains(told));
    let known = visitor.get("/decision?formation=TM101").await;
    assert_eq!(known.count(".warnings .percentage_unknown"), 0);
}

/// A hose of a part that is approved nowhere, on car 4101 under a concession.
fn conceded() -> Vec<(String, Value)> {
    let hose = json!({"part": "TRR-4149-01", "serial": "25-00009"});
    let granted = json!({"number": "TRR-C-90", "cars": [{"first": "4101", "last": "4104"}], "position": "=MP-WH1",
        "part": "TRR-4149-01", "until": "2026-12-14",
        "reason": "other fabric: not in the lead, at most 60 km/h until it is exchanged"});
    let facts = [
        json!({"component_received": {"component": hose, "condition": "serviceable", "location": "Tarrenmoor store"}}),
        json!({"concession_granted": granted}),
        json!({"fitted": {"component": hose, "car": "4101", "position": "=MP-WH1",
            "concession": "TRR-C-90"}}),
    ];
    let at = "2026-11-20T09:00:00Z".to_owned();
    facts.map(|fact| (at.clone(), fact)).into()
}

async fn what_was_agreed_with_a_concession_is_told_beside_the_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    served.import(empty_place()).await;
    let before = visitor.get("/decision?formation=TM101").await;
    assert_eq!(before.count(".warnings .concession"), 0);
    served.import(conceded()).await;
    let page = visitor.get("/decision?formation=TM101").await;
    let told = page.texts(".warnings .concession");
    assert_eq!(told.len(), 1, "{told:?}");
    for words in [
        "Concession TRR-C-90 (entry ",
        "for part TRR-4149-01 on car 4101 =MP-WH1 is in force until 2026-12-14.",
        "What was agreed with it: other fabric: not in the lead, at most 60 km/h until it is exchanged.",
    ] {
        assert!(told[0].contains(words), "{told:?}");
    }
    // It is for car 4104 too, where nothing is under it.
    let other = visitor.get("/decision?formation=TM102").await;
    assert_eq!(other.count(".warnings .concession"), 0);
    let answer = visitor.get("/api/v1/decision?formation=TM101").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "concession" && one["text"] == told[0].as_str()),
        "{answer}"
    );
    let asked = ["decide", "--formation", "TM101"];
    let line = Place::on(url).run_on_database(&asked);
    assert!(line.out.contains(&format!("! {}", told[0])), "{}", line.out);
    let controller = served.signed_in(Role::Controller).await;
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let paper = sheet.text(".paper-warnings");
    assert!(paper.contains(&told[0]), "{paper}");
    // What the sheet says of the concession no longer holds once that is withdrawn.
    let withdrawn = json!({"concession_withdrawn": {"number": "TRR-C-90"}});
    let at = "2026-11-25T12:00:00Z".to_owned();
    served.import(vec![(at, withdrawn)]).await;
    let again = controller.get(sheet.path()).await;
    assert_eq!(again.count(".void-banner"), 1, "{}", again.text("main"));
}

/// The place on car 4101 is emptied first.
fn empty_place() -> Vec<(String, Value)> {
    let removed = json!({"removed": {"component": {"part": "TRR-4141-01", "serial": "4101-000"},
        "reason": "access", "to": "Tarrenmoor store", "condition": "serviceable",
        "evidence": "inspection"}});
    vec![("2026-11-20T08:30:00Z".to_owned(), removed)]
}

/// The overflow valve of a car, found at a pressure; its design wants 7.8 bar and allows 7.7 to 7.9.
fn overflow_found(car: &str, pressure: &str) -> (String, Value) {
    let found = json!({"setting_made": {"car": car, "position": "=AS-QN1",
        "setting": "opening pressure", "value": pressure, "how": "found"}});
    ("2026-11-25T08:00:00Z".to_owned(), found)
}

async fn what_departs_with_no_concession_is_told_beside_the_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    served.import(empty_place()).await;
    served.import(conceded()).await;
    let before = visitor.get("/decision?formation=TM101").await;
    assert_eq!(before.count(".warnings .departs"), 0, "it is allowed");
    let found = [("4101", "7.5 bar"), ("4102", "7.85 bar")];
    let found = found.map(|(car, pressure)| overflow_found(car, pressure));
    served.import(found.into()).await;
    let page = visitor.get("/decision?formation=TM101").await;
    let told = "Departs from its baseline with no concession: car 4101 =AS-QN1 (opening pressure out \
                of range).";
    assert_eq!(page.texts(".warnings .departs"), [told]);
    assert_eq!(page.count(".warnings .concession"), 1);
    let says = |page: &Page| page.texts(".verdict h2");
    assert_eq!(says(&page), says(&before), "no verdict speaks of it");
    let other = visitor.get("/decision?formation=TM102").await;
    assert_eq!(other.count(".warnings .departs"), 0);
    let answer = visitor.get("/api/v1/decision?formation=TM101").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    assert!(
        warnings.any(|one| one["kind"] == "departs" && one["text"] == told),
        "{answer}"
    );
    let asked = ["decide", "--formation", "TM101"];
    let line = Place::on(url).run_on_database(&asked);
    assert!(line.out.contains(&format!("! {told}")), "{}", line.out);
    // What stood under the concession is a finding, once, where that is withdrawn.
    let withdrawn = json!({"concession_withdrawn": {"number": "TRR-C-90"}});
    let at = "2026-11-25T11:00:00Z".to_owned();
    served.import(vec![(at, withdrawn)]).await;
    let page = visitor.get("/decision?formation=TM101").await;
    assert_eq!(page.count(".warnings .concession"), 0);
    let both = "Departs from its baseline with no concession: car 4101 =AS-QN1 (opening pressure out \
                of range), =MP-WH1 (part not approved).";
    assert_eq!(page.texts(".warnings .departs"), [both]);
}

/// The sheet says what departs, and is void once a setting is told anew.
async fn a_sheet_tells_what_departs_until_that_is_told_anew(url: &str) {
    let served = Served::with_trains(url).await;
    served.import(vec![overflow_found("4101", "7.5 bar")]).await;
    let controller = served.signed_in(Role::Controller).await;
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let paper = sheet.text(".paper-warnings");
    assert!(
        paper.contains("car 4101 =AS-QN1 (opening pressure out of range)"),
        "{paper}"
    );
    let right = json!({"setting_made": {"car": "4101", "position": "=AS-QN1",
        "setting": "opening pressure", "value": "7.8 bar"}});
    let at = "2026-11-25T12:00:00Z".to_owned();
    served.import(vec![(at, right)]).await;
    let again = controller.get(sheet.path()).await;
    let void = again.text(".void-banner");
    assert!(void.contains("departures changed"), "{void}");
    let page = controller.get("/trains/T1").await;
    assert_eq!(page.count(".warnings .departs"), 0);
}

each_database!(
    that_nothing_is_known_of_the_brake_percentage_is_told_beside_the_verdict,
    what_departs_with_no_concession_is_told_beside_the_verdict,
    a_sheet_tells_what_departs_until_that_is_told_anew,
    what_was_agreed_with_a_concession_is_told_beside_the_verdict,
    brakes_that_drag_are_told_before_the_verdict,
    a_brake_that_only_emergency_braking_reaches_is_not_operative,
    a_verdict_says_what_it_becomes_once_stored_air_is_used_up,
    a_load_signal_that_is_lost_later_counts_later,
    a_drain_cock_is_told_of_by_what_it_empties,
    the_drawing_of_a_train_says_what_may_drag,
    the_board_puts_the_strictest_first_and_the_sheet_says_what_drags,
);
