//! A controller asks what a cut-out takes away, by clicking a cock on the drawing, and prints
//! the answer.

use serde_json::{Value, json};
use tests::browser::{Browser, in_browser};
use tests::sqlite::SqliteFile;

use super::configuration::{FAULTS, sign_in};
use crate::http::sample::Served;

/// The bogie cylinder cock of the leading car, on the drawing.
const COCK: &str = "svg.train a[aria-label^='Car 4101, =BS1-QM1']";

async fn percentage(browser: &Browser) -> String {
    browser.text("#percentage tr:first-child strong").await
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_click_on_a_cock_supposes_it_closed_and_another_takes_that_back() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |browser| {
        let train = format!("{}/trains/T1", served.server.base());
        browser.open(&train).await;
        let sound = percentage(browser).await;
        browser.follow(COCK).await;
        browser.text(".what-if-banner").await;
        let cut_out = percentage(browser).await;
        // 40 of 456 t of braked weight on 297 t of mass.
        assert_eq!((sound.as_str(), cut_out.as_str()), ("153.53 %", "140.06 %"));
        let closed =
            browser.evaluate("return document.querySelectorAll('.wheel-lost.wheel').length");
        assert!(closed.await.as_i64() > Some(0), "the lost axles are drawn");
        browser.follow(COCK).await;
        browser.text(".stands").await;
        assert_eq!(percentage(browser).await, sound);
        assert_eq!(browser.address().await, train);
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_cock_is_turned_by_keyboard_and_a_state_chosen_from_the_list() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |browser| {
        browser
            .open(&format!(
                "{}/decision?formation=TM101",
                served.server.base()
            ))
            .await;
        browser.enter(COCK, "").await;
        browser.text(".what-if-banner").await;
        // The list of a car on which something is supposed stands open.
        browser
            .choose("[id='state-4101-=BS1-QM1']", "4101:=BS1-QM1:supply_cut")
            .await;
        browser.follow("#suppose ~ details button").await;
        let supposed = browser.text(".what-if-banner li").await;
        assert!(supposed.contains("vents: supply cut"), "{supposed}");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_about_trains_fit_a_tablet_and_everything_on_them_has_a_name() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |browser| {
        sign_in(browser, &served, "brake_engineer").await;
        browser.resize(800, 1200).await;
        for path in [
            "/isolations",
            "/isolations/new?car=4102",
            "/trains",
            "/trains/T1",
            "/trains/T2?close=5104%3A%3DBP-QM2%3Aclosed_trapped&speed=fast",
            "/decision?formation=PC201r,4101",
            "/trains/T2?gradient=-20&steps=every&method=forces",
            "/tests/new?car=4102",
            "/tests/new?car=4102&procedure=BT-TM-T",
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

/// Notes what is to be seen while the page is laid out for paper.
const WATCH_PAPER: &str = r##"
    const seen = element => element.checkVisibility({ contentVisibilityAuto: true });
    const count = selector => [...document.querySelectorAll(selector)].filter(seen).length;
    const all = selector => document.querySelectorAll(selector).length;
    const share = selector => [count(selector) / all(selector)];
    matchMedia("print").addEventListener("change", paper => {
        if (paper.matches) window.paper = {
            steps: share("#steps ~ details li"),
            rules: share(".rules li"),
            summaries: share("#steps ~ details summary"),
            figures: share("#figures ~ .scroll tr"),
            labels: share("svg.train .cock > text"),
            forms: count("main form, .masthead"),
        };
    });
"##;

/// What a page shows on paper, and how many pages it takes.
async fn on_paper(browser: &Browser, address: &str, file: &std::path::Path) -> (Value, usize) {
    browser.open(address).await;
    browser.evaluate(WATCH_PAPER).await;
    browser.print(file).await;
    let pdf = std::fs::read(file).unwrap();
    let text = String::from_utf8_lossy(&pdf);
    let pages = text.matches("/Type /Page\n").count();
    (browser.evaluate("return window.paper").await, pages)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_paper_stand_the_figures_alone_unless_every_step_is_asked_for() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let folder = tempfile::tempdir().unwrap();
    in_browser(async |browser| {
        let what_if = "/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented";
        let address = format!("{}{what_if}", served.server.base());
        let file = folder.path().join("sheet.pdf");
        let (paper, pages) = on_paper(browser, &address, &file).await;
        let without_steps = json!({
            "steps": [0], "rules": [0], "summaries": [0], "figures": [1], "labels": [1], "forms": 0
        });
        assert_eq!(paper, without_steps);
        assert!((1..=3).contains(&pages), "{pages} pages");
        browser.open(&address).await;
        browser.follow("#steps + p a").await;
        let address = browser.address().await;
        assert!(address.contains("steps=every"), "{address}");
        let (paper, more) = on_paper(browser, &address, &file).await;
        let with_steps = json!({
            "steps": [1], "rules": [1], "summaries": [1], "figures": [1], "labels": [1], "forms": 0
        });
        assert_eq!(paper, with_steps);
        assert!(pages < more, "{more} pages with every step");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn methods_are_chosen_by_click_and_the_question_stays_as_it_was() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |browser| {
        let path = "/trains/T1?speed=120&close=4101%3A%3DBS1-QM1%3Aclosed_vented";
        browser
            .open(&format!("{}{path}", served.server.base()))
            .await;
        let curves =
            "return document.querySelectorAll('svg.speed-distance.drawing .course').length";
        assert_eq!(browser.evaluate(curves).await, json!(6));
        for method in [
            "conversion_model_nominal",
            "conversion_model_default_values",
        ] {
            browser.click(&format!("input[value='{method}']")).await;
        }
        browser.follow(".methods button").await;
        browser.text(".what-if-banner").await;
        assert_eq!(browser.evaluate(curves).await, json!(2));
        let address = browser.address().await;
        assert!(
            address.contains("speed=120") && address.contains("method=forces"),
            "{address}"
        );
    })
    .await;
}
