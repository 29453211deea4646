//! Accounts and signed-in browsers: the one thing that is not in the ledger. Passwords come
//! hashed, tokens come hashed; nothing here could be used to sign in.

use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::record::Store;
use crate::row::{parsed, row};
use domain::identity::PersonName;
use domain::people::{Actor, Role};
use domain::time::Instant;

/// An account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Who it is and which roles they hold.
    pub actor: Actor,
    /// The Argon2id hash of the password in PHC string form; none for a demo account.
    pub password_hash: Option<String>,
}

/// A signed-in browser.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Who is signed in.
    pub actor: Actor,
    /// What each form of the browser must bring back.
    pub form_token: String,
}

/// The SHA-256 of a session's token.
pub type TokenHash = [u8; 32];

row!(AccountRow { name: String, roles: String, password_hash: Option<String> });
row!(SessionRow {
    name: String,
    roles: String,
    form_token: String
});

const PUT: &str = "insert into account (name, roles, password_hash) values ($1, $2, $3)
    on conflict (name) do update set roles = excluded.roles, password_hash = excluded.password_hash";
const GET: &str = "select name, roles, password_hash from account where name = $1";
const ALL: &str = "select name, roles, password_hash from account order by name";
const OPEN: &str =
    "insert into session (token_hash, account, form_token, expires_at) values ($1, $2, $3, $4)";
const SESSION: &str = "select account.name, account.roles, session.form_token
    from session join account on account.name = session.account
    where session.token_hash = $1 and session.expires_at > $2";
const CLOSE: &str = "delete from session where token_hash = $1";
const EXPIRE: &str = "delete from session where expires_at <= $1";

fn actor(name: &str, roles: &str) -> Result<Actor, sqlx::Error> {
    let roles: Result<Vec<Role>, _> = roles.split_whitespace().map(parsed).collect();
    Ok(Actor {
        name: parsed(name)?,
        roles: roles?,
    })
}

impl AccountRow {
    fn account(&self) -> Result<Account, sqlx::Error> {
        let actor = actor(&self.name, &self.roles)?;
        Ok(Account {
            actor,
            password_hash: self.password_hash.clone(),
        })
    }
}

impl Store {
    /// Makes an account or replaces its roles and password.
    pub async fn put_account(&self, account: &Account) -> Result<(), StoreError> {
        let roles: Vec<&str> = account.actor.roles.iter().map(|role| role.name()).collect();
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(PUT)
            .bind(account.actor.name.as_str())
            .bind(roles.join(" "))
            .bind(account.password_hash.as_deref())
            .execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// An account by name.
    pub async fn account(&self, name: &PersonName) -> Result<Option<Account>, StoreError> {
        let mut tx = self.pools.read().await?;
        let row: Option<AccountRow> = on!(&mut tx, conn => sqlx::query_as(GET).bind(name.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.account()).transpose()?)
    }

    /// All accounts by name.
    pub async fn accounts(&self) -> Result<Vec<Account>, StoreError> {
        let mut tx = self.pools.read().await?;
        let rows: Vec<AccountRow> =
            on!(&mut tx, conn => sqlx::query_as(ALL).fetch_all(conn).await)?;
        let accounts: Result<Vec<_>, _> = rows.iter().map(AccountRow::account).collect();
        Ok(accounts?)
    }

    /// Signs a browser in until a time, and forgets sessions that have expired.
    pub async fn open_session(
        &self,
        token: &TokenHash,
        session: &Session,
        (now, until): (Instant, Instant),
    ) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(EXPIRE).bind(At(now)).execute(conn).await.map(drop))?;
        on!(&mut tx, conn => sqlx::query(OPEN)
            .bind(&token[..])
            .bind(session.actor.name.as_str())
            .bind(session.form_token.as_str())
            .bind(At(until))
            .execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Who is signed in with a token at a time.
    pub async fn session(
        &self,
        token: &TokenHash,
        now: Instant,
    ) -> Result<Option<Session>, StoreError> {
        let mut tx = self.pools.read().await?;
        let row: Option<SessionRow> = on!(&mut tx, conn => sqlx::query_as(SESSION).bind(&token[..]).bind(At(now)).fetch_optional(conn).await)?;
        let Some(row) = row else { return Ok(None) };
        let actor = actor(&row.name, &row.roles)?;
        Ok(Some(Session {
            actor,
            form_token: row.form_token,
        }))
    }

    /// Signs a browser out.
    pub async fn close_session(&self, token: &TokenHash) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(CLOSE).bind(&token[..]).execute(conn).await.map(drop))?;
        tx.commit().await
    }
}
