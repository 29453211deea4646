//! Signing in and out.

use crate::authenticate::{SignIn, authenticate};
use crate::client::Client;
use crate::failure::Failure;
use crate::form::Submitted;
use crate::frame::Frame;
use crate::guard;
use crate::respond::{PageResult, page};
use crate::session::{self, SignedIn};
use crate::state::{Mode, WebState};
use askama::Template;
use axum::Form;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Redirect};
use axum_extra::extract::CookieJar;
use domain::people::account::AccountState;
use domain::people::sign_on::Way;
use serde::Deserialize;
use store::account::{Account, Secret};

#[derive(Template)]
#[template(path = "sign_in/sign_in.html")]
pub(super) struct SignInPage {
    frame: Frame,
    /// In the demo, the accounts to choose from.
    accounts: Vec<Account>,
    attempt: Attempt,
    /// The provider's host, where there is single sign-on.
    provider: Option<String>,
}

/// Whether somebody has just tried in vain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Attempt {
    First,
    Refused,
    ProviderAway,
}

/// `GET /sign-in`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    page(&sign_in_page(&state, &signed_in, Attempt::First).await?)
}

pub(super) async fn sign_in_page(
    state: &WebState,
    signed_in: &SignedIn,
    attempt: Attempt,
) -> Result<SignInPage, Failure> {
    let mut accounts = match state.mode {
        Mode::Demo => state.store.accounts().await?,
        Mode::Register => Vec::new(),
    };
    accounts
        .retain(|account| account.secret == Secret::None && account.state == AccountState::Active);
    Ok(SignInPage {
        frame: Frame::new(state, signed_in),
        accounts,
        attempt,
        provider: state.sign_on.as_ref().map(|one| one.host().to_owned()),
    })
}

/// What the form sends.
#[derive(Debug, Deserialize)]
pub(crate) struct SignInForm {
    name: String,
    #[serde(default)]
    password: String,
}

/// `POST /sign-in`
pub(crate) async fn sign_in(
    State(state): State<WebState>,
    signed_in: SignedIn,
    client: Client,
    headers: HeaderMap,
    Form(form): Form<SignInForm>,
) -> PageResult {
    guard::same_site(&headers)?;
    match authenticate(&state, (&form.name, &form.password), &client).await? {
        SignIn::Welcome(account) => {
            let account = (&account.actor.name, Way::Password);
            let cookie = session::open(&state, account, (&client, &headers)).await?;
            Ok((CookieJar::new().add(cookie), Redirect::to("/")).into_response())
        }
        SignIn::Refused => page(&sign_in_page(&state, &signed_in, Attempt::Refused).await?),
        SignIn::NotBefore(open_at) => Err(Failure::wait(state.now(), open_at)),
    }
}

/// `POST /sign-out`
pub(crate) async fn sign_out(
    State(state): State<WebState>,
    jar: CookieJar,
    _: Submitted,
) -> PageResult {
    let gone = session::close(&state, &jar).await?;
    Ok((CookieJar::new().add(gone), Redirect::to("/")).into_response())
}
