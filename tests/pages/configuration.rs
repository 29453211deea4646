//! A technician with a scanner, and pages that can be read on a tablet.

use serde_json::json;
use tests::browser::{Browser, in_browser};
use tests::sqlite::SqliteFile;

use crate::http::sample::Served;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_technician_scans_a_component_into_an_empty_position_and_takes_it_off_again() {
    let database = SqliteFile::fresh();
    let served = Served::with_fleet(database.url()).await;
    in_browser(async |browser| {
        sign_in(browser, &served, "technician").await;
        let position = format!("{}/positions/4102/%3DBS2-K1", served.server.base());
        browser.open(&position).await;
        // A scanner types what the plate says and ends with Enter.
        browser.enter("#fit-serial", "7").await;
        // Nobody said when it was made: what stands on it comes before it is recorded.
        let standing = browser.text("#fit .standing-work").await;
        assert!(standing.contains("unknown"), "{standing}");
        browser.follow("#fit button").await;
        assert_eq!(browser.text(".fitted-now").await, "DV/210 serial 7");
        browser.click("#remove summary").await;
        browser.choose("#remove-why", "suspected").await;
        browser.type_into("#remove-to", "Workshop North").await;
        browser.follow("#remove button").await;
        let refusal = browser.text("#remove .refusal").await;
        assert!(
            refusal.contains("give a time after it was fitted"),
            "{refusal}"
        );
        assert_eq!(browser.evaluate("return location.hash").await, "#remove");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_field_finds_a_car_and_the_drawing_leads_to_a_position() {
    let database = SqliteFile::fresh();
    let served = Served::with_fleet(database.url()).await;
    in_browser(async |browser| {
        browser.open(served.server.base()).await;
        browser.enter("#find", "4101").await;
        assert_eq!(browser.text("h1").await, "Car 4101");
        browser.follow("svg.car-side a.mark.empty use").await;
        assert_eq!(browser.text("h1").await, "=BS1-Q1 of car 4101");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_fit_a_tablet_and_everything_on_them_has_a_name() {
    let database = SqliteFile::fresh();
    let served = Served::with_fleet(database.url()).await;
    in_browser(async |browser| {
        sign_in(browser, &served, "brake_engineer").await;
        browser.resize(800, 1200).await;
        for path in [
            "/cars",
            "/fleets/Sedge",
            "/units/41",
            "/cars/4101",
            "/cars/4101?at=2026-02-01",
            "/positions/4101/%3DBS1-K1",
            "/positions/4102/%3DBS2-K1",
            "/components?location=Store+North",
            "/components/DV%2F210/1",
            "/find?q=%3DBS1-K1",
        ] {
            browser
                .open(&format!("{}{path}", served.server.base()))
                .await;
            let faults = browser.evaluate(FAULTS).await;
            assert_eq!(faults, json!([]), "{path}");
        }
    })
    .await;
}

/// What a page must not have: fields without a label, names that are used twice, skipped
/// headings, and more width than the window.
pub(super) const FAULTS: &str = r#"
    const faults = [];
    const fields = document.querySelectorAll("input:not([type=hidden]), select, textarea");
    for (const field of fields) if (!field.labels.length) faults.push("no label: " + field.name);
    const ids = [...document.querySelectorAll("[id]")].map(e => e.id);
    for (const id of ids) if (ids.filter(other => other === id).length > 1) faults.push("twice: " + id);
    const levels = [...document.querySelectorAll("h1, h2, h3")].map(h => +h.tagName[1]);
    levels.forEach((level, n) => {
        if (level - (levels[n - 1] ?? 0) > 1) faults.push("heading skipped before h" + level);
    });
    for (const link of document.querySelectorAll("a"))
        if (!link.textContent.trim()) faults.push("no name: " + link.outerHTML);
    const excess = document.documentElement.scrollWidth - window.innerWidth;
    if (excess > 0) faults.push("wider than the window by " + excess);
    return faults;
"#;

pub(super) async fn sign_in(browser: &Browser, served: &Served, account: &str) {
    browser
        .open(&format!("{}/sign-in", served.server.base()))
        .await;
    let field = format!("form:has([name=name][value={account}]) button");
    browser.follow(&field).await;
    browser.text(".person a[href='/my-account']").await;
}
