//! Single sign-on: sending a browser to the provider, and what is shown when it comes back.

use super::sign_in::{Attempt, sign_in_page};
use crate::client::Client;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::guard;
use crate::respond::{PageResult, page};
use crate::session::{self, SignedIn};
use crate::sign_on::{Brought, OneSignOn, Outcome, Refusal, SignOn, SignOnFault, count, looked_at};
use crate::state::{Mode, WebState};
use askama::Template;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::Cookie;
use domain::people::sign_on::Way;

#[derive(Template)]
#[template(path = "sign_in/not_signed_on.html")]
struct NotSignedOnPage {
    frame: Frame,
    told: String,
    unbound: Option<UnboundPerson>,
}

/// Somebody without an account, as the provider knows them.
struct UnboundPerson {
    issuer: String,
    subject: String,
    called: String,
    at: String,
}

fn sign_on_of(state: &WebState) -> Result<&SignOn, Failure> {
    state.sign_on.as_deref().ok_or_else(|| Failure::NotFound {
        what: "page",
        name: "of single sign-on".to_owned(),
    })
}

/// The name of the cookie that binds a sign-on to the browser, prefixed like the session's.
fn cookie_name(mode: Mode) -> &'static str {
    match mode {
        Mode::Register => "__Host-brake_register_sign_on",
        Mode::Demo => "brake_register_sign_on",
    }
}

fn cookie(secret: &str, mode: Mode) -> Cookie<'static> {
    session::only_here(cookie_name(mode), secret.to_owned(), mode)
}

/// `GET /sign-on`
pub(crate) async fn begin(
    State(state): State<WebState>,
    signed_in: SignedIn,
    client: Client,
    headers: HeaderMap,
) -> PageResult {
    let sign_on = sign_on_of(&state)?;
    guard::same_site(&headers)?;
    count(&state, &client).await?;
    let one = OneSignOn::new();
    match sign_on.leads_to(&one).await {
        Ok(address) => {
            state
                .store
                .begin_sign_on(&one.kept_by(), state.now())
                .await?;
            let jar = CookieJar::new().add(cookie(one.secret(), state.mode));
            Ok((jar, Redirect::to(address.as_str())).into_response())
        }
        Err(why) => away(&state, &signed_in, &why).await,
    }
}

/// `GET /sign-on/back`
pub(crate) async fn back(
    State(state): State<WebState>,
    signed_in: SignedIn,
    client: Client,
    headers: HeaderMap,
    Query(brought): Query<Brought>,
) -> PageResult {
    let sign_on = sign_on_of(&state)?;
    let kept = CookieJar::from_headers(&headers);
    let one = kept.get(cookie_name(state.mode));
    let one = one.map(|cookie| OneSignOn::of_browser(cookie.value()));
    let answer = match looked_at(&state, (sign_on, one), brought, &client).await? {
        Outcome::Welcome(account) => {
            let account = (&account.actor.name, Way::SignOn);
            let cookie = session::open(&state, account, (&client, &headers)).await?;
            (CookieJar::new().add(cookie), Redirect::to("/")).into_response()
        }
        Outcome::Refused(why) => refused(&state, &signed_in, &why)?,
        Outcome::Away(why) => away(&state, &signed_in, &why).await?,
    };
    let mut gone = cookie("", state.mode);
    gone.make_removal();
    Ok((CookieJar::new().add(gone), answer).into_response())
}

fn refused(state: &WebState, signed_in: &SignedIn, why: &Refusal) -> PageResult {
    let unbound = match why {
        Refusal::Unbound(person) => Some(UnboundPerson {
            issuer: person.identity.issuer().to_owned(),
            subject: person.identity.subject().to_owned(),
            called: person.called.clone(),
            at: state.zone.show(person.seen_at),
        }),
        _ => None,
    };
    let page = page(&NotSignedOnPage {
        frame: Frame::new(state, signed_in),
        told: why.to_string(),
        unbound,
    })?;
    Ok((StatusCode::FORBIDDEN, page).into_response())
}

/// The page of signing in, where there may be passwords: the provider does not answer.
async fn away(state: &WebState, signed_in: &SignedIn, why: &SignOnFault) -> PageResult {
    tracing::error!(%why, "no single sign-on");
    let page = page(&sign_in_page(state, signed_in, Attempt::ProviderAway).await?)?;
    Ok((StatusCode::SERVICE_UNAVAILABLE, page).into_response())
}
