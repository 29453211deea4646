//! What a command would change, found by recording it and taking it back.

use crate::consequences::Look;
use crate::error::StoreError;
use crate::ledger;
use crate::record::Store;
use crate::repeated::recorded_before;
use domain::ledger::command::Command;
use domain::ledger::consequences::Consequences;
use domain::ledger::entry::Seq;
use domain::people::Actor;
use domain::time::Instant;
use futures_util::FutureExt;
use futures_util::future::BoxFuture;

/// What is foreseen of a command.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Foresight {
    /// It was recorded before, as this entry.
    Recorded(Seq),
    /// What it would change.
    Would(Box<Consequences>),
}

impl Store {
    /// What a command would change, or why it would be refused. Nothing is recorded, and a refusal
    /// is no refused attempt unless whoever asks says so with [`Store::note_trial`]. Holds the ledger as long as recording does. Boxed: a write is deep,
    /// and the compiler would go through it again for each handler that waits for one.
    pub fn foresee<'s>(
        &'s self,
        actor: &'s Actor,
        command: Command,
        now: Instant,
    ) -> BoxFuture<'s, Result<Foresight, StoreError>> {
        self.foresee_here(actor, command, now).boxed()
    }

    async fn foresee_here(
        &self,
        actor: &Actor,
        command: Command,
        now: Instant,
    ) -> Result<Foresight, StoreError> {
        let mut tx = self.pools.begin().await?;
        let head = ledger::take_head(&mut tx).await?;
        if let Some(before) = recorded_before(&mut tx, &command).await? {
            tx.rollback().await?;
            return Ok(Foresight::Recorded(before));
        }
        let asked = self.still_carrying(tx, (&head, &command), now);
        let (mut tx, carrying) = Box::pin(asked).await?;
        let asked = (actor, command, carrying);
        let decided = self.decide(&mut tx, &head, asked, now).await?;
        let told = self.keep_told(&mut tx, head, (decided, Look::All));
        let (_, entry) = Box::pin(told).await?;
        tx.rollback().await?;
        Ok(Foresight::Would(entry.consequences.unwrap_or_default()))
    }
}
