//! The board in a browser: it changes by itself when somebody records something elsewhere, and
//! says so when it can no longer know.

use domain::people::Role;
use serde_json::json;
use tests::browser::{Browser, in_browser};
use tests::sqlite::SqliteFile;

use super::configuration::sign_in;
use crate::http::isolations::{CYLINDER_COCK, record};
use crate::http::sample::Served;

async fn open_board(browser: &Browser, served: &Served) {
    sign_in(browser, served, "controller").await;
    let board = format!("{}/isolations", served.server.base());
    browser.open(&board).await;
    browser.text("body.live-on .live-line").await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_one_records_the_board_of_another_shows_by_itself() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |watching| {
        open_board(watching, &served).await;
        assert!(watching.text(".done").await.contains("No cut-out"));
        in_browser(async |recording| {
            sign_in(recording, &served, "technician").await;
            let form = format!("{}/isolations/new?car=4102", served.server.base());
            recording.open(&form).await;
            recording.choose("#new-position", "=BS1-QM1").await;
            recording.choose("#new-state", "closed_vented").await;
            recording.type_into("#new-cause", "does not release").await;
            recording.follow("#new form button").await;
            recording.text(".board-place").await;
        })
        .await;
        let row = watching.text("#train-T1 .cut-outs tbody").await;
        assert!(row.contains("does not release"), "{row}");
        let verdict = watching.text("#train-T1 .verdict-line").await;
        assert!(verdict.contains("May run with restrictions"), "{verdict}");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_change_keeps_the_readers_place_and_focus() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    in_browser(async |browser| {
        browser.resize(800, 500).await;
        open_board(browser, &served).await;
        let place = "const link = document.querySelector('#train-T1 .cut-outs tr:first-child a[href^=\"/isolations/end\"]');
            return [document.activeElement === link, Math.round(link.getBoundingClientRect().top)]";
        let reads = "document.querySelector('#train-T1 .cut-outs tr:first-child a[href^=\"/isolations/end\"]').focus();
            window.scrollBy(0, 40);";
        browser.evaluate(reads).await;
        let before = browser.evaluate(place).await;
        assert_eq!(before[0], json!(true));
        let older = [
            ("position", "=BS1-QM1"),
            ("state", "closed_vented"),
            ("cause", "found closed"),
            ("at", "2026-11-25 10:00"),
        ];
        // On a set that then stands above, so that everything moves down.
        record(&controller, "5104", &older).await;
        browser.text("#train-T2 .cut-outs").await;
        let after = browser.evaluate(place).await;
        assert_eq!(after[0], json!(true), "the same link has the focus");
        let moved = after[1].as_i64().unwrap() - before[1].as_i64().unwrap();
        assert!(moved.abs() <= 2, "it moved by {moved} pixels");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_open_page_about_a_train_says_when_its_answer_has_changed() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let controller = served.signed_in(Role::Controller).await;
    in_browser(async |browser| {
        let train = format!("{}/trains/T1", served.server.base());
        browser.open(&train).await;
        browser.text("body.live-on").await;
        record(&controller, "4102", &CYLINDER_COCK).await;
        let told = browser.text("#changed:not([hidden])").await;
        assert!(told.contains("has changed"), "{told}");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_board_that_can_no_longer_know_says_that_it_may_be_out_of_date() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    in_browser(async |browser| {
        open_board(browser, &served).await;
        let hidden = browser.evaluate("return document.getElementById('stale').hidden");
        assert_eq!(hidden.await, json!(true));
        served.store.end_changes();
        let warning = browser.text("body.stale #stale:not([hidden])").await;
        assert!(warning.contains("may be out of date"), "{warning}");
    })
    .await;
}
