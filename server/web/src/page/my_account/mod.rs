//! One's own account: its password, the browsers signed in with it, the programs that act for it.

mod password;
mod sessions;
mod tokens;

pub(crate) use password::change as change_password;
pub(crate) use sessions::end as end_sessions;
pub(crate) use tokens::{make as make_token, revoke as revoke_token};

use crate::failure::Failure;
use crate::form::{FieldErrors, Fields};
use crate::frame::Frame;
use crate::password::{BYTES_MAX, CHARS_MIN};
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use domain::people::Role;
use domain::people::account::{READS_ACCOUNTS, READS_REFUSALS};
use domain::people::sign_on::Way;
use store::account::{ApiToken, OpenSession, Secret};

#[derive(Template)]
#[template(path = "my_account/my_account.html")]
struct MyAccountPage {
    frame: Frame,
    roles: String,
    has_password: bool,
    /// Until when the one-time password is good that must be changed first.
    must_change_by: Option<String>,
    chars_min: usize,
    bytes_max: usize,
    sessions: Vec<SessionLine>,
    tokens: Vec<TokenLine>,
    /// Roles that a token may be given.
    grantable: Vec<(Role, String)>,
    days_max: i64,
    reads_accounts: bool,
    reads_refusals: bool,
    told: Told,
}

/// What the page says about what was just sent.
#[derive(Debug, Default)]
struct Told {
    fields: Fields,
    errors: FieldErrors,
    /// What was done.
    done: Option<&'static str>,
    /// The token that was made: shown once.
    token: Option<String>,
}

/// A browser that is signed in.
struct SessionLine {
    opened: String,
    used: String,
    client: String,
    browser: String,
    /// By what the form names it; none for the browser at hand.
    id: Option<String>,
}

/// A program's token.
struct TokenLine {
    name: String,
    may: String,
    created: String,
    expires: String,
    expired: bool,
}

/// `GET /my-account`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    my_page(&state, &signed_in, Told::default()).await
}

async fn my_page(state: &WebState, signed_in: &SignedIn, told: Told) -> PageResult {
    let actor = signed_in.actor()?;
    let store = &state.store;
    let account = store.account(&actor.name).await?;
    let has_password = account.is_some_and(|account| account.secret != Secret::None);
    let sessions = store.sessions_of(&actor.name, state.now()).await?;
    let tokens = store.tokens_of(&actor.name).await?;
    let until = signed_in
        .session
        .as_ref()
        .and_then(|session| session.one_time_until);
    let frame = Frame::new(state, signed_in);
    let grantable = actor.roles.iter().filter(|role| may_record(**role));
    page(&MyAccountPage {
        roles: words(&actor.roles),
        has_password,
        must_change_by: until.map(|until| state.zone.show(until)),
        chars_min: CHARS_MIN,
        bytes_max: BYTES_MAX,
        sessions: sessions
            .iter()
            .map(|one| session_line(state, signed_in, one))
            .collect(),
        tokens: tokens
            .into_iter()
            .map(|one| token_line(state, one))
            .collect(),
        grantable: grantable
            .map(|role| (*role, tokens::field_of(*role)))
            .collect(),
        days_max: tokens::DAYS_MAX,
        reads_accounts: frame.holds(READS_ACCOUNTS),
        reads_refusals: frame.holds(READS_REFUSALS),
        frame,
        told,
    })
}

/// The page again, with what is wrong.
async fn wrong(
    state: &WebState,
    signed_in: &SignedIn,
    (fields, errors): (Fields, FieldErrors),
) -> Result<Response, Failure> {
    let told = Told {
        fields,
        errors,
        ..Told::default()
    };
    let page = my_page(state, signed_in, told).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

fn may_record(role: Role) -> bool {
    !matches!(role, Role::Auditor | Role::Administrator)
}

fn words(roles: &[Role]) -> String {
    let names: Vec<String> = roles.iter().map(ToString::to_string).collect();
    names.join(", ")
}

fn session_line(state: &WebState, signed_in: &SignedIn, open: &OpenSession) -> SessionLine {
    let is_this = signed_in.token == Some(open.token);
    SessionLine {
        opened: state.zone.show(open.opened_at),
        used: state.zone.show(open.used_at),
        client: match open.way {
            Way::Password => open.client.clone(),
            Way::SignOn => format!("{}, through single sign-on", open.client),
        },
        browser: open.browser.clone(),
        id: (!is_this).then(|| domain::ledger::chain::shown(&open.token)),
    }
}

fn token_line(state: &WebState, token: ApiToken) -> TokenLine {
    TokenLine {
        may: if token.roles.is_empty() {
            "read".to_owned()
        } else {
            format!("read, and record as {}", words(&token.roles))
        },
        created: state.zone.show(token.created_at),
        expires: state.zone.show(token.expires_at),
        expired: token.expires_at <= state.now(),
        name: token.name,
    }
}
