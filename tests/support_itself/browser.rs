//! The browser shows, clicks, types and prints.

use std::path::Path;

use axum::Router;
use axum::response::Html;
use axum::routing::get;
use tests::browser::in_browser;
use tests::server::RunningServer;

const PAGE: &str = r#"<!DOCTYPE html><html lang="en"><title>Cock</title>
<style>@media print { #only-shown { display: none } } .hidden { display: none }</style>
<p id="state">open</p><p class="hidden">not seen</p>
<button onclick="document.getElementById('state').textContent = 'closed'">Close</button>
<svg width="100" height="40"><circle id="drawn" cx="50" cy="20" r="10"
  onclick="setTimeout(() => this.setAttribute('class', 'cut-out'), 50)"/></svg>
<form action="/other"><input name="note"><button id="send">Send</button></form></html>"#;

async fn cock_server() -> RunningServer {
    let other = r#"<!DOCTYPE html><html lang="en"><title>Other</title><h1>Other</h1></html>"#;
    let routes = Router::new()
        .route("/", get(async || Html(PAGE)))
        .route("/other", get(async move || Html(other)));
    RunningServer::start(routes).await
}

#[tokio::test]
async fn a_click_on_a_button_runs_the_page_s_script() {
    let server = cock_server().await;
    in_browser(async |browser| {
        browser.open(server.base()).await;
        assert_eq!(browser.text("#state").await, "open");
        browser.click("button").await;
        assert_eq!(browser.text("#state").await, "closed");
    })
    .await;
}

#[tokio::test]
async fn a_drawing_is_clicked_and_what_comes_late_is_waited_for() {
    let server = cock_server().await;
    in_browser(async |browser| {
        browser.open(server.base()).await;
        browser.click("#drawn").await;
        assert_eq!(browser.text("circle.cut-out").await, "");
    })
    .await;
}

#[tokio::test]
async fn a_form_leads_to_the_next_page_with_what_was_typed() {
    let server = cock_server().await;
    in_browser(async |browser| {
        browser.open(server.base()).await;
        browser.type_into("[name=note]", "stuck & cold").await;
        browser.follow("#send").await;
        assert_eq!(browser.text("h1").await, "Other");
        let expected = format!("{}/other?note=stuck+%26+cold", server.base());
        assert_eq!(browser.address().await, expected);
    })
    .await;
}

#[tokio::test]
async fn a_page_is_pictured_and_printed() {
    let server = cock_server().await;
    let folder = tempfile::tempdir().unwrap();
    let (picture, sheets) = (
        folder.path().join("page.png"),
        folder.path().join("page.pdf"),
    );
    in_browser(async |browser| {
        browser.open(server.base()).await;
        browser.resize(600, 400).await;
        assert_eq!(browser.evaluate("return window.outerWidth").await, 600);
        browser.screenshot(&picture).await;
        browser.print(&sheets).await;
    })
    .await;
    assert!(starts_with(&picture, b"\x89PNG"));
    assert!(starts_with(&sheets, b"%PDF"));
}

#[tokio::test]
#[should_panic(expected = "click “.hidden”")]
async fn what_is_hidden_cannot_be_clicked() {
    let server = cock_server().await;
    in_browser(async |browser| {
        browser.open(server.base()).await;
        browser.click(".hidden").await;
    })
    .await;
}

#[tokio::test]
#[should_panic(expected = "“button” leads nowhere")]
async fn what_leads_to_no_other_page_cannot_be_followed() {
    let server = cock_server().await;
    in_browser(async |browser| {
        browser.open(server.base()).await;
        browser.follow("button").await;
    })
    .await;
}

fn starts_with(file: &Path, mark: &[u8]) -> bool {
    std::fs::read(file).unwrap().starts_with(mark)
}
