//! What the sheet of a decision says beside its verdict: air that stays stored with where it is
//! drained, and checks that nobody has confirmed.
//!
//! Stored air by Boyle's law, as `published::stored_air` checks it; the checks after a cut-out are
//! those of practice D.6.

use domain::people::Role;
use tests::each_database;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;
use super::sheets::decide;

const SUPPLY_COCK: [(&str, &str); 4] = [
    ("position", "=BS-QM1"),
    ("state", "supply_cut"),
    ("cause", "leak at the control unit"),
    ("at", "2026-11-25 11:00"),
];

async fn a_sheet_tells_stored_air_with_its_applications_and_its_drain_cock(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let recorded = record(&controller, "4101", &SUPPLY_COCK).await;
    assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    let train = controller.get("/trains/T1").await;
    let rows = train.texts("#stored-air tbody td strong");
    let left = rows
        .iter()
        .find(|text| text.contains("full applications"))
        .unwrap();
    let sheet = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let said = sheet.texts(".paper-stored li");
    assert_eq!(said.len(), train.count("#stored-air tbody tr"), "{said:?}");
    assert!(
        said[0].starts_with("Car 4101 =BS-CM1: ")
            && said[0].contains(left.as_str())
            && said[0].ends_with("; drain at =BS-QM2."),
        "{said:?}, {left}"
    );
}

async fn a_dead_compressor_leaves_more_reservoirs_than_a_sheet_tells_one_by_one(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    for car in ["4102", "4105"] {
        let dead = [
            ("position", "=AP-GQ1"),
            ("state", "failed"),
            ("cause", "compressor does not start"),
            ("at", "2026-11-25 11:00"),
        ];
        let recorded = record(&controller, car, &dead).await;
        assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    }
    let train = controller.get("/trains/T1").await;
    let all = train.count("#stored-air tbody tr");
    let sheet = decide(&controller, "/trains/T1/decide").await;
    let told = sheet.count(".paper-stored li");
    assert!(0 < told && told < all, "{told} of {all}");
    let more = format!(
        "{} further reservoirs: see the page of the train",
        all - told
    );
    let says = sheet.text(".paper-stored p");
    assert!(says.starts_with(&more), "{says}");
}

async fn a_sheet_says_which_checks_nobody_has_confirmed_until_they_are(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let before = controller.get("/trains/T1/decide").await;
    let warned = before.text(".caution a[href$='#checks']");
    assert_eq!(warned, "Confirm them first");
    let sheet = decide(&controller, "/trains/T1/decide").await;
    let says = sheet.text(".paper-checks");
    assert!(
        says.starts_with("☐ 6 of 6 checks are not confirmed")
            && says.contains("right car and place: car 4102 =BS1-QM1")
            && says.ends_with("counted again; everyone told."),
        "{says}"
    );
    let mut train = controller.get("/trains/T1").await;
    for place in 1..=6 {
        let form = train.form(&format!(".checks li:nth-child({place}) .confirm"));
        let by = form.fields().iter().find(|(name, _)| name == "by");
        assert_eq!(by.unwrap().1, "", "who checked is said and never assumed");
        train = controller.submit(&form.fill("by", "F. Fitter")).await;
    }
    let again = controller.get(sheet.path()).await;
    let says = again.text(".paper-checks");
    assert!(says.starts_with("☑ All 6 checks"), "{says}");
    // The last of them says that everybody was told since.
    let told = again.text(".paper-sign > p");
    let since = "everybody who must be, by F. Fitter";
    assert!(
        told.contains("Told: signaller") && told.contains(since),
        "{told}"
    );
    for path in ["/trains/T1", "/isolations"] {
        let line = controller.get(path).await.text(".decided-stands");
        let since = "then everybody who must be (by F. Fitter";
        assert!(line.contains(since), "{path}: {line}");
    }
    let decide = controller.get("/trains/T1/decide").await;
    assert_eq!(decide.count(".caution a[href$='#checks']"), 0);
    // Who was told of it is to hear that it is void: that stays with it.
    let other = CYLINDER_COCK.map(|(name, value)| match name {
        "position" => (name, "=BS2-QM1"),
        "at" => (name, ""),
        _ => (name, value),
    });
    record(&controller, "4102", &other).await;
    let void = controller.get(sheet.path()).await;
    assert_eq!(void.count(".void-banner"), 1);
    let told = void.text(".paper-sign > p");
    assert!(told.contains(since), "{told}");
    for path in ["/trains/T1", "/isolations"] {
        let line = controller.get(path).await.text(".decided-void");
        assert!(
            line.contains("then everybody who must be (by F. Fitter"),
            "{line}"
        );
    }
}

async fn a_sheet_says_on_which_gradient_the_train_is_held(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let released = [
        ("position", "=PB-MS1"),
        ("state", "released_by_hand"),
        ("cause", "did not release"),
        ("at", "2026-11-25 11:00"),
    ];
    let recorded = record(&controller, "4101", &released).await;
    assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    let train = controller.get("/trains/T1").await;
    let [before, after] = ["td:nth-child(2)", "td:nth-child(3)"]
        .map(|cell| train.text(&format!("#holding tr {cell}")));
    let sheet = decide(&controller, "/trains/T1/decide").await;
    let effect = sheet.text(".paper-effect");
    assert!(
        effect.contains(&format!(
            "keep the train on {after} as it is, {before} with"
        )),
        "{effect}, {before}, {after}"
    );
    let beside = sheet.text(".paper-warnings");
    assert!(
        beside.contains(&format!("keep the train on {after} and not on {before}")),
        "{beside}"
    );
}

/// Nobody goes by a milder rule set unasked, and whoever does has the stricter one on the sheet.
async fn the_strictest_rule_set_is_offered_first_and_a_milder_sheet_names_it(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let held_on = [
        ("position", "=BS1-QM1"),
        ("state", "closed_trapped"),
        ("cause", "found so"),
        ("at", "2026-11-25 11:00"),
    ];
    let recorded = record(&controller, "4101", &held_on).await;
    assert_eq!(recorded.status(), 200, "{}", recorded.text("main"));
    let page = controller.get("/trains/T1/decide").await;
    let verdicts = page.texts(".verdict h2");
    assert!(verdicts[0].ends_with("May not run") && !verdicts[1].ends_with("May not run"));
    let offered = page.texts("#decide select[name=rule_set] option");
    let values = page.attributes("#decide select[name=rule_set] option", "value");
    let first = offered
        .iter()
        .position(|words| words.ends_with("May not run"))
        .unwrap();
    let strictest = offered[first].split(':').next().unwrap();
    let milder = values.last().unwrap();
    assert!(first < values.len() - 1, "{offered:?}");
    let form = page.form("#decide form");
    let chosen = form
        .fields()
        .iter()
        .find(|(name, _)| name == "rule_set")
        .unwrap();
    assert_eq!(chosen.1, values[first], "{offered:?}");
    let sheet = controller.submit(&form.fill("rule_set", milder)).await;
    let beside = sheet.text(".paper-warnings");
    let (name, revision) = strictest.rsplit_once(' ').unwrap();
    let stricter =
        format!("{name}, revision {revision}, is in force too and stricter: May not run");
    assert!(beside.contains(&stricter), "{beside}");
}

each_database!(
    a_sheet_says_on_which_gradient_the_train_is_held,
    the_strictest_rule_set_is_offered_first_and_a_milder_sheet_names_it,
    a_sheet_tells_stored_air_with_its_applications_and_its_drain_cock,
    a_dead_compressor_leaves_more_reservoirs_than_a_sheet_tells_one_by_one,
    a_sheet_says_which_checks_nobody_has_confirmed_until_they_are,
);
