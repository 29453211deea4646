//! Attempts that were refused.

use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::record::Store;
use crate::row::{parsed, row, to_json};
use domain::ledger::command::Command;
use domain::people::Actor;
use domain::people::refused::{AttemptKind, RefusedAttempt, cut};
use domain::refusal::Refusal;
use domain::time::Instant;
use sqlx::QueryBuilder;
use uuid::Uuid;

/// Attempts on one page.
pub const REFUSED_PAGE: usize = 50;

/// Which attempts are asked for; what is left out does not narrow.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RefusedFilter {
    /// Of this person.
    pub person: Option<String>,
    /// Of this kind.
    pub kind: Option<AttemptKind>,
    /// Not before.
    pub from: Option<Instant>,
    /// Before.
    pub until: Option<Instant>,
    /// After this one in the list, which begins with the newest.
    pub after: Option<(Instant, Uuid)>,
}

row!(RefusedRow {
    id: Uuid,
    at: At,
    person: Option<String>,
    client: Option<String>,
    kind: String,
    attempted: String,
    details: Option<String>,
    why: String,
});

const NOTE: &str =
    "insert into refused_attempt (id, at, person, client, kind, attempted, details, why)
    values ($1, $2, $3, $4, $5, $6, $7, $8)";

impl RefusedRow {
    fn attempt(self) -> Result<(Uuid, RefusedAttempt), sqlx::Error> {
        let attempt = RefusedAttempt {
            at: self.at.0,
            person: self.person,
            client: self.client,
            kind: parsed(&self.kind)?,
            attempted: self.attempted,
            details: self.details,
            why: self.why,
        };
        Ok((self.id, attempt))
    }
}

/// A command that was refused, as an attempt.
pub(crate) fn of_command(
    actor: &Actor,
    command: &Command,
    now: Instant,
) -> Result<RefusedAttempt, StoreError> {
    let corrects = command.corrects.map(|seq| format!(" correcting {seq}"));
    let attempted = format!(
        "{}{}",
        command.fact.kind().name(),
        corrects.unwrap_or_default()
    );
    Ok(RefusedAttempt {
        at: now,
        person: Some(actor.name.to_string()),
        client: None,
        kind: AttemptKind::Record,
        attempted,
        details: Some(cut(&to_json(&command.fact)?)),
        why: String::new(),
    })
}

impl Store {
    /// Keeps that an attempt was refused.
    pub async fn note_refused(&self, attempt: &RefusedAttempt) -> Result<(), StoreError> {
        let mut tx = self.pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(NOTE)
            .bind(Uuid::now_v7())
            .bind(At(attempt.at))
            .bind(attempt.person.as_deref().map(cut))
            .bind(attempt.client.as_deref())
            .bind(attempt.kind.name())
            .bind(cut(&attempt.attempted))
            .bind(attempt.details.as_deref())
            .bind(cut(&attempt.why))
            .execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Keeps that a command was refused; if that fails, the refusal still stands.
    pub(crate) async fn note_refusal(&self, attempt: RefusedAttempt, refusal: &Refusal) {
        let why = refusal.to_string();
        let noted = self.note_refused(&RefusedAttempt { why, ..attempt }).await;
        let _ = noted.inspect_err(|cause| tracing::error!(%cause, "a refusal was not noted"));
    }

    /// Keeps that somebody asked what a command would change which their roles do not allow. What is
    /// refused for another reason is no attempt: nothing was to be recorded.
    pub async fn note_trial(
        &self,
        (actor, command): (&Actor, &Command),
        refusal: &Refusal,
        now: Instant,
    ) -> Result<(), StoreError> {
        let attempt = of_command(actor, command, now)?;
        let attempted = format!("{}, what it would change", attempt.attempted);
        let attempt = RefusedAttempt {
            attempted,
            ..attempt
        };
        self.note_refusal(attempt, refusal).await;
        Ok(())
    }

    /// A page of refused attempts, newest first, and one more where there are more. One
    /// statement; cost grows with what is shown.
    pub async fn refused_attempts(
        &self,
        filter: &RefusedFilter,
    ) -> Result<Vec<(Uuid, RefusedAttempt)>, StoreError> {
        let rows = i64::try_from(REFUSED_PAGE + 1).unwrap_or(i64::MAX);
        let mut tx = self.pools.read().await?;
        let rows: Vec<RefusedRow> = on!(&mut tx, conn => {
            let mut query = QueryBuilder::new(
                "select id, at, person, client, kind, attempted, details, why from refused_attempt where 1 = 1 ",
            );
            if let Some(person) = &filter.person {
                query.push("and person = ").push_bind(person.as_str()).push(" ");
            }
            if let Some(kind) = filter.kind {
                query.push("and kind = ").push_bind(kind.name()).push(" ");
            }
            if let Some(from) = filter.from {
                query.push("and at >= ").push_bind(At(from)).push(" ");
            }
            if let Some(until) = filter.until {
                query.push("and at < ").push_bind(At(until)).push(" ");
            }
            if let Some((at, id)) = filter.after {
                query.push("and (at, id) < (").push_bind(At(at)).push(", ").push_bind(id).push(") ");
            }
            query.push("order by at desc, id desc limit ").push_bind(rows);
            query.build_query_as().fetch_all(conn).await
        })?;
        let attempts: Result<Vec<_>, sqlx::Error> =
            rows.into_iter().map(RefusedRow::attempt).collect();
        Ok(attempts?)
    }
}
