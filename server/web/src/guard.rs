//! What every request passes through: headers that protect the reader, limits, and the proof
//! that a form came from a page of ours.

use crate::failure::Failure;
use crate::limits;
use crate::session::{Channel, SignedIn};
use crate::state::{Mode, WebState};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use futures_util::StreamExt;

const HEADERS: [(header::HeaderName, &str); 5] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "same-origin"),
    (header::X_FRAME_OPTIONS, "DENY"),
    // Read by browsers over HTTPS only: two years, as long as it takes to be remembered.
    (
        header::STRICT_TRANSPORT_SECURITY,
        "max-age=63072000; includeSubDomains",
    ),
];

/// Adds the protecting headers to every answer; pages are not kept by caches.
pub(crate) async fn protect(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Reads to its end a body that is somewhat too large, and says so: a connection that is closed
/// while its sender still sends loses the answer.
pub(crate) async fn hear_out(request: Request, next: Next) -> Response {
    let declared = request.headers().get(header::CONTENT_LENGTH);
    let declared = declared.and_then(|length| length.to_str().ok()?.parse().ok());
    let somewhat = limits::BODY_BYTES_MAX + 1..=limits::HEARD_BYTES_MAX;
    if declared.is_none_or(|length: usize| !somewhat.contains(&length)) {
        return next.run(request).await;
    }
    let mut body = request.into_body().into_data_stream();
    while let Some(Ok(_)) = body.next().await {}
    StatusCode::PAYLOAD_TOO_LARGE.into_response()
}

/// In the demo, whose accounts have no passwords, only requests to the loopback are answered,
/// whatever name a foreign page may have pointed at it.
pub(crate) async fn loopback_only(
    State(state): State<WebState>,
    request: Request,
    next: Next,
) -> Response {
    if state.mode == Mode::Demo && !names_loopback(request.headers()) {
        return Failure::FormNotOurs.into_response();
    }
    next.run(request).await
}

fn names_loopback(headers: &HeaderMap) -> bool {
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .unwrap_or_default();
    let name = host.rsplit_once(':').map_or(host, |(name, port)| {
        if port.bytes().all(|byte| byte.is_ascii_digit()) {
            name
        } else {
            host
        }
    });
    matches!(name, "127.0.0.1" | "localhost" | "[::1]")
}

/// Proves that a form came from a page of ours: the token of the session is in it, and the
/// browser does not say that another site sent it.
pub(crate) fn form_is_ours(
    headers: &HeaderMap,
    signed_in: &SignedIn,
    token: &str,
) -> Result<(), Failure> {
    if signed_in.channel == Channel::Program {
        return signed_in.actor().map(drop);
    }
    same_site(headers)?;
    let session = signed_in.session.as_ref().ok_or(Failure::SignInNeeded)?;
    let (given, ours) = (token.as_bytes(), session.form_token.as_bytes());
    let same = given.len() == ours.len()
        && given.iter().zip(ours).fold(0, |sum, (a, b)| sum | (a ^ b)) == 0;
    if same {
        Ok(())
    } else {
        Err(Failure::FormNotOurs)
    }
}

/// Refuses what a browser says another site has sent.
pub(crate) fn same_site(headers: &HeaderMap) -> Result<(), Failure> {
    match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
        None | Some(b"same-origin" | b"none") => Ok(()),
        Some(_) => Err(Failure::FormNotOurs),
    }
}
