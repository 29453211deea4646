//! Binding people of the provider to accounts, and taking them from accounts.

use super::keeper;
use super::list::list_again;
use super::one::found;
use crate::address;
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect};
use domain::identity::PersonName;
use domain::people::account::may_change;
use domain::people::sign_on::OutsideIdentity;
use store::account::Binding;

/// The person of the provider that a form names, to the letter.
fn identity(fields: &Fields) -> Result<OutsideIdentity, Failure> {
    let (issuer, subject) = (fields.exact("issuer"), fields.exact("subject"));
    Ok(OutsideIdentity::new(issuer, subject)?)
}

fn gone(identity: &OutsideIdentity) -> Failure {
    Failure::NotFound {
        what: "person of the provider",
        name: identity.subject().to_owned(),
    }
}

/// `POST /sign-on/bind`
pub(crate) async fn bind(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let keeper = keeper(&submitted.signed_in)?;
    let identity = identity(&submitted.fields)?;
    let mut errors = FieldErrors::default();
    let name = submitted
        .fields
        .required::<PersonName>("account", &mut errors);
    let account = match &name {
        Some(name) => state.store.account(name).await?,
        None => None,
    };
    let Some(account) = account else {
        errors.add("account", "expected the name of an account");
        return list_again(&state, &submitted, errors).await;
    };
    let name = &account.actor.name;
    may_change(&keeper, name)?;
    let by = (&keeper.name, state.now());
    match state.store.bind_identity(&identity, name, by).await? {
        Binding::Changed => Ok(Redirect::to(&address::account(name)).into_response()),
        Binding::Gone => Err(gone(&identity)),
    }
}

/// `POST /accounts/{person}/unbind`
pub(crate) async fn unbind(
    State(state): State<WebState>,
    Path(name): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let keeper = keeper(&submitted.signed_in)?;
    let account = found(&state, &name).await?;
    let name = &account.actor.name;
    may_change(&keeper, name)?;
    let identity = identity(&submitted.fields)?;
    let by = (&keeper.name, state.now());
    match state.store.unbind_identity(&identity, name, by).await? {
        Binding::Changed => Ok(Redirect::to(&address::account(name)).into_response()),
        Binding::Gone => Err(gone(&identity)),
    }
}
