//! Who is signed in: a random token in a cookie, of which the store keeps only the hash.

use crate::failure::Failure;
use crate::limits::{PASSWORD_BYTES_MAX, SESSION_HOURS};
use crate::state::{Mode, WebState};
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use domain::identity::PersonName;
use domain::people::Actor;
use domain::time::Instant;
use sha2::{Digest, Sha256};
use std::convert::Infallible;
use store::account::{Account, Session, TokenHash};
use uuid::Uuid;

const COOKIE: &str = "brake_register";

/// Who is signed in with this browser, if anybody.
#[derive(Debug, Clone)]
pub(crate) struct SignedIn {
    /// The session.
    pub(crate) session: Option<Session>,
}

impl FromRequestParts<WebState> for SignedIn {
    type Rejection = Infallible;

    async fn from_request_parts(
        parts: &mut Parts,
        state: &WebState,
    ) -> Result<Self, Self::Rejection> {
        let jar = CookieJar::from_headers(&parts.headers);
        let Some(token) = jar.get(COOKIE).map(|cookie| hash(cookie.value())) else {
            return Ok(Self { session: None });
        };
        // A page is shown without a session rather than not at all.
        let session = state.store.session(&token, state.now()).await;
        let session = session
            .inspect_err(|cause| tracing::error!(%cause, "no session"))
            .ok();
        Ok(Self {
            session: session.flatten(),
        })
    }
}

impl SignedIn {
    /// Who acts, or a request to sign in.
    pub(crate) fn actor(&self) -> Result<Actor, Failure> {
        self.session
            .as_ref()
            .map(|session| session.actor.clone())
            .ok_or(Failure::SignInNeeded)
    }
}

fn hash(token: &str) -> TokenHash {
    Sha256::digest(token.as_bytes()).into()
}

/// 244 random bits as text.
fn random_token() -> String {
    format!("{}{}", Uuid::new_v4().simple(), Uuid::new_v4().simple())
}

/// Signs an account in and returns its cookie.
pub(crate) async fn open(state: &WebState, account: &Account) -> Result<Cookie<'static>, Failure> {
    let token = random_token();
    let session = Session {
        actor: account.actor.clone(),
        form_token: random_token(),
    };
    let now = state.now();
    let until = now.microseconds() + SESSION_HOURS * 3_600_000_000;
    let until = Instant::from_microseconds(until).unwrap_or(now);
    state
        .store
        .open_session(&hash(&token), &session, (now, until))
        .await?;
    Ok(cookie(token, state.mode))
}

/// Signs this browser out and returns the cookie that forgets the token.
pub(crate) async fn close(state: &WebState, jar: &CookieJar) -> Result<Cookie<'static>, Failure> {
    if let Some(cookie) = jar.get(COOKIE) {
        state.store.close_session(&hash(cookie.value())).await?;
    }
    let mut gone = cookie(String::new(), state.mode);
    gone.make_removal();
    Ok(gone)
}

fn cookie(token: String, mode: Mode) -> Cookie<'static> {
    Cookie::build((COOKIE, token))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        // The demo is served on loopback without encryption.
        .secure(mode == Mode::Register)
        .build()
}

/// The account of a name and password. A demo account needs no password, in the demo only.
/// Takes the same time whether or not there is such an account.
pub(crate) async fn authenticate(
    state: &WebState,
    name: &str,
    password: &str,
) -> Result<Option<Account>, Failure> {
    let account = match name.parse::<PersonName>() {
        Ok(name) => state.store.account(&name).await?,
        Err(_) => None,
    };
    if password.len() > PASSWORD_BYTES_MAX {
        return Ok(None);
    }
    let known = account
        .as_ref()
        .and_then(|account| account.password_hash.clone());
    if let (Some(account), None, Mode::Demo) = (&account, &known, state.mode) {
        return Ok(Some(account.clone()));
    }
    let password = password.to_owned();
    let right = tokio::task::spawn_blocking(move || is_right(known.as_deref(), &password)).await;
    Ok(account.filter(|_| right.unwrap_or(false)))
}

fn is_right(known: Option<&str>, password: &str) -> bool {
    let Some(parsed) = known.and_then(|known| PasswordHash::new(known).ok()) else {
        // Work as much for an unknown name as for a known one.
        let _ = password_hash(password);
        return false;
    };
    Argon2::default()
        .verify_password(password.as_bytes(), &parsed)
        .is_ok()
}

/// The Argon2id hash of a password, in PHC string form.
pub fn password_hash(password: &str) -> Option<String> {
    Argon2::default()
        .hash_password(password.as_bytes())
        .ok()
        .map(|hash| hash.to_string())
}
