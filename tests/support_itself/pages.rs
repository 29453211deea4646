//! A visitor sends what a browser would send, and no page with faults passes.

use axum::extract::RawForm;
use axum::http::HeaderMap;
use axum::http::header::{COOKIE, SET_COOKIE};
use axum::response::{Html, IntoResponse, Redirect};
use axum::routing::{get, post};
use axum::{Json, Router};
use tests::server::RunningServer;
use tests::visitor::Visitor;

const ASKING: &str = r#"<!DOCTYPE html><html lang="en"><title>Asking</title><form method="post" action="answer">
<input type="hidden" name="token" value="7"><input name="note" value="old">
<input type="checkbox" name="axle" value="1" checked><input type="checkbox" name="axle" value="2">
<input type="radio" name="end" value="A" checked><input type="radio" name="end" value="B">
<select name="reason"><option value="leak">Leak<option selected>stuck</select>
<textarea name="remark">two words</textarea><input name="off" disabled><button name="send">Send</button>
</form></html>"#;

async fn asking_server() -> RunningServer {
    let routes = Router::new()
        .route("/ask/here", get(async || Html(ASKING)))
        .route("/ask/answer", post(async |RawForm(sent)| sent.to_vec()));
    RunningServer::start(routes).await
}

#[tokio::test]
async fn a_form_is_sent_as_the_page_offers_it() {
    let server = asking_server().await;
    let visitor = Visitor::new(&server);
    let form = visitor.get("/ask/here").await.form("form");
    assert_eq!(
        visitor.submit(&form).await.body(),
        "token=7&note=old&axle=1&end=A&reason=stuck&remark=two+words"
    );
}

#[tokio::test]
async fn a_form_is_sent_as_it_was_filled_in() {
    let server = asking_server().await;
    let visitor = Visitor::new(&server);
    let form = visitor.get("/ask/here").await.form("form");
    let form = form
        .fill("note", "new")
        .fill("axle", "2")
        .fill("end", "B")
        .fill("reason", "leak");
    assert_eq!(form.values("axle"), ["1", "2"]);
    assert_eq!(
        visitor.submit(&form).await.body(),
        "token=7&axle=1&remark=two+words&note=new&axle=2&end=B&reason=leak"
    );
}

#[tokio::test]
#[should_panic(expected = "does not take “worn” as reason")]
async fn a_value_that_the_page_does_not_offer_cannot_be_chosen() {
    let server = asking_server().await;
    let form = Visitor::new(&server).get("/ask/here").await.form("form");
    let _ = form.fill("reason", "worn");
}

#[tokio::test]
#[should_panic(expected = "does not take “1” as off")]
async fn a_disabled_field_cannot_be_filled_in() {
    let server = asking_server().await;
    let form = Visitor::new(&server).get("/ask/here").await.form("form");
    let _ = form.fill("off", "1");
}

#[tokio::test]
async fn a_visitor_keeps_cookies_and_follows_redirects() {
    let show = async |headers: HeaderMap| {
        let cookie = headers
            .get(COOKIE)
            .map(|value| value.to_str().unwrap().to_owned());
        Json(cookie).into_response()
    };
    let sign_in = async || ([(SET_COOKIE, "who=anna")], Redirect::to("/shown?as=json"));
    let routes = Router::new()
        .route("/in", get(sign_in))
        .route("/shown", get(show));
    let server = RunningServer::start(routes).await;
    let anna = Visitor::new(&server);
    let page = anna.get("/in").await;
    assert_eq!((page.status(), page.path()), (200, "/shown?as=json"));
    assert_eq!(page.json(), "who=anna");
    assert!(Visitor::new(&server).get("/shown").await.json().is_null());
}

#[tokio::test]
#[should_panic(expected = "faults of the HTML")]
async fn a_page_with_a_fault_does_not_pass() {
    let faulty = "<!DOCTYPE html><html lang=en><title>Faulty</title><p><b>open</p></html>";
    let routes = Router::new().route("/", get(async move || Html(faulty)));
    let server = RunningServer::start(routes).await;
    Visitor::new(&server).get("/").await;
}

#[tokio::test]
async fn texts_are_read_by_selector_with_single_blanks() {
    let list = "<!DOCTYPE html><html lang=en><title>List</title><ul><li>first\n  car<li id=b>second</ul></html>";
    let routes = Router::new().route("/", get(async move || Html(list)));
    let server = RunningServer::start(routes).await;
    let page = Visitor::new(&server).get("/").await;
    assert_eq!(page.texts("li"), ["first car", "second"]);
    assert_eq!(page.text("#b"), "second");
    assert_eq!(page.attribute("li:last-child", "id"), Some("b"));
    assert_eq!(page.count("ol"), 0);
}
