//! Signing one's browsers out.

use crate::form::Submitted;
use crate::respond::PageResult;
use crate::session;
use crate::state::WebState;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect};
use axum_extra::extract::CookieJar;
use domain::ledger::chain::noted;
use domain::unreadable::Unreadable;

/// What the form names to sign out everywhere.
const EVERYWHERE: &str = "all";

/// `POST /my-account/sessions`
pub(crate) async fn end(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let name = &submitted.actor.name;
    match submitted.fields.text("session") {
        EVERYWHERE => {
            state.store.close_sessions_of(name, state.now()).await?;
            let gone = CookieJar::new().add(session::forgotten(state.mode));
            Ok((gone, Redirect::to("/")).into_response())
        }
        one => {
            let refuse = || Unreadable::new("session", one, "one of the list, or all");
            let token = noted(one).ok_or_else(refuse)?;
            state.store.close_session_of(name, &token).await?;
            Ok(Redirect::to("/my-account").into_response())
        }
    }
}
