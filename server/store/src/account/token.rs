//! Tokens by which programs act for an account.

use super::{TokenHash, change, roles_of, roles_text};
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::record::Store;
use crate::row::{parsed, row};
use domain::identity::PersonName;
use domain::people::{Actor, Role};
use domain::time::Instant;

/// A token in the list of its owner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ApiToken {
    /// What its owner calls it.
    pub name: String,
    /// In which roles it may record, as far as its owner holds them; in none if it only reads.
    pub roles: Vec<Role>,
    /// When it was made.
    pub created_at: Instant,
    /// Until when it is good.
    pub expires_at: Instant,
}

/// A token that is made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewToken {
    /// By what it is known.
    pub hash: TokenHash,
    /// What is listed of it.
    pub listed: ApiToken,
}

row!(TokenRow {
    name: String,
    roles: String,
    created_at: At,
    expires_at: At
});

row!(HolderRow {
    account: String,
    held: String,
    granted: String
});

/// Tokens of one account at most.
const TOKENS_MAX: i64 = 100;

const PUT: &str = "insert into api_token (token_hash, account, name, roles, created_at, expires_at)
    values ($1, $2, $3, $4, $5, $6) on conflict (account, name) do nothing";
const OF_ACCOUNT: &str = "select name, roles, created_at, expires_at from api_token
    where account = $1 order by name limit $2";
const HOLDER: &str =
    "select account.name as account, account.roles as held, api_token.roles as granted
    from api_token join account on account.name = api_token.account
    where api_token.token_hash = $1 and api_token.expires_at > $2 and account.state = 'active'";
const REVOKE: &str = "delete from api_token where account = $1 and name = $2";
const COUNT: &str = "select count(*) from api_token where account = $1";

impl Store {
    /// Makes a token, and notes it. Answers nothing made where its owner has one of that name,
    /// or very many.
    pub async fn make_token(
        &self,
        account: &PersonName,
        token: &NewToken,
    ) -> Result<super::Made, StoreError> {
        let NewToken { hash, listed } = token;
        let mut tx = self.pools.begin().await?;
        let count: i64 = on!(&mut tx, conn => sqlx::query_scalar(COUNT).bind(account.as_str()).fetch_one(conn).await)?;
        let put = if TOKENS_MAX <= count {
            0
        } else {
            on!(&mut tx, conn => sqlx::query(PUT)
                .bind(&hash[..])
                .bind(account.as_str())
                .bind(listed.name.as_str())
                .bind(roles_text(&listed.roles))
                .bind(At(listed.created_at))
                .bind(At(listed.expires_at))
                .execute(conn).await.map(|done| done.rows_affected()))?
        };
        if put == 0 {
            tx.rollback().await?;
            return Ok(super::Made::Before);
        }
        let what = format!("token “{}” made", listed.name);
        change::note(&mut tx, (account, listed.created_at), account, &what).await?;
        tx.commit().await?;
        Ok(super::Made::Now)
    }

    /// The tokens of an account by name.
    pub async fn tokens_of(&self, account: &PersonName) -> Result<Vec<ApiToken>, StoreError> {
        let mut tx = self.pools.read().await?;
        let rows: Vec<TokenRow> = on!(&mut tx, conn => sqlx::query_as(OF_ACCOUNT).bind(account.as_str()).bind(TOKENS_MAX).fetch_all(conn).await)?;
        let tokens = rows.into_iter().map(|row| {
            Ok(ApiToken {
                roles: roles_of(&row.roles)?,
                name: row.name,
                created_at: row.created_at.0,
                expires_at: row.expires_at.0,
            })
        });
        let tokens: Result<Vec<_>, sqlx::Error> = tokens.collect();
        Ok(tokens?)
    }

    /// For whom a token acts at a time, with the roles that are both granted to it and still
    /// held. One statement.
    pub async fn holder_of_token(
        &self,
        token: &TokenHash,
        now: Instant,
    ) -> Result<Option<Actor>, StoreError> {
        let mut tx = self.pools.read().await?;
        let row: Option<HolderRow> = on!(&mut tx, conn => sqlx::query_as(HOLDER).bind(&token[..]).bind(At(now)).fetch_optional(conn).await)?;
        let Some(row) = row else { return Ok(None) };
        let (mut roles, held) = (roles_of(&row.granted)?, roles_of(&row.held)?);
        roles.retain(|role| held.contains(role));
        Ok(Some(Actor::account(parsed(&row.account)?, roles)))
    }

    /// Revokes a token of an account, and notes who did.
    pub async fn revoke_token(
        &self,
        account: &PersonName,
        name: &str,
        (by, now): (&PersonName, Instant),
    ) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        let revoked: u64 = on!(&mut tx, conn => sqlx::query(REVOKE).bind(account.as_str()).bind(name).execute(conn).await.map(|done| done.rows_affected()))?;
        if revoked != 0 {
            let what = format!("token “{name}” revoked");
            change::note(&mut tx, (by, now), account, &what).await?;
        }
        tx.commit().await
    }
}
