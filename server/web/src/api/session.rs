//! The session of the client's cookie.

use crate::session::SignedIn;
use axum::Json;
use serde::Serialize;
use utoipa::ToSchema;

/// Who is signed in with the client's cookie.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SessionBody {
    /// Who; none where nobody is.
    person: Option<String>,
    /// Their roles.
    roles: Vec<&'static str>,
    /// What each recording must bring back in the header `X-Form-Token`.
    form_token: Option<String>,
}

/// Who is signed in, and the form token that recording needs.
///
/// To sign in, send the fields `name` and `password` to `/sign-in` as a form and keep the cookie.
#[utoipa::path(
    get,
    path = "/api/v1/session",
    operation_id = "showSession",
    tag = "ledger",
    responses((status = 200, body = SessionBody, description = "As asked")),
)]
pub(crate) async fn show(signed_in: SignedIn) -> Json<SessionBody> {
    let session = signed_in.session.as_ref();
    let roles = session.map(|session| session.actor.roles.iter());
    Json(SessionBody {
        person: session.map(|session| session.actor.name.to_string()),
        roles: roles
            .into_iter()
            .flatten()
            .map(|role| role.name())
            .collect(),
        form_token: session.map(|session| session.form_token.clone()),
    })
}
