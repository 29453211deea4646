//! Who is signed in: a random token in a browser's cookie or in the header of a program, of
//! which the store keeps only the hash.

use crate::api::problem::Problem;
use crate::client::Client;
use crate::denied::{self, Denied};
use crate::failure::Failure;
use crate::recorded;
use crate::sign_on::BACK;
use crate::state::{Mode, WebState};
use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use domain::identity::PersonName;
use domain::ledger::entry::Seq;
use domain::people::Actor;
use domain::people::session::is_to_be_noted;
use domain::people::sign_on::Way;
use domain::people::tries::Patience;
use sha2::{Digest, Sha256};
use std::convert::Infallible;
use store::account::{OpenSession, Session, TokenHash};
use uuid::Uuid;

/// What is open to those who are not signed in.
const OPEN: [&str; 3] = ["/sign-in", "/sign-on", BACK];
/// What is open to those who must first change their password.
const FIRST: [&str; 3] = ["/my-account", "/my-account/password", "/sign-out"];
/// What a browser says it is, in characters kept.
const BROWSER_CHARS: usize = 200;

/// By which way somebody is signed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Channel {
    /// A browser with a cookie, which another site may make it send: forms need proof.
    Browser,
    /// A program with a token, which no browser sends by itself.
    Program,
}

/// Who is signed in, if anybody.
#[derive(Debug, Clone)]
pub(crate) struct SignedIn {
    /// The session.
    pub(crate) session: Option<Session>,
    /// By which way.
    pub(crate) channel: Channel,
    /// By what the session is known.
    pub(crate) token: Option<TokenHash>,
    /// The entry that the form before this page recorded.
    pub(crate) recorded: Option<Seq>,
}

const NOBODY: SignedIn = SignedIn {
    session: None,
    channel: Channel::Browser,
    token: None,
    recorded: None,
};

impl FromRequestParts<WebState> for SignedIn {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &WebState) -> Result<Self, Self::Rejection> {
        let found = parts.extensions.get::<Self>();
        Ok(found.cloned().unwrap_or(NOBODY))
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

    async fn of_browser(state: &WebState, headers: &HeaderMap) -> Self {
        let jar = CookieJar::from_headers(headers);
        let Some(token) = token_of(state.mode, &jar) else {
            return NOBODY;
        };
        // A page is shown without a session rather than not at all.
        let session = state.store.session(&token, state.now()).await;
        let session = session.inspect_err(|cause| tracing::error!(%cause, "no session"));
        let session = session.ok().flatten();
        if let Some(session) = &session
            && is_to_be_noted(session.used_at, state.now())
        {
            let noted = state.store.session_used(&token, state.now()).await;
            let _ = noted.inspect_err(|cause| tracing::error!(%cause, "use not noted"));
        }
        Self {
            token: session.is_some().then_some(token),
            session,
            channel: Channel::Browser,
            recorded: recorded::told(&jar),
        }
    }

    /// A token that is not good is noted, but not without bound.
    async fn of_program(
        state: &WebState,
        authorization: &str,
        client: &Client,
    ) -> Result<Self, Failure> {
        let (scheme, token) = authorization.split_once(' ').unwrap_or_default();
        let actor = if scheme.eq_ignore_ascii_case("bearer") {
            let token = hash(token.trim());
            state.store.holder_of_token(&token, state.now()).await?
        } else {
            None
        };
        let Some(actor) = actor else {
            let subject = format!("programs of {}", client.0);
            let counted = [(subject.as_str(), Patience::CLIENT)];
            return Err(match state.store.tried(&counted, state.now()).await? {
                Ok(()) => Failure::TokenUnknown,
                Err(open_at) => Failure::wait(state.now(), open_at),
            });
        };
        let session = Session {
            actor,
            form_token: String::new(),
            used_at: state.now(),
            one_time_until: None,
        };
        Ok(Self {
            session: Some(session),
            channel: Channel::Program,
            token: None,
            recorded: None,
        })
    }
}

/// Finds out who is signed in before anything else looks at a request, and bars the way to what
/// is not open to them.
pub(crate) async fn attach(
    State(state): State<WebState>,
    client: Client,
    mut request: Request,
    next: Next,
) -> Response {
    let path = request.uri().path().to_owned();
    if path.starts_with("/static/") {
        return next.run(request).await;
    }
    let attempted = format!("{} {path}", request.method());
    let authorization = request.headers().get(header::AUTHORIZATION);
    let authorization = authorization.and_then(|value| value.to_str().ok());
    let found = match authorization.filter(|_| is_of_api(&path)) {
        Some(authorization) => SignedIn::of_program(&state, authorization, &client).await,
        None => Ok(SignedIn::of_browser(&state, request.headers()).await),
    };
    let signed_in = found.as_ref().map_or(NOBODY, Clone::clone);
    let answer = match found.and_then(|_| way(&state, &signed_in, &path)) {
        Ok(()) => {
            request.extensions_mut().insert(signed_in.clone());
            next.run(request).await
        }
        Err(barred) => elsewhere(barred, request.method(), &path),
    };
    if let Some(denied) = answer.extensions().get::<Denied>().cloned() {
        denied::note(&state, (&signed_in, &client), attempted, denied).await;
    }
    answer
}

/// What a barred request is answered: people are led to what they must do first.
fn elsewhere(barred: Failure, method: &Method, path: &str) -> Response {
    let reading = *method == Method::GET && !is_of_api(path);
    match barred {
        Failure::SignInNeeded if reading => Redirect::to("/sign-in").into_response(),
        Failure::PasswordChangeNeeded if reading => Redirect::to("/my-account").into_response(),
        other => refusal(other, path),
    }
}

/// Whether somebody may come to a path at all. What the demo holds is invented and open.
fn way(state: &WebState, signed_in: &SignedIn, path: &str) -> Result<(), Failure> {
    match &signed_in.session {
        None if state.mode == Mode::Register && !OPEN.contains(&path) => Err(Failure::SignInNeeded),
        Some(session) if session.one_time_until.is_some() && !FIRST.contains(&path) => {
            Err(Failure::PasswordChangeNeeded)
        }
        _ => Ok(()),
    }
}

fn is_of_api(path: &str) -> bool {
    path.starts_with("/api/")
}

fn refusal(failure: Failure, path: &str) -> Response {
    if is_of_api(path) {
        Problem::from(failure).into_response()
    } else {
        failure.into_response()
    }
}

pub(crate) fn hash(token: &str) -> TokenHash {
    Sha256::digest(token.as_bytes()).into()
}

/// 244 random bits as text.
pub(crate) fn random_token() -> String {
    format!("{}{}", Uuid::new_v4().simple(), Uuid::new_v4().simple())
}

/// Signs an account in, ends the session that the browser had, and returns the new cookie.
pub(crate) async fn open(
    state: &WebState,
    (account, way): (&PersonName, Way),
    (client, headers): (&Client, &HeaderMap),
) -> Result<Cookie<'static>, Failure> {
    let token = random_token();
    let now = state.now();
    let browser = headers.get(header::USER_AGENT).map(|agent| agent.to_str());
    let browser = browser.and_then(Result::ok).unwrap_or("unknown");
    let session = OpenSession {
        token: hash(&token),
        opened_at: now,
        used_at: now,
        client: client.0.clone(),
        browser: browser.chars().take(BROWSER_CHARS).collect(),
        way,
    };
    let before = token_of(state.mode, &CookieJar::from_headers(headers));
    let form_token = random_token();
    let store = &state.store;
    store
        .open_session(account, (&session, &form_token), before)
        .await?;
    Ok(only_here(cookie_name(state.mode), token, state.mode))
}

/// Signs this browser out and returns the cookie that forgets the token.
pub(crate) async fn close(state: &WebState, jar: &CookieJar) -> Result<Cookie<'static>, Failure> {
    if let Some(token) = token_of(state.mode, jar) {
        state.store.close_session(&token).await?;
    }
    Ok(forgotten(state.mode))
}

/// The cookie that forgets the token.
pub(crate) fn forgotten(mode: Mode) -> Cookie<'static> {
    let mut gone = only_here(cookie_name(mode), String::new(), mode);
    gone.make_removal();
    gone
}

/// The prefix makes browsers take a cookie only over HTTPS, from this host, for all of it.
pub(crate) fn cookie_name(mode: Mode) -> &'static str {
    match mode {
        Mode::Register => "__Host-brake_register",
        // The demo is served on loopback without encryption.
        Mode::Demo => "brake_register",
    }
}

fn token_of(mode: Mode, jar: &CookieJar) -> Option<TokenHash> {
    jar.get(cookie_name(mode))
        .map(|cookie| hash(cookie.value()))
}

/// A cookie that is for this host alone, and not for scripts.
pub(crate) fn only_here(name: &'static str, value: String, mode: Mode) -> Cookie<'static> {
    Cookie::build((name, value))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(mode == Mode::Register)
        .build()
}
