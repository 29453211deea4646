//! Commands that are sent again: a repeat is recorded once.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger;
use crate::record::Store;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::refusal::Refusal;
use domain::time::Instant;
use uuid::Uuid;

const RECORDED: &str = "select seq from ledger where command = $1";

const EFFECTIVE: &str = "select effective_at from ledger where command = $1";

/// The entry that a command became before, if it did. Another command under the same identity is
/// refused.
pub(crate) async fn recorded_before(
    tx: &mut Tx,
    command: &Command,
) -> Result<Option<Seq>, StoreError> {
    let seq: Option<i64> =
        on!(tx, conn => sqlx::query_scalar(RECORDED).bind(command.id).fetch_optional(conn).await)?;
    let Some(seq) = seq.map(Seq) else {
        return Ok(None);
    };
    let known = ledger::read_one(tx, seq).await?;
    if known.is_some_and(|(entry, _)| command.became(&entry)) {
        return Ok(Some(seq));
    }
    let id = command.id;
    Err(Refusal::CommandReused { id, by: seq }.into())
}

impl Store {
    /// As of when the command with an identity was recorded; none where it was not. Whoever sends
    /// it again without saying a time means that one. One statement.
    pub async fn recorded_as_of(&self, command: Uuid) -> Result<Option<Instant>, StoreError> {
        let mut tx = self.pools.read().await?;
        let at: Option<At> = on!(&mut tx, conn => sqlx::query_scalar(EFFECTIVE).bind(command).fetch_optional(conn).await)?;
        Ok(at.map(|at| at.0))
    }
}
