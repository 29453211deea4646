//! The sheet of a decision as it is printed.

use domain::people::Role;
use tests::browser::in_browser;
use tests::sqlite::SqliteFile;
use tests::visitor::Visitor;

use crate::http::isolations::record;
use crate::http::sample::Served;
use crate::http::sheets::decide;

/// How many pages a PDF has, by its page objects.
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    let objects = text.match_indices("/Type /Page");
    let is_page = |at: usize| !text[at + "/Type /Page".len()..].starts_with('s');
    objects.filter(|(at, _)| is_page(*at)).count()
}

/// Train T3 of two units, the second reversed, and a set.
async fn form_train_of_twelve_cars(controller: &Visitor) {
    let page = controller.get("/trains").await;
    let form = page.form("#form form");
    let form = form
        .fill("train", "T3")
        .fill("formation", "TM101, TM102r, PC201");
    assert_eq!(controller.submit(&form).await.status(), 200);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sheet_of_twelve_cars_and_six_cut_outs_is_one_page() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let controller = served.signed_in(Role::Controller).await;
    form_train_of_twelve_cars(&controller).await;
    for car in ["4101", "4102", "4104", "4105"] {
        let cut_out = [
            ("position", "=BS1-QM1"),
            ("state", "closed_vented"),
            ("cause", "brake does not release"),
            ("at", "2026-11-25 11:00"),
        ];
        assert_eq!(record(&controller, car, &cut_out).await.status(), 200);
    }
    // A reservoir of each car stays charged, and no check is confirmed.
    for car in ["4103", "4106"] {
        let cut_out = [
            ("position", "=BS-QM1"),
            ("state", "supply_cut"),
            ("cause", "leak at the control unit"),
            ("at", "2026-11-25 11:00"),
        ];
        assert_eq!(record(&controller, car, &cut_out).await.status(), 200);
    }
    let sheet = decide(&controller, "/trains/T3/decide?brake_position=P").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert_eq!(sheet.count(".paper-car"), 12);
    // In a table, or where there is no room for that in a list under the time of them all.
    assert_eq!(sheet.count(".paper tbody tr, .paper-short li"), 6);
    let rows = sheet.texts(".paper tbody tr");
    let dated = rows.iter();
    let dated = dated.filter(|row| row.ends_with("2026-11-25 11:00 +00:00"));
    assert_eq!(dated.count(), rows.len(), "{rows:?}");
    let says = sheet.text(".paper");
    assert!(says.contains("2026-11-25 11:00 +00:00"), "{says}");
    assert_eq!(sheet.count(".paper-checks, .paper-stored"), 2);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.pdf");
    in_browser(async |browser| {
        let address = format!("{}{}", served.server.base(), sheet.path());
        browser.open(&address).await;
        browser.print(&file).await;
    })
    .await;
    assert_eq!(pages(&std::fs::read(&file).unwrap()), 1);
}

/// Cut-outs that were made at several times: car, position, state and time.
type Made = (&'static str, &'static str, &'static str, &'static str);

/// Records them, decides about train T1 by each rule set in force and prints each sheet: how many
/// pages it has, and whether it says that it is one.
async fn sheets_printed(cut_outs: &[Made], train: &str, also: Option<&str>) -> Vec<(usize, bool)> {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    if let Some(another) = also {
        issue_another_rule_set(&served, another).await;
    }
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/trains").await;
    let form = page.form("#form form").fill("train", "T4");
    let formed = controller.submit(&form.fill("formation", train)).await;
    assert_eq!(formed.status(), 200, "{}", formed.text("main"));
    for (car, position, state, at) in cut_outs {
        let cut_out = [
            ("position", *position),
            ("state", *state),
            ("cause", "brake does not release"),
            ("at", *at),
        ];
        assert_eq!(record(&controller, car, &cut_out).await.status(), 200);
    }
    let page = controller.get("/trains/T4/decide").await;
    let offered = page.attributes("#decide select[name=rule_set] option", "value");
    let folder = tempfile::tempdir().unwrap();
    let mut printed = Vec::new();
    for rules in offered.into_iter().filter(|value| !value.is_empty()) {
        let form = controller
            .get("/trains/T4/decide")
            .await
            .form("#decide form");
        let form = form.fill("told_1", "signaller").fill("rule_set", rules);
        let sheet = controller.submit(&form).await;
        assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
        let effect = sheet.text(".paper-effect");
        assert!(effect.contains("as it is 100 · "), "{effect}");
        let one = sheet.text("main").contains("it is one sheet of A4");
        let file = folder.path().join(format!("{}.pdf", printed.len()));
        in_browser(async |browser| {
            let address = format!("{}{}", served.server.base(), sheet.path());
            browser.open(&address).await;
            browser.print(&file).await;
        })
        .await;
        printed.push((pages(&std::fs::read(&file).unwrap()), one));
    }
    printed
}

/// One of the rule sets in force once more, under another name.
async fn issue_another_rule_set(served: &Served, name: &str) {
    let view = served.store.view().await.unwrap();
    let known = view.documents.rule_sets.values().next().unwrap();
    let mut another = serde_json::to_value(&*known.document).unwrap();
    another["name"] = name.into();
    drop(view);
    let issued = serde_json::json!({ "rule_set_issued": another });
    let at = "2026-11-20T09:00:00Z".to_owned();
    served.import(vec![(at, issued)]).await;
}

/// What runs with restrictions has the most on its sheet: what is imposed, and who is told.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sheet_of_six_cars_and_three_cut_outs_is_one_page_by_either_rule_set() {
    let cut_outs = [
        ("4104", "=BS-QM1", "supply_cut", "2026-11-22 08:44"),
        ("4105", "=BS1-QM1", "closed_vented", "2026-11-24 08:37"),
        ("4101", "=BS2-QM1", "closed_vented", "2026-11-25 11:00"),
    ];
    let printed = sheets_printed(&cut_outs, "TM101, TM102r", None).await;
    assert_eq!(printed, [(1, true); 2]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sheet_of_three_cars_is_one_page_beside_a_third_rule_set() {
    let cut_outs = [
        ("4102", "=BS1-QM1", "closed_vented", "2026-11-24 08:37"),
        ("4101", "=BS-QM1", "supply_cut", "2026-11-25 11:55"),
        ("4103", "=BS2-QM1", "closed_vented", "2026-11-25 11:00"),
    ];
    for count in [2, 3] {
        let also = Some("Example of a third issuer");
        let printed = sheets_printed(&cut_outs[..count], "TM101", also).await;
        assert_eq!(printed, [(1, true); 3], "{count}");
    }
}

/// The twelve bogie cocks of six cars, in the order of the train, and two reservoirs beside.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sheet_of_twelve_cars_and_fourteen_cut_outs_is_one_page_and_has_only_labels_of_the_cars()
{
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let controller = served.signed_in(Role::Controller).await;
    form_train_of_twelve_cars(&controller).await;
    let bogie_cocks = ["4101", "4102", "4103", "4104", "4105", "4106"]
        .into_iter()
        .flat_map(|car| ["=BS1-QM1", "=BS2-QM1"].map(|cock| (car, cock, "closed_vented")));
    let supplies = ["4103", "4106"].map(|car| (car, "=BS-QM1", "supply_cut"));
    for (car, position, state) in bogie_cocks.chain(supplies) {
        let cut_out = [
            ("position", position),
            ("state", state),
            ("cause", "brake does not release"),
            ("at", "2026-11-25 11:00"),
        ];
        assert_eq!(record(&controller, car, &cut_out).await.status(), 200);
    }
    let sheet = decide(&controller, "/trains/T3/decide?brake_position=P").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    assert_eq!(sheet.count(".paper-short li"), 14);
    let said = sheet.text(".paper-short");
    assert!(said.contains("label B1, =BS1-QM1"), "{said}");
    assert!(!said.contains("label QM"), "{said}");
    assert!(
        sheet
            .text(".paper")
            .contains("All since 2026-11-25 11:00 +00:00"),
        "{}",
        sheet.text(".paper")
    );
    let one = sheet.text("main").contains("it is one sheet of A4");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.pdf");
    in_browser(async |browser| {
        let address = format!("{}{}", served.server.base(), sheet.path());
        browser.open(&address).await;
        browser.print(&file).await;
    })
    .await;
    assert_eq!((pages(&std::fs::read(&file).unwrap()), one), (1, true));
}

/// Bogie cocks and supplies of six cars, each cut out at a time of its own.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sheet_of_cut_outs_since_many_times_and_of_many_checks_is_one_page_and_counts_them_all() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let controller = served.signed_in(Role::Controller).await;
    form_train_of_twelve_cars(&controller).await;
    let cocks = [
        ("=BS1-QM1", "closed_vented"),
        ("=BS2-QM1", "closed_vented"),
        ("=BS-QM1", "supply_cut"),
    ];
    let cars = ["4101", "4102", "4103", "4104", "4105", "4106"];
    let all = cocks
        .into_iter()
        .flat_map(|cock| cars.map(|car| (car, cock)));
    let folder = tempfile::tempdir().unwrap();
    for (place, (car, (position, state))) in all.enumerate() {
        let at = format!("2026-11-25 11:{place:02}");
        let cut_out = [
            ("position", position),
            ("state", state),
            ("cause", "brake does not release"),
            ("at", at.as_str()),
        ];
        assert_eq!(record(&controller, car, &cut_out).await.status(), 200);
        let count = place + 1;
        if ![7, 8, 18].contains(&count) {
            continue;
        }
        let sheet = decide(&controller, "/trains/T3/decide?brake_position=P").await;
        assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
        let named = sheet.count(".paper-short li");
        let said = sheet.text(".paper");
        let more = format!("And {} more, {count} in all", count - named);
        assert_eq!(said.contains(&more), named < count, "{said}");
        let one = sheet.text("main").contains("it is one sheet of A4");
        let file = folder.path().join(format!("{count}.pdf"));
        in_browser(async |browser| {
            let address = format!("{}{}", served.server.base(), sheet.path());
            browser.open(&address).await;
            browser.print(&file).await;
        })
        .await;
        let printed = pages(&std::fs::read(&file).unwrap());
        assert_eq!((printed, one), (1, true), "{count}: {said}");
    }
}
