//! Problem documents (RFC 9457): what every answer under `/api/` is that is not as asked.

use crate::denied::Denied;
use crate::failure::{Failure, in_words};
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use domain::ledger::entry::Seq;
use domain::refusal::Refusal;
use domain::unreadable::Unreadable;
use serde::Serialize;
use utoipa::ToSchema;

/// The media type of problem documents.
pub(crate) const MEDIA_TYPE: &str = "application/problem+json";

/// What a program is told that writes with a session and without its form token.
const NO_FORM_TOKEN: &str = "the header X-Form-Token is missing or is not that of this session; \
     take form_token from /api/v1/session, and nothing from another site";

/// Why a request was not answered as asked. Nothing was changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub(crate) struct Problem {
    /// The kind of problem, as an address at which it is explained.
    #[serde(rename = "type")]
    #[schema(example = "/api#refused")]
    pub(crate) kind: String,
    /// The kind of problem in words.
    pub(crate) title: &'static str,
    /// The status of the answer.
    pub(crate) status: u16,
    /// What was wrong this time, and what was expected.
    pub(crate) detail: String,
    /// The field that it is about, where it is about one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) field: Option<String>,
    /// The entry that stands against it, where one does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) entry: Option<i64>,
    /// What is noted for auditors.
    #[serde(skip)]
    pub(crate) denied: Option<Box<Denied>>,
}

/// Each kind of problem of our own: its name, title and explanation.
pub(crate) const KINDS: [(&str, &str, &str); 8] = [
    (
        "unreadable",
        "A value cannot be read",
        "The field named holds something else than what it must hold.",
    ),
    (
        "not-found",
        "Not in the register",
        "The register knows nothing of that name.",
    ),
    (
        "not-signed-in",
        "Nobody is signed in",
        "It needs a session or a token that is good: every entry says who made it.",
    ),
    (
        "not-permitted",
        "Not permitted",
        "The roles held, or the form token sent, do not allow it.",
    ),
    (
        "wait",
        "Too many tries",
        "Sign-ins failed too often; the next is looked at later.",
    ),
    (
        "refused",
        "Refused by the register",
        "What was to be recorded cannot be so.",
    ),
    (
        "conflict",
        "An entry stands against it",
        "What was to be recorded contradicts the entry named.",
    ),
    (
        "unavailable",
        "Not available",
        "The server could not do its work; whoever runs it finds the cause in its log.",
    ),
];

impl Problem {
    fn of(kind: &'static str, status: StatusCode, detail: String) -> Self {
        let title = KINDS.iter().find(|(name, ..)| *name == kind);
        Self {
            kind: format!("/api#{kind}"),
            title: title.map_or(kind, |(_, title, _)| title),
            status: status.as_u16(),
            detail,
            field: None,
            entry: None,
            denied: None,
        }
    }

    /// A value that cannot be read, in a field.
    pub(crate) fn unreadable(field: &str, why: &Unreadable) -> Self {
        Self::bad_field(field, why.to_string())
    }

    /// Something else wrong with a field.
    pub(crate) fn bad_field(field: &str, detail: String) -> Self {
        Self {
            field: Some(field.to_owned()),
            ..Self::of("unreadable", StatusCode::UNPROCESSABLE_ENTITY, detail)
        }
    }

    /// A body that is not looked into.
    pub(crate) fn of_body(status: StatusCode, expected: &str) -> Self {
        Self {
            field: Some("body".to_owned()),
            ..Self::of("unreadable", status, format!("body: {expected}"))
        }
    }

    /// Cannot be had now, and why.
    pub(crate) fn unavailable(detail: &str) -> Self {
        let status = StatusCode::SERVICE_UNAVAILABLE;
        Self::of("unavailable", status, detail.to_owned())
    }

    /// No such thing.
    pub(crate) fn not_found(what: &'static str, name: &impl ToString) -> Self {
        let name = name.to_string();
        Failure::NotFound { what, name }.into()
    }

    fn refusal(refusal: &Refusal) -> Self {
        let entry = refusal.conflicting_entry().map(|Seq(number)| number);
        let (kind, status) = match (refusal, entry) {
            (Refusal::NotPermitted { .. }, _) => ("not-permitted", StatusCode::FORBIDDEN),
            (_, Some(_)) => ("conflict", StatusCode::CONFLICT),
            (_, None) => ("refused", StatusCode::UNPROCESSABLE_ENTITY),
        };
        Self {
            field: Some(refusal.field().to_owned()),
            entry,
            ..Self::of(kind, status, refusal.to_string())
        }
    }

    /// What an answer comes to that says nothing but its status.
    fn of_status(status: StatusCode, detail: String) -> Self {
        let title = status.canonical_reason().unwrap_or("not as asked");
        Self {
            kind: "about:blank".to_owned(),
            title,
            ..Self::of("", status, detail)
        }
    }
}

impl From<Failure> for Problem {
    fn from(failure: Failure) -> Self {
        failure.log();
        let kind = match &failure {
            Failure::Refused(refusal) => return Self::refusal(refusal),
            Failure::NotBegun(began) => return Self::bad_field("known", began.clone()),
            Failure::Unreadable(_) | Failure::OfTrain { .. } => "unreadable",
            Failure::NotFound { .. } | Failure::Withdrawn { .. } => "not-found",
            Failure::SignInNeeded | Failure::TokenUnknown => "not-signed-in",
            Failure::NotPermitted(_)
            | Failure::ForOtherRoles(_)
            | Failure::Account(_)
            | Failure::PasswordChangeNeeded
            | Failure::FormNotOurs => "not-permitted",
            Failure::ByServer(status) => {
                return Self::of_status(*status, in_words(*status).to_owned());
            }
            Failure::Wait(_) => "wait",
            Failure::Store(_) | Failure::File(_) | Failure::NoHash | Failure::Template(_) => {
                "unavailable"
            }
        };
        let detail = match &failure {
            Failure::FormNotOurs => NO_FORM_TOKEN.to_owned(),
            failure => failure.to_string(),
        };
        let entry = match &failure {
            Failure::Withdrawn { by, .. } => Some(by.0),
            _ => None,
        };
        Self {
            entry,
            denied: failure.denied().map(Box::new),
            ..Self::of(kind, failure.status(), detail)
        }
    }
}

impl From<store::StoreError> for Problem {
    fn from(error: store::StoreError) -> Self {
        Failure::from(error).into()
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status);
        let body = serde_json::to_vec(&self).unwrap_or_default();
        let headers = [(header::CONTENT_TYPE, HeaderValue::from_static(MEDIA_TYPE))];
        let status = status.unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, headers, body).into_response();
        if let Some(denied) = self.denied {
            response.extensions_mut().insert(*denied);
        }
        response
    }
}

/// Turns what the server itself answers under `/api/` — no such path, a body too large, a time
/// that ran out — into problem documents.
pub(crate) async fn everywhere(request: Request, next: Next) -> Response {
    let of_api = request.uri().path().starts_with("/api/");
    let response = next.run(request).await;
    let status = response.status();
    let failed = status.is_client_error() || status.is_server_error();
    if !of_api || !failed || is_of(&response, MEDIA_TYPE) {
        return response;
    }
    Problem::of_status(status, in_words(status).to_owned()).into_response()
}

fn is_of(response: &Response, media_type: &str) -> bool {
    let kind = response.headers().get(header::CONTENT_TYPE);
    kind.is_some_and(|kind| kind.as_bytes().starts_with(media_type.as_bytes()))
}
