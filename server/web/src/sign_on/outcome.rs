//! What becomes of a sign-on that comes back from the provider.

use super::{OneSignOn, SignOn, SignOnFault, Vouched};
use crate::client::Client;
use crate::denied;
use crate::failure::Failure;
use crate::state::WebState;
use domain::identity::PersonName;
use domain::people::account::AccountState;
use domain::people::refused::{AttemptKind, RefusedAttempt};
use domain::people::sign_on::PENDING_S;
use domain::people::tries::Patience;
use serde::Deserialize;
use store::account::{Account, Unbound};

/// What a browser brings back.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Brought {
    #[serde(default)]
    state: String,
    code: Option<String>,
    error: Option<String>,
}

/// What became of it.
pub(crate) enum Outcome {
    /// It is the account's owner.
    Welcome(Account),
    /// Nobody is signed in.
    Refused(Refusal),
    /// The provider does not answer.
    Away(SignOnFault),
}

/// Why nobody is signed in, as it is told on a page of its own.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Refusal {
    /// What comes back was not sent from here.
    #[error("This sign-on was not begun in this browser, has been used, or took longer than {} minutes. Begin it again", PENDING_S / 60)]
    NotBegun,
    /// The provider says no.
    #[error("The provider signed nobody in")]
    ByProvider(String),
    /// What the provider says is not proven.
    #[error(
        "What the provider says of you cannot be proven. Begin again, and tell whoever runs the server if that does not help"
    )]
    NotProven(SignOnFault),
    /// The person has no account.
    #[error("The provider knows you, but you are bound to no account of this register")]
    Unbound(Box<Unbound>),
    /// The person's account may not be used.
    #[error("Your account is out of use")]
    OutOfUse(PersonName),
}

impl Refusal {
    /// Why, for auditors.
    fn noted(&self) -> String {
        match self {
            Self::NotBegun => "the state was not sent from that browser, or is used or old".into(),
            Self::ByProvider(error) => format!("the provider says {error}"),
            Self::NotProven(why) => why.to_string(),
            Self::Unbound(unbound) => {
                let identity = &unbound.identity;
                let (subject, issuer) = (identity.subject(), identity.issuer());
                format!("{subject} at {issuer} is bound to no account")
            }
            Self::OutOfUse(_) => "the account is out of use".into(),
        }
    }
}

/// By what the sign-ons of a client are counted: apart from passwords, so that a provider that
/// does not answer bars nobody from those.
fn counted_by(client: &Client) -> String {
    format!("sign-ons of {}", client.0)
}

/// Counts a sign-on as failed before it is looked at.
pub(crate) async fn count(state: &WebState, client: &Client) -> Result<(), Failure> {
    let subject = counted_by(client);
    let counted = [(subject.as_str(), Patience::CLIENT)];
    let now = state.now();
    let counted = state.store.tried(&counted, now).await?;
    counted.map_err(|open_at| Failure::wait(now, open_at))
}

/// Looks at what a browser brings back, once, and notes why nobody is signed in.
pub(crate) async fn looked_at(
    state: &WebState,
    (sign_on, one): (&SignOn, Option<OneSignOn>),
    brought: Brought,
    client: &Client,
) -> Result<Outcome, Failure> {
    let outcome = if let Some(one) = begun_here(state, one, &brought).await? {
        vouched(state, (sign_on, &one), brought, client).await?
    } else {
        // Each that was begun has been counted then.
        count(state, client).await?;
        Outcome::Refused(Refusal::NotBegun)
    };
    match &outcome {
        Outcome::Welcome(_) => state.store.try_succeeded(&counted_by(client)).await?,
        Outcome::Refused(why) => note(state, why, client).await,
        Outcome::Away(_) => {}
    }
    Ok(outcome)
}

/// The sign-on of that browser, if what it brings is of it and comes back for the first time.
/// What another browser brings leaves it as it is.
async fn begun_here(
    state: &WebState,
    one: Option<OneSignOn>,
    brought: &Brought,
) -> Result<Option<OneSignOn>, Failure> {
    let Some(one) = one.filter(|one| one.is_state(&brought.state)) else {
        return Ok(None);
    };
    let good = state.store.end_sign_on(&one.kept_by(), state.now()).await?;
    Ok(good.then_some(one))
}

async fn vouched(
    state: &WebState,
    (sign_on, one): (&SignOn, &OneSignOn),
    brought: Brought,
    client: &Client,
) -> Result<Outcome, Failure> {
    let code = match (brought.code, brought.error) {
        (Some(code), None) => code,
        (_, error) => {
            let said = error.unwrap_or_else(|| "nothing".to_owned());
            return Ok(Outcome::Refused(Refusal::ByProvider(said)));
        }
    };
    match sign_on.vouched((one, code), state.now()).await {
        Ok(person) => whose(state, person, client).await,
        Err(away @ SignOnFault::Away(_)) => Ok(Outcome::Away(away)),
        Err(why) => Ok(Outcome::Refused(Refusal::NotProven(why))),
    }
}

async fn whose(state: &WebState, person: Vouched, client: &Client) -> Result<Outcome, Failure> {
    Ok(
        match state.store.account_of_identity(&person.identity).await? {
            Some(account) if account.state == AccountState::Active => Outcome::Welcome(account),
            Some(account) => Outcome::Refused(Refusal::OutOfUse(account.actor.name)),
            None => {
                let unbound = Unbound {
                    identity: person.identity,
                    called: person.called,
                    seen_at: state.now(),
                    client: client.0.clone(),
                };
                state.store.note_unbound(&unbound).await?;
                Outcome::Refused(Refusal::Unbound(Box::new(unbound)))
            }
        },
    )
}

async fn note(state: &WebState, why: &Refusal, client: &Client) {
    let person = match why {
        Refusal::OutOfUse(name) => Some(name.to_string()),
        _ => None,
    };
    let attempt = RefusedAttempt {
        at: state.now(),
        person,
        client: Some(client.0.clone()),
        kind: AttemptKind::SignIn,
        attempted: "single sign-on".to_owned(),
        details: None,
        why: why.noted(),
    };
    denied::keep(state, &attempt).await;
}
