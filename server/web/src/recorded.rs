//! What a form has recorded is told on the page that it leads to. The number of the entry travels
//! in a cookie, so that addresses stay what they are and no link can claim that something was
//! recorded.

use crate::session::only_here;
use crate::state::WebState;
use axum::extract::{Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::Cookie;
use domain::ledger::entry::Seq;
use std::sync::{Arc, OnceLock};

const COOKIE: &str = "recorded";

/// Where a request notes the entry that it recorded.
#[derive(Debug, Default, Clone)]
pub(crate) struct Note(Arc<OnceLock<Seq>>);

impl Note {
    /// Notes an entry; the first that is noted is told.
    pub(crate) fn entry(&self, seq: Seq) {
        self.0.get_or_init(|| seq);
    }
}

/// The entry that the form before this page recorded.
pub(crate) fn told(jar: &CookieJar) -> Option<Seq> {
    let number = jar.get(COOKIE)?.value().parse().ok()?;
    (0 < number).then_some(Seq(number))
}

/// Gives each request a note, hands what it noted to the page that follows, and forgets it once a
/// page was shown.
pub(crate) async fn tell(
    State(state): State<WebState>,
    jar: CookieJar,
    mut request: Request,
    next: Next,
) -> Response {
    let note = Note::default();
    request.extensions_mut().insert(note.clone());
    let answer = next.run(request).await;
    let cookie = |value: String| only_here(COOKIE, value, state.mode);
    if let Some(seq) = note.0.get()
        && answer.status().is_redirection()
    {
        return (CookieJar::new().add(cookie(seq.0.to_string())), answer).into_response();
    }
    if jar.get(COOKIE).is_none() || !is_page(&answer) {
        return answer;
    }
    let mut gone: Cookie<'static> = cookie(String::new());
    gone.make_removal();
    (CookieJar::new().add(gone), answer).into_response()
}

fn is_page(answer: &Response) -> bool {
    let kind = answer.headers().get(CONTENT_TYPE);
    let kind = kind.and_then(|kind| kind.to_str().ok());
    kind.is_some_and(|kind| kind.starts_with("text/html"))
}
