//! What programs send, read in our own words where it cannot be read.

use super::problem::Problem;
use crate::limits::BODY_BYTES_MAX;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Query, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use domain::json;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

/// A body in JSON.
pub(super) struct Body<T>(pub(super) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        if !says_json(request.headers()) {
            let expected = "expected JSON, and the header Content-Type: application/json";
            let status = StatusCode::UNSUPPORTED_MEDIA_TYPE;
            return Err(Problem::of_body(status, expected));
        }
        let bytes = Bytes::from_request(request, state).await;
        let bytes = bytes.map_err(|_| {
            let status = StatusCode::PAYLOAD_TOO_LARGE;
            let expected = format!("expected at most {BODY_BYTES_MAX} bytes, sent to their end");
            Problem::of_body(status, &expected)
        })?;
        let read = json::read(&bytes);
        read.map(Self)
            .map_err(|wrong| Problem::bad_field("body", format!("body: {wrong}")))
    }
}

fn says_json(headers: &HeaderMap) -> bool {
    let kind = headers.get(header::CONTENT_TYPE);
    let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default();
    let kind = kind.trim().to_ascii_lowercase();
    kind == "application/json" || kind.starts_with("application/") && kind.ends_with("+json")
}

/// What an address asks for, after its question mark.
pub(super) struct Asked<T>(pub(super) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Asked<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Problem> {
        let wrong = |what: String| Problem::bad_field("address", format!("address: {what}"));
        let pairs: Result<Query<Vec<(String, String)>>, _> = Query::try_from_uri(&parts.uri);
        let Query(pairs) = pairs
            .map_err(|_| wrong("expected names and values, as ?car=4101&state=overdue".into()))?;
        let mut fields = Map::new();
        for (name, value) in pairs {
            if fields.contains_key(&name) {
                return Err(wrong(format!("{name} stands twice; expected it once")));
            }
            fields.insert(name, Value::String(value));
        }
        let read = json::fit(&Value::Object(fields));
        read.map(Self).map_err(|misfit| wrong(misfit.to_string()))
    }
}

/// What an address asks for that knows no question: nothing. What stands there all the same is
/// refused, so that nobody takes the answer of now for one of a past time.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Nothing {}
