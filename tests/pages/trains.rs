//! A controller asks what a cut-out takes away, by clicking a cock on the drawing, and prints
//! the answer.

use serde_json::json;
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
        browser.click(COCK).await;
        browser.text(".what-if-banner").await;
        let cut_out = percentage(browser).await;
        // 40 of 456 t of braked weight on 297 t of mass.
        assert_eq!((sound.as_str(), cut_out.as_str()), ("153.53 %", "140.06 %"));
        let closed =
            browser.evaluate("return document.querySelectorAll('.wheel-lost.wheel').length");
        assert!(closed.await.as_i64() > Some(0), "the lost axles are drawn");
        browser.click(COCK).await;
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
        browser.type_into(COCK, "\u{e007}").await;
        browser.text(".what-if-banner").await;
        // The list of a car on which something is supposed stands open.
        browser
            .choose("[id='state-4101-=BS1-QM1']", "4101:=BS1-QM1:bypassed")
            .await;
        browser.click("#suppose ~ details button").await;
        let supposed = browser.text(".what-if-banner li").await;
        assert!(supposed.contains("vents: bypassed"), "{supposed}");
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

/// Notes what is to be seen while the page is laid out for paper. Paper has no triangles to
/// click: whatever can be unfolded on screen is unfolded there.
const WATCH_PAPER: &str = r##"
    const seen = element => element.checkVisibility({ contentVisibilityAuto: true });
    const count = selector => [...document.querySelectorAll(selector)].filter(seen).length;
    const all = selector => document.querySelectorAll(selector).length;
    window.folded = all("#steps ~ details li") - count("#steps ~ details li");
    matchMedia("print").addEventListener("change", paper => {
        if (paper.matches) window.paper = {
            steps: count("#steps ~ details li") === all("#steps ~ details li"),
            rules: count(".rules li") === all(".rules li"),
            forms: count("main form, .masthead"),
        };
    });
"##;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_paper_every_step_is_unfolded_and_there_is_no_form() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let folder = tempfile::tempdir().unwrap();
    in_browser(async |browser| {
        let what_if = "/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented";
        browser
            .open(&format!("{}{what_if}", served.server.base()))
            .await;
        browser.evaluate(WATCH_PAPER).await;
        let hidden = browser.evaluate("return window.folded").await;
        assert!(
            hidden.as_i64() > Some(20),
            "on screen the steps are folded: {hidden}"
        );
        browser.print(&folder.path().join("sheet.pdf")).await;
        let paper = browser.evaluate("return window.paper").await;
        assert_eq!(paper, json!({"steps": true, "rules": true, "forms": 0}));
    })
    .await;
}
