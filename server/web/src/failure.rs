//! What went wrong, for the person who asked and, apart from that, for the log.

use crate::denied::Denied;
use askama::Template;
use axum::extract::Request;
use axum::http::StatusCode;
use axum::http::{HeaderValue, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use domain::configuration::component::ComponentRef;
use domain::decision::formation::Unresolved;
use domain::identity::TrainId;
use domain::ledger::entry::Seq;
use domain::people::Role;
use domain::people::account::AccountRefusal;
use domain::people::refused::AttemptKind;
use domain::refusal::Refusal;
use domain::time::Instant;
use domain::unreadable::Unreadable;
use store::StoreError;
use store::read::formations::NotFound;

/// Why a request was not answered as asked. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// Something in the address cannot be read.
    #[error("{0}")]
    Unreadable(#[from] Unreadable),
    /// Something in a question about a train cannot be read.
    #[error("{why}")]
    OfTrain {
        /// What.
        why: Unreadable,
        /// The train.
        train: TrainId,
    },
    /// No such thing.
    #[error("{what} {name} is not in the register")]
    NotFound {
        /// What kind of thing.
        what: &'static str,
        /// Its name as asked for.
        name: String,
    },
    /// A component that is not in the register any more.
    #[error("component {component} is not in the register: its receipt was withdrawn by {by}")]
    Withdrawn {
        /// Which.
        component: ComponentRef,
        /// The entry that withdrew its receipt.
        by: Seq,
    },
    /// What was known is asked for, of a time before anything was.
    #[error("{0}")]
    NotBegun(String),
    /// Nobody is signed in.
    #[error("sign in first: every entry says who made it")]
    SignInNeeded,
    /// The person's roles do not allow it.
    #[error("this needs one of the roles {0}")]
    NotPermitted(String),
    /// What was asked for is for other roles.
    #[error("this needs one of the roles {0}")]
    ForOtherRoles(String),
    /// An account is not changed.
    #[error("{0}")]
    Account(#[from] AccountRefusal),
    /// A password that somebody else made must be changed first.
    #[error("change your one-time password first")]
    PasswordChangeNeeded,
    /// Too many sign-ins failed.
    #[error("too many tries failed; the next is looked at in {0} s")]
    Wait(i64),
    /// No account is behind a program's token.
    #[error("this token is unknown, revoked or expired")]
    TokenUnknown,
    /// The form did not come from a page of this server, or from an old one.
    #[error("this form is no longer valid; open the page again and repeat the entry")]
    FormNotOurs,
    /// The register refuses it.
    #[error("{0}")]
    Refused(#[from] Refusal),
    /// The store failed.
    #[error("the register's storage does not answer; try again, and tell whoever runs the server")]
    Store(#[source] StoreError),
    /// A file could not be made.
    #[error("this file could not be made; tell whoever runs the server")]
    File(#[from] exchange::output::OutputError),
    /// A password could not be hashed.
    #[error("this password could not be taken; tell whoever runs the server")]
    NoHash,
    /// The server itself does not take what was asked.
    #[error("{}", in_words(*.0))]
    ByServer(StatusCode),
    /// A page could not be rendered.
    #[error("this page could not be made; tell whoever runs the server")]
    Template(#[from] askama::Error),
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Refused(refusal) => Self::Refused(refusal),
            not_begun @ StoreError::NotBegun(_) => Self::NotBegun(not_begun.to_string()),
            other => Self::Store(other),
        }
    }
}

impl From<NotFound> for Failure {
    fn from(why: NotFound) -> Self {
        let (what, name) = match why {
            NotFound::Unit(unit) => ("unit", unit.to_string()),
            NotFound::Car(car) => ("car", car.to_string()),
            NotFound::Twice(car) => {
                let expected = "each car once in a formation";
                return Unreadable::new("formation", car.as_str(), expected).into();
            }
        };
        Self::NotFound { what, name }
    }
}

impl From<Unresolved> for Failure {
    fn from(why: Unresolved) -> Self {
        match why {
            Unresolved::Unknown(name) => Self::NotFound {
                what: "unit or car",
                name,
            },
            Unresolved::Ambiguous(name) => {
                let expected = format!("“unit {name}” or “car {name}”, since there are both");
                Unreadable::new("formation", &name, expected).into()
            }
        }
    }
}

impl Failure {
    /// The same where it is about a train that whoever asks can go back to.
    pub(crate) fn of_train(self, train: &TrainId) -> Self {
        match self {
            Self::Unreadable(why) => Self::OfTrain {
                why,
                train: train.clone(),
            },
            other => other,
        }
    }

    /// What is for some roles only.
    pub(crate) fn for_roles(roles: &[Role]) -> Self {
        let names: Vec<String> = roles.iter().map(ToString::to_string).collect();
        Self::ForOtherRoles(names.join(", "))
    }

    /// That the next sign-in is looked at only from a time on.
    pub(crate) fn wait(now: Instant, open_at: Instant) -> Self {
        let left = open_at.microseconds() - now.microseconds();
        Self::Wait((left.max(1) + 999_999) / 1_000_000)
    }

    /// The status of the answer.
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::Unreadable(_) | Self::OfTrain { .. } | Self::NotBegun(_) | Self::Refused(_) => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            Self::NotFound { .. } | Self::Withdrawn { .. } => StatusCode::NOT_FOUND,
            Self::SignInNeeded | Self::TokenUnknown => StatusCode::UNAUTHORIZED,
            Self::NotPermitted(_)
            | Self::ForOtherRoles(_)
            | Self::Account(_)
            | Self::PasswordChangeNeeded
            | Self::FormNotOurs => StatusCode::FORBIDDEN,
            Self::Wait(_) => StatusCode::TOO_MANY_REQUESTS,
            Self::Store(_) => StatusCode::SERVICE_UNAVAILABLE,
            Self::ByServer(status) => *status,
            Self::File(_) | Self::NoHash | Self::Template(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// What is noted for auditors. What the register itself refused is noted where it did.
    pub(crate) fn denied(&self) -> Option<Denied> {
        let kind = match self {
            Self::ForOtherRoles(_) | Self::Account(_) | Self::PasswordChangeNeeded => {
                AttemptKind::Page
            }
            Self::FormNotOurs => AttemptKind::Form,
            Self::TokenUnknown => AttemptKind::Token,
            _ => return None,
        };
        let why = self.to_string();
        Some(Denied { kind, why })
    }

    /// Writes the cause to the log, where it is not the person's.
    pub(crate) fn log(&self) {
        match self {
            Self::Store(cause) => tracing::error!(%cause, "the store failed"),
            Self::File(cause) => tracing::error!(%cause, "a file could not be made"),
            Self::NoHash => tracing::error!("a password could not be hashed"),
            Self::Template(cause) => tracing::error!(%cause, "a page could not be rendered"),
            other => tracing::info!(reason = %other, "not answered as asked"),
        }
    }
}

/// What the server itself answers, in words.
pub(crate) fn in_words(status: StatusCode) -> &'static str {
    match status {
        StatusCode::NOT_FOUND => "there is nothing at this address",
        StatusCode::METHOD_NOT_ALLOWED => "this address is not for that",
        StatusCode::PAYLOAD_TOO_LARGE => "what was sent is larger than anything this address takes",
        StatusCode::SERVICE_UNAVAILABLE => "it took too long; try again",
        status if status.is_client_error() => {
            "this address, or what was sent to it, cannot be read"
        }
        _ => "the server failed; tell whoever runs it",
    }
}

/// Turns what the server itself answers to people — no such page, a body too large, a time that
/// ran out — into the page that says that nothing was changed.
pub(crate) async fn everywhere(request: Request, next: Next) -> Response {
    let of_api = request.uri().path().starts_with("/api/");
    let response = next.run(request).await;
    let status = response.status();
    let failed = status.is_client_error() || status.is_server_error();
    let kind = response.headers().get(header::CONTENT_TYPE);
    let bare = kind.is_none_or(|kind| kind.as_bytes().starts_with(b"text/plain"));
    if of_api || !failed || !bare {
        return response;
    }
    Failure::ByServer(status).into_response()
}

#[derive(Template)]
#[template(path = "failure.html")]
struct FailurePage {
    status: u16,
    text: String,
    sign_in: bool,
    /// Where whoever asks can go back to, and its name.
    back: Option<(String, String)>,
    style: String,
}

impl IntoResponse for Failure {
    fn into_response(self) -> Response {
        self.log();
        let status = self.status();
        let page = FailurePage {
            status: status.as_u16(),
            text: self.to_string(),
            sign_in: matches!(self, Self::SignInNeeded),
            back: match &self {
                Self::OfTrain { train, .. } => {
                    Some((crate::address::train(train), format!("Train {train}")))
                }
                Self::Withdrawn { by, .. } => {
                    Some((crate::address::entry(*by), format!("The withdrawal, {by}")))
                }
                _ => None,
            },
            style: crate::asset::address("register.css"),
        };
        let mut response = match page.render() {
            Ok(html) => (status, Html(html)).into_response(),
            Err(_) => (status, self.to_string()).into_response(),
        };
        if let Some(denied) = self.denied() {
            response.extensions_mut().insert(denied);
        }
        if let Self::Wait(seconds) = self {
            let after = HeaderValue::from(seconds);
            response.headers_mut().insert(header::RETRY_AFTER, after);
        }
        response
    }
}
