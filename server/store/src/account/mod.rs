//! Accounts, what is signed in with them and who changed them: the one thing that is not in the
//! ledger. Passwords come hashed, tokens come hashed; nothing here could be used to sign in.

mod change;
mod session;
mod sign_on;
mod token;
mod tries;

pub use change::{AccountChange, KeptChange};
pub use session::{OpenSession, Session};
pub use sign_on::{Binding, Bound, Unbound};
pub use token::{ApiToken, NewToken};

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::record::Store;
use crate::row::{parsed, row};
use domain::identity::PersonName;
use domain::people::account::AccountState;
use domain::people::roles::Roles;
use domain::people::{Actor, Role};
use domain::time::Instant;

/// An account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Who it is and which roles they hold.
    pub actor: Actor,
    /// What it is signed in with.
    pub secret: Secret,
    /// Whether it may be used.
    pub state: AccountState,
}

/// An account that is to be made, to be used at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAccount {
    /// Who it is.
    pub name: PersonName,
    /// Which roles they hold.
    pub roles: Roles,
    /// What it is signed in with.
    pub secret: Secret,
}

/// What an account is signed in with. Hashes are Argon2id in PHC string form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Secret {
    /// No password: a demo account, or one that another system signs in.
    None,
    /// The hash of a password that only its owner knows.
    Own(String),
    /// The hash of a password that somebody else made, and until when it is good.
    OneTime(String, Instant),
}

/// The SHA-256 of a session's or program's token.
pub type TokenHash = [u8; 32];

/// The most accounts of one list.
pub const ACCOUNTS_MAX: i64 = 1_000;

row!(AccountRow {
    name: String,
    roles: String,
    password_hash: Option<String>,
    one_time_until: Option<At>,
    state: String,
});

const PUT: &str = "insert into account (name, roles, password_hash, one_time_until, state)
    values ($1, $2, $3, $4, $5) on conflict (name) do nothing";
const GET: &str = "select name, roles, password_hash, one_time_until, state
    from account where name = $1";
const ALL: &str = "select name, roles, password_hash, one_time_until, state
    from account order by name limit $1";

pub(crate) fn roles_text(roles: &[Role]) -> String {
    let names: Vec<&str> = roles.iter().map(|role| role.name()).collect();
    names.join(" ")
}

pub(crate) fn roles_of(text: &str) -> Result<Vec<Role>, sqlx::Error> {
    let roles: Result<Vec<Role>, _> = text.split_whitespace().map(parsed).collect();
    Ok(Roles::of_kept(roles?))
}

impl AccountRow {
    fn account(self) -> Result<Account, sqlx::Error> {
        let secret = match (self.password_hash, self.one_time_until) {
            (None, _) => Secret::None,
            (Some(hash), None) => Secret::Own(hash),
            (Some(hash), Some(At(until))) => Secret::OneTime(hash, until),
        };
        Ok(Account {
            actor: Actor::account(parsed(&self.name)?, roles_of(&self.roles)?),
            secret,
            state: parsed(&self.state)?,
        })
    }
}

/// A secret as it stands in a row: the hash, and until when it is good.
fn columns(secret: &Secret) -> (Option<&str>, Option<At>) {
    match secret {
        Secret::None => (None, None),
        Secret::Own(hash) => (Some(hash), None),
        Secret::OneTime(hash, until) => (Some(hash), Some(At(*until))),
    }
}

/// Puts an account that is not there. Answers how many were put.
async fn put(tx: &mut Tx, account: &NewAccount) -> Result<u64, StoreError> {
    let roles = roles_text(account.roles.held());
    let (hash, until) = columns(&account.secret);
    Ok(on!(tx, conn => sqlx::query(PUT)
        .bind(account.name.as_str())
        .bind(&roles)
        .bind(hash)
        .bind(until)
        .bind(AccountState::Active.name())
        .execute(conn).await.map(|done| done.rows_affected()))?)
}

/// Whether an account was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// It is there now.
    Now,
    /// There was one of that name, which was left as it is.
    Before,
}

impl Store {
    /// Makes an account, and notes who made it; leaves one that is there as it is.
    pub async fn make_account(
        &self,
        account: &NewAccount,
        (by, now): (&PersonName, Instant),
    ) -> Result<Made, StoreError> {
        let mut tx = self.pools.begin().await?;
        if put(&mut tx, account).await? == 0 {
            tx.rollback().await?;
            return Ok(Made::Before);
        }
        let what = format!("made with {}", change::roles_in_words(account.roles.held()));
        change::note(&mut tx, (by, now), &account.name, &what).await?;
        tx.commit().await?;
        Ok(Made::Now)
    }

    /// An account by name.
    pub async fn account(&self, name: &PersonName) -> Result<Option<Account>, StoreError> {
        let mut tx = self.pools.read().await?;
        let row: Option<AccountRow> = on!(&mut tx, conn => sqlx::query_as(GET).bind(name.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(AccountRow::account).transpose()?)
    }

    /// The accounts by name, at most [`ACCOUNTS_MAX`].
    pub async fn accounts(&self) -> Result<Vec<Account>, StoreError> {
        let mut tx = self.pools.read().await?;
        let rows: Vec<AccountRow> =
            on!(&mut tx, conn => sqlx::query_as(ALL).bind(ACCOUNTS_MAX).fetch_all(conn).await)?;
        let accounts: Result<Vec<_>, _> = rows.into_iter().map(AccountRow::account).collect();
        Ok(accounts?)
    }
}
