//! Changes of accounts, each noted with who made it.

use super::{Secret, columns, roles_text};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::record::Store;
use crate::row::{parsed, row};
use domain::identity::PersonName;
use domain::people::Role;
use domain::people::account::AccountState;
use domain::people::roles::Roles;
use domain::time::Instant;
use uuid::Uuid;

/// What is changed of an account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AccountChange {
    /// Which roles are held; at once, also where somebody is signed in.
    Roles(Roles),
    /// Whether it may be used. Taking it out of use ends its sessions; its tokens are not
    /// answered while it is.
    State(AccountState),
    /// What it is signed in with. Ends its sessions.
    Secret(Secret),
}

/// A change as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptChange {
    /// When.
    pub at: Instant,
    /// Who made it.
    pub by: PersonName,
    /// What, in words.
    pub what: String,
}

row!(ChangeRow {
    at: At,
    changed_by: String,
    change: String
});

/// Changes shown of one account.
const CHANGES_SHOWN: i64 = 50;

const SET_ROLES: &str = "update account set roles = $2 where name = $1";
const SET_STATE: &str = "update account set state = $2 where name = $1";
const SET_SECRET: &str =
    "update account set password_hash = $2, one_time_until = $3 where name = $1";
const END_SESSIONS: &str = "delete from session where account = $1";
const NOTE: &str = "insert into account_change (id, at, changed_by, account, change)
    values ($1, $2, $3, $4, $5)";
const CHANGES: &str = "select at, changed_by, change from account_change where account = $1
    order by at desc, id desc limit $2";

pub(super) fn roles_in_words(roles: &[Role]) -> String {
    let names: Vec<String> = roles.iter().map(ToString::to_string).collect();
    match names.as_slice() {
        [] => "no role".to_owned(),
        [one] => format!("the role {one}"),
        several => format!("the roles {}", several.join(", ")),
    }
}

/// Notes that somebody changed something of an account.
pub(super) async fn note(
    tx: &mut Tx,
    (by, now): (&PersonName, Instant),
    account: &PersonName,
    what: &str,
) -> Result<(), StoreError> {
    on!(tx, conn => sqlx::query(NOTE)
        .bind(Uuid::now_v7())
        .bind(At(now))
        .bind(by.as_str())
        .bind(account.as_str())
        .bind(what)
        .execute(conn).await.map(drop))?;
    Ok(())
}

/// Ends the sessions of an account.
pub(super) async fn end_sessions(tx: &mut Tx, account: &PersonName) -> Result<(), StoreError> {
    on!(tx, conn => sqlx::query(END_SESSIONS).bind(account.as_str()).execute(conn).await.map(drop))?;
    Ok(())
}

impl AccountChange {
    fn in_words(&self) -> String {
        match self {
            Self::Roles(roles) => format!("given {}", roles_in_words(roles.held())),
            Self::State(AccountState::Active) => "taken into use".to_owned(),
            Self::State(AccountState::Disabled) => "taken out of use".to_owned(),
            Self::Secret(Secret::None) => "password taken away".to_owned(),
            Self::Secret(Secret::Own(_)) => "password changed".to_owned(),
            Self::Secret(Secret::OneTime(..)) => "given a one-time password".to_owned(),
        }
    }

    async fn make(&self, tx: &mut Tx, account: &PersonName) -> Result<(), StoreError> {
        let name = account.as_str();
        match self {
            Self::Roles(roles) => {
                on!(tx, conn => sqlx::query(SET_ROLES).bind(name).bind(roles_text(roles.held())).execute(conn).await.map(drop))?;
            }
            Self::State(state) => {
                on!(tx, conn => sqlx::query(SET_STATE).bind(name).bind(state.name()).execute(conn).await.map(drop))?;
                if *state == AccountState::Disabled {
                    end_sessions(tx, account).await?;
                }
            }
            Self::Secret(secret) => {
                let (hash, until) = columns(secret);
                on!(tx, conn => sqlx::query(SET_SECRET).bind(name).bind(hash).bind(until).execute(conn).await.map(drop))?;
                end_sessions(tx, account).await?;
            }
        }
        Ok(())
    }
}

impl Store {
    /// Changes an account and notes who did, all or nothing.
    pub async fn change_account(
        &self,
        account: &PersonName,
        change: &AccountChange,
        (by, now): (&PersonName, Instant),
    ) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        change.make(&mut tx, account).await?;
        note(&mut tx, (by, now), account, &change.in_words()).await?;
        tx.commit().await
    }

    /// The latest changes of an account, newest first.
    pub async fn changes_of_account(
        &self,
        account: &PersonName,
    ) -> Result<Vec<KeptChange>, StoreError> {
        let mut tx = self.pools.read().await?;
        let rows: Vec<ChangeRow> = on!(&mut tx, conn => sqlx::query_as(CHANGES).bind(account.as_str()).bind(CHANGES_SHOWN).fetch_all(conn).await)?;
        let kept = rows.into_iter().map(|row| {
            Ok(KeptChange {
                at: row.at.0,
                by: parsed(&row.changed_by)?,
                what: row.change,
            })
        });
        let kept: Result<Vec<_>, sqlx::Error> = kept.collect();
        Ok(kept?)
    }
}
