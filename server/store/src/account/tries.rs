//! Sign-ins that failed lately. They are in the database, so that all servers wait together.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::record::Store;
use crate::row::row;
use domain::people::tries::{FORGOTTEN_AFTER_S, Patience, Tries, another, seconds_after};
use domain::time::Instant;

row!(TriesRow {
    failures: i64,
    last_at: At,
    open_at: At
});

// The update that changes nothing takes the row's lock.
const TAKE: &str =
    "insert into sign_in_tries (subject, failures, last_at, open_at) values ($1, 0, $2, $2)
    on conflict (subject) do update set failures = sign_in_tries.failures
    returning failures, last_at, open_at";
const KEEP: &str =
    "update sign_in_tries set failures = $2, last_at = $3, open_at = $4 where subject = $1";
const TAKE_BACK: &str = "update sign_in_tries set failures = failures - 1, open_at = last_at
    where subject = $1 and failures > 0";
const FORGET: &str = "delete from sign_in_tries where subject = $1";
const FORGET_OLD: &str = "delete from sign_in_tries where last_at < $1";

async fn take(tx: &mut Tx, subject: &str, now: Instant) -> Result<Option<Tries>, StoreError> {
    let row: TriesRow =
        on!(tx, conn => sqlx::query_as(TAKE).bind(subject).bind(At(now)).fetch_one(conn).await)?;
    let failures = u32::try_from(row.failures).unwrap_or(u32::MAX);
    Ok((failures != 0).then_some(Tries {
        failures,
        last_at: row.last_at.0,
        open_at: row.open_at.0,
    }))
}

async fn keep(tx: &mut Tx, subject: &str, tries: Tries) -> Result<(), StoreError> {
    on!(tx, conn => sqlx::query(KEEP)
        .bind(subject)
        .bind(i64::from(tries.failures))
        .bind(At(tries.last_at))
        .bind(At(tries.open_at))
        .execute(conn).await.map(drop))?;
    Ok(())
}

impl Store {
    /// Counts a try as failed before it is looked at, for each of some subjects: an account, a
    /// client. `Err` within is the time from which on a try is looked at again, and then nothing
    /// is counted. The kinds of subjects are given in one order always, so that no two wait for
    /// each other.
    pub async fn tried(
        &self,
        subjects: &[(&str, Patience)],
        now: Instant,
    ) -> Result<Result<(), Instant>, StoreError> {
        let mut tx = self.pools.begin().await?;
        let old = seconds_after(now, -FORGOTTEN_AFTER_S);
        on!(&mut tx, conn => sqlx::query(FORGET_OLD).bind(At(old)).execute(conn).await.map(drop))?;
        for (subject, patience) in subjects {
            let before = take(&mut tx, subject, now).await?;
            match another(before, *patience, now) {
                Ok(tries) => keep(&mut tx, subject, tries).await?,
                Err(open_at) => {
                    tx.rollback().await?;
                    return Ok(Err(open_at));
                }
            }
        }
        tx.commit().await?;
        Ok(Ok(()))
    }

    /// Takes back what was counted, since the password was right: the account's failures are
    /// forgotten, the client's are one fewer.
    pub async fn sign_in_succeeded(
        &self,
        (account, client): (&str, &str),
    ) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(FORGET).bind(account).execute(conn).await.map(drop))?;
        on!(&mut tx, conn => sqlx::query(TAKE_BACK).bind(client).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Takes back one try that was counted with a subject, since it succeeded.
    pub async fn try_succeeded(&self, subject: &str) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(TAKE_BACK).bind(subject).execute(conn).await.map(drop))?;
        tx.commit().await
    }
}
