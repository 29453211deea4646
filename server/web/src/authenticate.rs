//! Whether a name and a password belong together, looked at ever more slowly.

use crate::client::Client;
use crate::denied;
use crate::failure::Failure;
use crate::password;
use crate::state::{Mode, WebState};
use domain::identity::PersonName;
use domain::people::account::AccountState;
use domain::people::refused::{AttemptKind, RefusedAttempt};
use domain::people::tries::Patience;
use domain::time::Instant;
use store::account::{Account, Secret};

/// What became of a sign-in.
#[derive(Debug)]
pub(crate) enum SignIn {
    /// They belong together.
    Welcome(Account),
    /// They do not, or the account is out of use, or its one-time password has expired; which
    /// of these is not told.
    Refused,
    /// It was not looked at, and will not be before then.
    NotBefore(Instant),
}

/// Looks at a name and password. A demo account needs no password, in the demo only. Takes the
/// same time whether or not there is such an account.
pub(crate) async fn authenticate(
    state: &WebState,
    (name, password): (&str, &str),
    client: &Client,
) -> Result<SignIn, Failure> {
    let account = match name.parse::<PersonName>() {
        Ok(name) => state.store.account(&name).await?,
        Err(_) => None,
    };
    if let (Some(account), Mode::Demo) = (&account, state.mode)
        && account.secret == Secret::None
        && account.state == AccountState::Active
    {
        return Ok(SignIn::Welcome(account.clone()));
    }
    // What is no name at all is counted as one that nobody has.
    let name: String = name.chars().take(PersonName::MAX_CHARS).collect();
    let (of_account, of_client) = (format!("account {name}"), format!("client {}", client.0));
    let counted = [
        (of_account.as_str(), Patience::ACCOUNT),
        (of_client.as_str(), Patience::CLIENT),
    ];
    if let Err(open_at) = state.store.tried(&counted, state.now()).await? {
        return Ok(SignIn::NotBefore(open_at));
    }
    let known = hash_that_counts(account.as_ref(), state.now());
    let right = password::verify(known.clone().ok(), password.to_owned()).await;
    match account {
        Some(account) if right => {
            let subjects = (of_account.as_str(), of_client.as_str());
            state.store.sign_in_succeeded(subjects).await?;
            Ok(SignIn::Welcome(account))
        }
        account => {
            let why = known.err().unwrap_or("the password was wrong");
            // What was typed as a name may be a password: only a name that is one is noted.
            let person = account.map(|account| account.actor.name.to_string());
            let attempt = RefusedAttempt {
                at: state.now(),
                person,
                client: Some(client.0.clone()),
                kind: AttemptKind::SignIn,
                attempted: "a name and a password".to_owned(),
                details: None,
                why: why.to_owned(),
            };
            denied::keep(state, &attempt).await;
            Ok(SignIn::Refused)
        }
    }
}

/// The hash by which an account may be signed in now, or why there is none.
fn hash_that_counts(account: Option<&Account>, now: Instant) -> Result<String, &'static str> {
    let account = account.ok_or("no account has that name")?;
    if account.state == AccountState::Disabled {
        return Err("the account is out of use");
    }
    match &account.secret {
        Secret::Own(hash) => Ok(hash.clone()),
        Secret::OneTime(hash, until) if now < *until => Ok(hash.clone()),
        Secret::OneTime(..) => Err("the one-time password has expired"),
        Secret::None => Err("the account has no password"),
    }
}

/// Looks at the password of somebody who is signed in and is about to do what a stolen session
/// must not. Demo accounts have none.
pub(crate) async fn is_really(
    state: &WebState,
    (name, password): (&PersonName, &str),
    client: &Client,
) -> Result<bool, Failure> {
    match authenticate(state, (name.as_str(), password), client).await? {
        SignIn::Welcome(_) => Ok(true),
        SignIn::Refused => Ok(false),
        SignIn::NotBefore(open_at) => Err(Failure::wait(state.now(), open_at)),
    }
}
