//! What a request was denied, carried with the answer to where it is noted for auditors.

use crate::client::Client;
use crate::session::SignedIn;
use crate::state::WebState;
use domain::people::refused::{AttemptKind, RefusedAttempt};

/// Why a request was denied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Denied {
    /// What was attempted.
    pub(crate) kind: AttemptKind,
    /// Why it was refused.
    pub(crate) why: String,
}

/// Notes what was denied. If that fails, the request is denied all the same.
pub(crate) async fn note(
    state: &WebState,
    (signed_in, client): (&SignedIn, &Client),
    attempted: String,
    denied: Denied,
) {
    let session = signed_in.session.as_ref();
    let attempt = RefusedAttempt {
        at: state.now(),
        person: session.map(|session| session.actor.name.to_string()),
        client: Some(client.0.clone()),
        kind: denied.kind,
        attempted,
        details: None,
        why: denied.why,
    };
    keep(state, &attempt).await;
}

/// Notes an attempt. If that fails, it is refused all the same.
pub(crate) async fn keep(state: &WebState, attempt: &RefusedAttempt) {
    let noted = state.store.note_refused(attempt).await;
    let _ = noted.inspect_err(|cause| tracing::error!(%cause, "a refusal was not noted"));
}
