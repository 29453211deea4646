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
    assert_eq!(sheet.count(".paper tbody tr"), 6);
    let rows = sheet.texts(".paper tbody tr");
    assert!(
        rows.iter()
            .all(|row| row.ends_with("2026-11-25 11:00 +00:00")),
        "{rows:?}"
    );
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
