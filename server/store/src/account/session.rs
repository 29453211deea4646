//! Signed-in browsers.

use super::{TokenHash, change, roles_of};
use crate::column::At;
use crate::connect::{on, on_read};
use crate::error::StoreError;
use crate::record::Store;
use crate::row::{parsed, row};
use domain::identity::PersonName;
use domain::people::Actor;
use domain::people::session::OpenSince;
use domain::people::sign_on::Way;
use domain::time::Instant;

/// A signed-in browser.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Who is signed in.
    pub actor: Actor,
    /// What each form of the browser must bring back.
    pub form_token: String,
    /// When it was last used, to the minute or so.
    pub used_at: Instant,
    /// Until when the password is good that it was opened with, where somebody else made that:
    /// first it must be changed.
    pub one_time_until: Option<Instant>,
}

/// A session in the list of its owner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenSession {
    /// By what it is known.
    pub token: TokenHash,
    /// Since when.
    pub opened_at: Instant,
    /// When it was last used, to the minute or so.
    pub used_at: Instant,
    /// The network address it was opened from.
    pub client: String,
    /// What the browser says it is.
    pub browser: String,
    /// How it was opened.
    pub way: Way,
}

row!(SessionRow {
    name: String,
    roles: String,
    form_token: String,
    used_at: At,
    one_time_until: Option<At>,
});

row!(OpenRow {
    token_hash: Vec<u8>,
    opened_at: At,
    used_at: At,
    client: String,
    browser: String,
    way: String,
});

/// Sessions shown of one account.
const SESSIONS_SHOWN: i64 = 100;

const OPEN: &str =
    "insert into session (token_hash, account, form_token, opened_at, used_at, client, browser, way)
    values ($1, $2, $3, $4, $4, $5, $6, $7)";
const SESSION: &str = "select account.name, account.roles, session.form_token, session.used_at,
    case when session.way = 'password' then account.one_time_until end as one_time_until
    from session join account on account.name = session.account
    where session.token_hash = $1 and session.used_at > $2 and session.opened_at > $3
    and account.state = 'active'";
const OF_ACCOUNT: &str = "select token_hash, opened_at, used_at, client, browser, way from session
    where account = $1 and used_at > $2 and opened_at > $3 order by opened_at desc limit $4";
const USED: &str = "update session set used_at = $2 where token_hash = $1";
const CLOSE: &str = "delete from session where token_hash = $1";
const CLOSE_OWN: &str = "delete from session where token_hash = $1 and account = $2";
const EXPIRE: &str = "delete from session where opened_at <= $1";

impl Store {
    /// Signs a browser in, notes that, ends the session it had, and forgets sessions that have
    /// ended by age.
    pub async fn open_session(
        &self,
        account: &PersonName,
        (session, form_token): (&OpenSession, &str),
        before: Option<TokenHash>,
    ) -> Result<(), StoreError> {
        let since = OpenSince::at(session.opened_at);
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(EXPIRE).bind(At(since.opened)).execute(conn).await.map(drop))?;
        if let Some(before) = before {
            on!(&mut tx, conn => sqlx::query(CLOSE).bind(&before[..]).execute(conn).await.map(drop))?;
        }
        on!(&mut tx, conn => sqlx::query(OPEN)
            .bind(&session.token[..])
            .bind(account.as_str())
            .bind(form_token)
            .bind(At(session.opened_at))
            .bind(session.client.as_str())
            .bind(session.browser.as_str())
            .bind(session.way.name())
            .execute(conn).await.map(drop))?;
        let through = match session.way {
            Way::Password => "",
            Way::SignOn => " through single sign-on",
        };
        let what = format!("signed in{through} from {}", session.client);
        change::note(&mut tx, (account, session.opened_at), account, &what).await?;
        tx.commit().await
    }

    /// Who is signed in with a token at a time. One statement, in no transaction.
    pub async fn session(
        &self,
        token: &TokenHash,
        now: Instant,
    ) -> Result<Option<Session>, StoreError> {
        let since = OpenSince::at(now);
        let row: Option<SessionRow> = on_read!(&self.pools, pool => sqlx::query_as(SESSION).bind(&token[..]).bind(At(since.used)).bind(At(since.opened)).fetch_optional(pool).await)?;
        let Some(row) = row else { return Ok(None) };
        Ok(Some(Session {
            actor: Actor::account(parsed(&row.name)?, roles_of(&row.roles)?),
            form_token: row.form_token,
            used_at: row.used_at.0,
            one_time_until: row.one_time_until.map(|until| until.0),
        }))
    }

    /// Notes that a session is in use.
    pub async fn session_used(&self, token: &TokenHash, now: Instant) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(USED).bind(&token[..]).bind(At(now)).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// The open sessions of an account, the newest first.
    pub async fn sessions_of(
        &self,
        account: &PersonName,
        now: Instant,
    ) -> Result<Vec<OpenSession>, StoreError> {
        let since = OpenSince::at(now);
        let mut tx = self.pools.read().await?;
        let rows: Vec<OpenRow> = on!(&mut tx, conn => sqlx::query_as(OF_ACCOUNT)
            .bind(account.as_str()).bind(At(since.used)).bind(At(since.opened)).bind(SESSIONS_SHOWN)
            .fetch_all(conn).await)?;
        let open = rows.into_iter().map(|row| {
            let whole = |_| sqlx::Error::Decode("a session's hash has a wrong length".into());
            Ok(OpenSession {
                token: TokenHash::try_from(row.token_hash.as_slice()).map_err(whole)?,
                opened_at: row.opened_at.0,
                used_at: row.used_at.0,
                client: row.client,
                browser: row.browser,
                way: parsed(&row.way)?,
            })
        });
        let open: Result<Vec<_>, sqlx::Error> = open.collect();
        Ok(open?)
    }

    /// Signs a browser out.
    pub async fn close_session(&self, token: &TokenHash) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(CLOSE).bind(&token[..]).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Signs one browser of an account out.
    pub async fn close_session_of(
        &self,
        account: &PersonName,
        token: &TokenHash,
    ) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(CLOSE_OWN).bind(&token[..]).bind(account.as_str()).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Signs all browsers of an account out.
    pub async fn close_sessions_of(
        &self,
        account: &PersonName,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        change::end_sessions(&mut tx, account).await?;
        change::note(&mut tx, (account, now), account, "signed out everywhere").await?;
        tx.commit().await
    }
}
