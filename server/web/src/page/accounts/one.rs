//! One account: its roles, its state, a new password, its browsers and tokens, and what was changed of
//! it.

use super::list::{in_words, signs_in, told};
use super::{RoleBox, given_roles, keeper, one_time, reader, role_boxes};
use crate::address;
use crate::failure::Failure;
use crate::form::{FieldErrors, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::identity::PersonName;
use domain::people::Actor;
use domain::people::account::{AccountState, KEEPS_ACCOUNTS, may_change};
use domain::people::sign_on::Way;
use store::account::{Account, AccountChange, Bound, OpenSession};

#[derive(Template)]
#[template(path = "accounts/one.html")]
struct AccountPage {
    frame: Frame,
    name: String,
    address: String,
    roles: String,
    active: bool,
    signs_in: String,
    /// Whether the reader keeps accounts, and does not only read them.
    keeps: bool,
    /// Whether it is the reader's own, which they may not change.
    own: bool,
    boxes: Vec<RoleBox>,
    errors: FieldErrors,
    /// Browsers that are signed in: since when, last used, from where, and which.
    sessions: Vec<[String; 4]>,
    tokens: Vec<(String, String)>,
    /// People of the provider who sign in with it.
    bound: Vec<Bound>,
    changes: Vec<(String, String, String)>,
}

pub(super) async fn found(state: &WebState, name: &str) -> Result<Account, Failure> {
    let not_found = || Failure::NotFound {
        what: "account",
        name: name.to_owned(),
    };
    let person: PersonName = name.parse().map_err(|_| not_found())?;
    state.store.account(&person).await?.ok_or_else(not_found)
}

/// `GET /accounts/{person}`
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(name): Path<String>,
    signed_in: SignedIn,
) -> PageResult {
    let reader = reader(&signed_in)?;
    let account = found(&state, &name).await?;
    answer(
        &state,
        (&signed_in, &reader),
        account,
        FieldErrors::default(),
    )
    .await
}

async fn answer(
    state: &WebState,
    (signed_in, reader): (&SignedIn, &Actor),
    account: Account,
    errors: FieldErrors,
) -> PageResult {
    let name = &account.actor.name;
    let sessions = state.store.sessions_of(name, state.now()).await?;
    let tokens = state.store.tokens_of(name).await?.into_iter();
    let bound = state.store.identities_of(name).await?;
    let changes = state.store.changes_of_account(name).await?.into_iter();
    page(&AccountPage {
        frame: Frame::new(state, signed_in),
        name: name.to_string(),
        address: address::account(name),
        roles: in_words(&account.actor),
        active: account.state == AccountState::Active,
        signs_in: signs_in(state, &account.secret),
        keeps: reader.holds(KEEPS_ACCOUNTS),
        own: reader.name == *name,
        boxes: role_boxes(&account.actor.roles),
        errors,
        sessions: sessions
            .into_iter()
            .map(|open| session(state, open))
            .collect(),
        bound,
        tokens: tokens
            .map(|token| (token.name, state.zone.show(token.expires_at)))
            .collect(),
        changes: changes
            .map(|change| {
                (
                    state.zone.show(change.at),
                    change.by.to_string(),
                    change.what,
                )
            })
            .collect(),
    })
}

fn session(state: &WebState, open: OpenSession) -> [String; 4] {
    let through = match open.way {
        Way::Password => "",
        Way::SignOn => ", through single sign-on",
    };
    [
        state.zone.show(open.opened_at),
        state.zone.show(open.used_at),
        format!("{}{through}", open.client),
        open.browser,
    ]
}

/// Makes a change of an account that the sender may change, and shows the account.
async fn change(
    state: &WebState,
    submitted: &Submitted,
    account: &Account,
    change: AccountChange,
) -> Result<(), Failure> {
    let (by, name) = (&submitted.actor, &account.actor.name);
    may_change(by, name)?;
    let by = (&by.name, state.now());
    Ok(state.store.change_account(name, &change, by).await?)
}

/// `POST /accounts/{person}/roles`
pub(crate) async fn give_roles(
    State(state): State<WebState>,
    Path(name): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let keeper = keeper(&submitted.signed_in)?;
    let account = found(&state, &name).await?;
    let mut errors = FieldErrors::default();
    let Some(roles) = given_roles(&submitted.fields, &mut errors) else {
        let signed_in = (&submitted.signed_in, &keeper);
        let page = answer(&state, signed_in, account, errors).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    change(&state, &submitted, &account, AccountChange::Roles(roles)).await?;
    Ok(Redirect::to(&address::account(&account.actor.name)).into_response())
}

/// `POST /accounts/{person}/state`
pub(crate) async fn set_state(
    State(state): State<WebState>,
    Path(name): Path<String>,
    submitted: Submitted,
) -> PageResult {
    keeper(&submitted.signed_in)?;
    let account = found(&state, &name).await?;
    let to: AccountState = submitted.fields.text("state").parse()?;
    change(&state, &submitted, &account, AccountChange::State(to)).await?;
    Ok(Redirect::to(&address::account(&account.actor.name)).into_response())
}

/// `POST /accounts/{person}/password`
pub(crate) async fn give_password(
    State(state): State<WebState>,
    Path(name): Path<String>,
    submitted: Submitted,
) -> PageResult {
    keeper(&submitted.signed_in)?;
    let account = found(&state, &name).await?;
    let (password, secret) = one_time(&state).await?;
    change(&state, &submitted, &account, AccountChange::Secret(secret)).await?;
    told(&state, &submitted.signed_in, &account.actor.name, password)
}
