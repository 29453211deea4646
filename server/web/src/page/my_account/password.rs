//! Changing one's own password.

use super::wrong;
use crate::authenticate::is_really;
use crate::client::Client;
use crate::failure::Failure;
use crate::form::{FieldErrors, Submitted};
use crate::password::{self, accepted};
use crate::respond::PageResult;
use crate::session;
use crate::state::WebState;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Redirect};
use axum_extra::extract::CookieJar;
use domain::people::sign_on::Way;
use store::account::{AccountChange, Secret};

/// `POST /my-account/password`
///
/// Ends all other sessions of the account, and gives this browser a new one.
pub(crate) async fn change(
    State(state): State<WebState>,
    client: Client,
    headers: HeaderMap,
    submitted: Submitted,
) -> PageResult {
    let Submitted {
        actor,
        signed_in,
        fields,
        ..
    } = submitted;
    let mut errors = FieldErrors::default();
    let new = fields.exact("new");
    if let Err(fault) = accepted(new, actor.name.as_str()) {
        errors.add("new", format!("expected {fault}"));
    } else if new == fields.exact("current") {
        errors.add("new", "expected another password than the one you have");
    }
    if new != fields.exact("again") {
        errors.add("again", "expected the new password once more");
    }
    let current = (&actor.name, fields.exact("current"));
    if errors.is_empty() && !is_really(&state, current, &client).await? {
        errors.add("current", "expected the password you have");
    }
    if !errors.is_empty() {
        return wrong(&state, &signed_in, (fields, errors)).await;
    }
    let hash = password::hash(new.to_owned())
        .await
        .ok_or(Failure::NoHash)?;
    let change = AccountChange::Secret(Secret::Own(hash));
    let by = (&actor.name, state.now());
    state.store.change_account(&actor.name, &change, by).await?;
    let cookie = session::open(&state, (&actor.name, Way::Password), (&client, &headers)).await?;
    Ok((CookieJar::new().add(cookie), Redirect::to("/my-account")).into_response())
}
