//! Single sign-on: those that have begun, whose accounts identities of another system are, and
//! whom it vouched for without an account.

use super::{Account, AccountRow, TokenHash, change};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::record::Store;
use crate::row::row;
use domain::identity::PersonName;
use domain::people::sign_on::{OutsideIdentity, UNBOUND_MAX, good_since};
use domain::time::Instant;
use domain::unreadable::Unreadable;

/// Somebody whom the provider vouched for and who is bound to no account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unbound {
    /// Who.
    pub identity: OutsideIdentity,
    /// What the provider calls them.
    pub called: String,
    /// When they last came.
    pub seen_at: Instant,
    /// The network address they came from.
    pub client: String,
}

/// An identity that is bound to an account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bound {
    /// Which.
    pub identity: OutsideIdentity,
    /// What the provider called them when they were bound.
    pub called: String,
}

row!(UnboundRow {
    issuer: String,
    subject: String,
    called: String,
    seen_at: At,
    client: String
});

row!(BoundRow {
    issuer: String,
    subject: String,
    called: String
});

/// Identities shown of one account.
const BOUND_SHOWN: i64 = 50;

const FORGET_OLD: &str = "delete from sign_on_pending where begun_at <= $1";
const BEGIN: &str = "insert into sign_on_pending (state_hash, begun_at) values ($1, $2)";
const END: &str = "delete from sign_on_pending where state_hash = $1 and begun_at > $2";
const ACCOUNT: &str = "select account.name, account.roles, account.password_hash,
    account.one_time_until, account.state
    from outside_identity join account on account.name = outside_identity.account
    where outside_identity.issuer = $1 and outside_identity.subject = $2";
const SEEN: &str = "insert into unbound_identity (issuer, subject, called, seen_at, client)
    values ($1, $2, $3, $4, $5) on conflict (issuer, subject)
    do update set called = excluded.called, seen_at = excluded.seen_at, client = excluded.client";
const TRIM: &str = "delete from unbound_identity where seen_at <
    (select min(seen_at) from
    (select seen_at from unbound_identity order by seen_at desc limit $1) as latest)";
const UNBOUND: &str = "select issuer, subject, called, seen_at, client from unbound_identity
    order by seen_at desc, issuer, subject limit $1";
const ONE_UNBOUND: &str = "select issuer, subject, called, seen_at, client from unbound_identity
    where issuer = $1 and subject = $2";
const BIND: &str = "insert into outside_identity (issuer, subject, called, account)
    values ($1, $2, $3, $4) on conflict (issuer, subject) do nothing";
const BOUND_NOW: &str = "delete from unbound_identity where issuer = $1 and subject = $2";
const BOUND: &str = "select issuer, subject, called from outside_identity
    where account = $1 order by issuer, subject limit $2";
const UNBIND: &str = "delete from outside_identity
    where issuer = $1 and subject = $2 and account = $3";

fn identity(issuer: &str, subject: &str) -> Result<OutsideIdentity, sqlx::Error> {
    let wrong = |why: Unreadable| sqlx::Error::Decode(Box::new(why));
    OutsideIdentity::new(issuer, subject).map_err(wrong)
}

impl UnboundRow {
    fn unbound(self) -> Result<Unbound, sqlx::Error> {
        Ok(Unbound {
            identity: identity(&self.issuer, &self.subject)?,
            called: self.called,
            seen_at: self.seen_at.0,
            client: self.client,
        })
    }
}

/// Whether an identity was bound to an account, or taken from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binding {
    /// It was.
    Changed,
    /// It was not there any more, and nothing was changed.
    Gone,
}

async fn one_unbound(
    tx: &mut Tx,
    identity: &OutsideIdentity,
) -> Result<Option<Unbound>, StoreError> {
    let row: Option<UnboundRow> = on!(tx, conn => sqlx::query_as(ONE_UNBOUND)
        .bind(identity.issuer()).bind(identity.subject()).fetch_optional(conn).await)?;
    Ok(row.map(UnboundRow::unbound).transpose()?)
}

impl Store {
    /// Keeps that a sign-on has begun, by the hash of its state, and forgets those that did not
    /// come back in time.
    pub async fn begin_sign_on(&self, state: &TokenHash, now: Instant) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(FORGET_OLD).bind(At(good_since(now))).execute(conn).await.map(drop))?;
        on!(&mut tx, conn => sqlx::query(BEGIN).bind(&state[..]).bind(At(now)).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Whether a sign-on with that state had begun and was still good. It is not any more: of
    /// several who ask at once, one is told so.
    pub async fn end_sign_on(&self, state: &TokenHash, now: Instant) -> Result<bool, StoreError> {
        let mut tx = self.pools.begin().await?;
        let ended: u64 = on!(&mut tx, conn => sqlx::query(END)
            .bind(&state[..]).bind(At(good_since(now)))
            .execute(conn).await.map(|done| done.rows_affected()))?;
        tx.commit().await?;
        Ok(ended == 1)
    }

    /// The account that an identity is bound to.
    pub async fn account_of_identity(
        &self,
        identity: &OutsideIdentity,
    ) -> Result<Option<Account>, StoreError> {
        let mut tx = self.pools.read().await?;
        let row: Option<AccountRow> = on!(&mut tx, conn => sqlx::query_as(ACCOUNT)
            .bind(identity.issuer()).bind(identity.subject()).fetch_optional(conn).await)?;
        Ok(row.map(AccountRow::account).transpose()?)
    }

    /// Keeps that somebody came who is bound to no account, and of all those the latest
    /// [`UNBOUND_MAX`].
    pub async fn note_unbound(&self, unbound: &Unbound) -> Result<(), StoreError> {
        let most = i64::try_from(UNBOUND_MAX).unwrap_or(i64::MAX);
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(SEEN)
            .bind(unbound.identity.issuer())
            .bind(unbound.identity.subject())
            .bind(unbound.called.as_str())
            .bind(At(unbound.seen_at))
            .bind(unbound.client.as_str())
            .execute(conn).await.map(drop))?;
        on!(&mut tx, conn => sqlx::query(TRIM).bind(most).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Who came and is bound to no account, the latest first, at most [`UNBOUND_MAX`].
    pub async fn unbound(&self) -> Result<Vec<Unbound>, StoreError> {
        let most = i64::try_from(UNBOUND_MAX).unwrap_or(i64::MAX);
        let mut tx = self.pools.read().await?;
        let rows: Vec<UnboundRow> =
            on!(&mut tx, conn => sqlx::query_as(UNBOUND).bind(most).fetch_all(conn).await)?;
        let unbound: Result<Vec<_>, _> = rows.into_iter().map(UnboundRow::unbound).collect();
        Ok(unbound?)
    }

    /// Binds somebody who came to an account that is there, and notes who did.
    pub async fn bind_identity(
        &self,
        identity: &OutsideIdentity,
        account: &PersonName,
        (by, now): (&PersonName, Instant),
    ) -> Result<Binding, StoreError> {
        let mut tx = self.pools.begin().await?;
        let Some(unbound) = one_unbound(&mut tx, identity).await? else {
            tx.rollback().await?;
            return Ok(Binding::Gone);
        };
        let (issuer, subject) = (identity.issuer(), identity.subject());
        on!(&mut tx, conn => sqlx::query(BOUND_NOW).bind(issuer).bind(subject).execute(conn).await.map(drop))?;
        let bound: u64 = on!(&mut tx, conn => sqlx::query(BIND)
            .bind(issuer).bind(subject).bind(unbound.called.as_str()).bind(account.as_str())
            .execute(conn).await.map(|done| done.rows_affected()))?;
        if bound == 0 {
            // They came while somebody bound them.
            tx.commit().await?;
            return Ok(Binding::Gone);
        }
        let what = format!(
            "bound to {subject} at {issuer}, called “{}”",
            unbound.called
        );
        change::note(&mut tx, (by, now), account, &what).await?;
        tx.commit().await?;
        Ok(Binding::Changed)
    }

    /// The identities that are bound to an account.
    pub async fn identities_of(&self, account: &PersonName) -> Result<Vec<Bound>, StoreError> {
        let mut tx = self.pools.read().await?;
        let rows: Vec<BoundRow> = on!(&mut tx, conn => sqlx::query_as(BOUND).bind(account.as_str()).bind(BOUND_SHOWN).fetch_all(conn).await)?;
        let bound = rows.into_iter().map(|row| {
            Ok(Bound {
                identity: identity(&row.issuer, &row.subject)?,
                called: row.called,
            })
        });
        let bound: Result<Vec<_>, sqlx::Error> = bound.collect();
        Ok(bound?)
    }

    /// Takes an identity from an account, ends the account's sessions, and notes who did.
    pub async fn unbind_identity(
        &self,
        identity: &OutsideIdentity,
        account: &PersonName,
        (by, now): (&PersonName, Instant),
    ) -> Result<Binding, StoreError> {
        let mut tx = self.pools.begin().await?;
        let (issuer, subject) = (identity.issuer(), identity.subject());
        let taken: u64 = on!(&mut tx, conn => sqlx::query(UNBIND)
            .bind(issuer).bind(subject).bind(account.as_str())
            .execute(conn).await.map(|done| done.rows_affected()))?;
        if taken == 0 {
            tx.rollback().await?;
            return Ok(Binding::Gone);
        }
        change::end_sessions(&mut tx, account).await?;
        let what = format!("no longer bound to {subject} at {issuer}");
        change::note(&mut tx, (by, now), account, &what).await?;
        tx.commit().await?;
        Ok(Binding::Changed)
    }
}
