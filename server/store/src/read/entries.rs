//! Entries of the ledger as people read them.

use super::View;
use crate::error::StoreError;
use crate::ledger;
use domain::ledger::entry::{Entry, Seq};

pub use crate::ledger::KeptEntry;

/// Entries on one page.
pub const ENTRIES_PAGE: i64 = 50;

impl View {
    /// One entry as it is kept, and the entry that corrects it. Two statements.
    pub async fn entry(&mut self, seq: Seq) -> Result<Option<KeptEntry>, StoreError> {
        ledger::read_kept(&mut self.tx, seq).await
    }

    /// A page of entries before one, newest first; without one, the newest.
    pub async fn entries_before(&mut self, before: Option<Seq>) -> Result<Vec<Entry>, StoreError> {
        let end = before.map_or(self.last_entry + 1, |seq| seq.0);
        let after = (end - 1 - ENTRIES_PAGE).max(0);
        let mut entries = ledger::read_after(&mut self.tx, after, (end - 1 - after).max(0)).await?;
        entries.reverse();
        Ok(entries)
    }
}
