//! What went wrong, for the person who asked and, apart from that, for the log.

use askama::Template;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use domain::decision::formation::Unresolved;
use domain::refusal::Refusal;
use domain::unreadable::Unreadable;
use store::StoreError;
use store::read::formations::NotFound;

/// Why a request was not answered as asked. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// Something in the address cannot be read.
    #[error("{0}")]
    Unreadable(#[from] Unreadable),
    /// No such thing.
    #[error("{what} {name} is not in the register")]
    NotFound {
        /// What kind of thing.
        what: &'static str,
        /// Its name as asked for.
        name: String,
    },
    /// Nobody is signed in.
    #[error("sign in first: every entry says who made it")]
    SignInNeeded,
    /// The person's roles do not allow it.
    #[error("this needs one of the roles {0}")]
    NotPermitted(String),
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
    /// A page could not be rendered.
    #[error("this page could not be made; tell whoever runs the server")]
    Template(#[from] askama::Error),
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Refused(refusal) => Self::Refused(refusal),
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
    /// The status of the answer.
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::Unreadable(_) | Self::Refused(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::NotFound { .. } => StatusCode::NOT_FOUND,
            Self::SignInNeeded => StatusCode::UNAUTHORIZED,
            Self::NotPermitted(_) | Self::FormNotOurs => StatusCode::FORBIDDEN,
            Self::Store(_) => StatusCode::SERVICE_UNAVAILABLE,
            Self::File(_) | Self::Template(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// Writes the cause to the log, where it is not the person's.
    pub(crate) fn log(&self) {
        match self {
            Self::Store(cause) => tracing::error!(%cause, "the store failed"),
            Self::File(cause) => tracing::error!(%cause, "a file could not be made"),
            Self::Template(cause) => tracing::error!(%cause, "a page could not be rendered"),
            other => tracing::info!(reason = %other, "not answered as asked"),
        }
    }
}

#[derive(Template)]
#[template(path = "failure.html")]
struct FailurePage {
    status: u16,
    text: String,
    sign_in: bool,
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
            style: crate::asset::address("register.css"),
        };
        match page.render() {
            Ok(html) => (status, Html(html)).into_response(),
            Err(_) => (status, self.to_string()).into_response(),
        }
    }
}
