//! All accounts, and making one.

use super::{ONE_TIME_DAYS, RoleBox, given_roles, keeper, one_time, reader, role_boxes, ticked};
use crate::address;
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use domain::identity::PersonName;
use domain::people::Actor;
use domain::people::account::{AccountState, KEEPS_ACCOUNTS};
use store::account::{ACCOUNTS_MAX, Account, Made, NewAccount, Secret, Unbound};

#[derive(Template)]
#[template(path = "accounts/list.html")]
struct ListPage {
    frame: Frame,
    /// Whether the reader keeps accounts, and does not only read them.
    keeps: bool,
    lines: Vec<Line>,
    /// The most that are listed, where there may be more.
    at_most: Option<i64>,
    name: String,
    boxes: Vec<RoleBox>,
    errors: FieldErrors,
    one_time_days: i64,
    /// Who came through single sign-on and is bound to no account; none without it.
    unbound: Option<Vec<UnboundLine>>,
}

/// Somebody whom the provider vouched for.
struct UnboundLine {
    issuer: String,
    subject: String,
    called: String,
    seen: String,
    client: String,
}

/// An account in the list.
struct Line {
    name: String,
    address: String,
    roles: String,
    state: AccountState,
    signs_in: String,
}

/// What tells a new or lost password: shown once.
#[derive(Template)]
#[template(path = "accounts/one_time.html")]
pub(super) struct OneTimePage {
    pub(super) frame: Frame,
    pub(super) name: String,
    pub(super) address: String,
    pub(super) password: String,
    pub(super) days: i64,
}

/// What an account is signed in with, in words.
pub(super) fn signs_in(state: &WebState, secret: &Secret) -> String {
    match secret {
        Secret::None => "without a password here".to_owned(),
        Secret::Own(_) => "with a password".to_owned(),
        Secret::OneTime(_, until) if *until <= state.now() => {
            "with a one-time password that has expired".to_owned()
        }
        Secret::OneTime(_, until) => {
            format!("with a one-time password until {}", state.zone.show(*until))
        }
    }
}

/// The roles in words.
pub(super) fn in_words(actor: &Actor) -> String {
    let roles: Vec<String> = actor.roles.iter().map(ToString::to_string).collect();
    roles.join(", ")
}

/// `GET /accounts`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    reader(&signed_in)?;
    list(
        &state,
        &signed_in,
        &Fields::default(),
        FieldErrors::default(),
    )
    .await
}

/// The list again, with what is wrong.
pub(super) async fn list_again(
    state: &WebState,
    submitted: &Submitted,
    errors: FieldErrors,
) -> PageResult {
    let page = list(state, &submitted.signed_in, &submitted.fields, errors).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

async fn unbound(state: &WebState) -> Result<Option<Vec<UnboundLine>>, Failure> {
    if state.sign_on.is_none() {
        return Ok(None);
    }
    let line = |one: Unbound| UnboundLine {
        issuer: one.identity.issuer().to_owned(),
        subject: one.identity.subject().to_owned(),
        called: one.called,
        seen: state.zone.show(one.seen_at),
        client: one.client,
    };
    let unbound = state.store.unbound().await?;
    Ok(Some(unbound.into_iter().map(line).collect()))
}

async fn list(
    state: &WebState,
    signed_in: &SignedIn,
    fields: &Fields,
    errors: FieldErrors,
) -> PageResult {
    let accounts = state.store.accounts().await?;
    let line = |account: &Account| Line {
        name: account.actor.name.to_string(),
        address: address::account(&account.actor.name),
        roles: in_words(&account.actor),
        state: account.state,
        signs_in: signs_in(state, &account.secret),
    };
    let frame = Frame::new(state, signed_in);
    let full = i64::try_from(accounts.len()).is_ok_and(|count| ACCOUNTS_MAX <= count);
    page(&ListPage {
        keeps: frame.holds(KEEPS_ACCOUNTS),
        frame,
        lines: accounts.iter().map(line).collect(),
        at_most: full.then_some(ACCOUNTS_MAX),
        name: fields.text("name").to_owned(),
        boxes: role_boxes(&ticked(fields)),
        errors,
        one_time_days: ONE_TIME_DAYS,
        unbound: unbound(state).await?,
    })
}

/// `POST /accounts`
pub(crate) async fn make(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let keeper = keeper(&submitted.signed_in)?;
    let (signed_in, fields) = (&submitted.signed_in, &submitted.fields);
    let mut errors = FieldErrors::default();
    let name = fields.required::<PersonName>("name", &mut errors);
    let roles = given_roles(fields, &mut errors);
    if let (Some(name), Some(roles), true) = (name, roles, errors.is_empty()) {
        let (password, secret) = one_time(&state).await?;
        let account = NewAccount {
            name: name.clone(),
            roles,
            secret,
        };
        let by = (&keeper.name, state.now());
        match state.store.make_account(&account, by).await? {
            Made::Now => return told(&state, signed_in, &name, password),
            Made::Before => errors.add("name", "expected a name that no account has yet"),
        }
    }
    list_again(&state, &submitted, errors).await
}

/// The page that tells a one-time password, once.
pub(super) fn told(
    state: &WebState,
    signed_in: &SignedIn,
    name: &PersonName,
    password: String,
) -> Result<axum::response::Response, Failure> {
    page(&OneTimePage {
        frame: Frame::new(state, signed_in),
        name: name.to_string(),
        address: address::account(name),
        password,
        days: ONE_TIME_DAYS,
    })
}
