//! Entries of the ledger as people read them.

use super::View;
use crate::connect::on;
use crate::error::StoreError;
use crate::ledger;
use domain::ledger::entry::{Entry, Seq};
use std::collections::HashMap;

pub use crate::ledger::KeptEntry;

/// Entries on one page.
pub const ENTRIES_PAGE: i64 = 50;

const CORRECTED_BETWEEN: &str = "select corrects, seq from ledger
    where corrects is not null and corrects >= $1 and corrects <= $2";

impl View {
    /// One entry as it is kept, and the entry that corrects it. Two statements.
    pub async fn entry(&mut self, seq: Seq) -> Result<Option<KeptEntry>, StoreError> {
        ledger::read_kept(&mut self.tx, seq).await
    }

    /// A page of entries before one, newest first; without one, the newest.
    pub async fn entries_before(&mut self, before: Option<Seq>) -> Result<Vec<Entry>, StoreError> {
        let newest = self.last_entry + 1;
        let end = before.map_or(newest, |seq| seq.0.min(newest));
        let after = (end - 1 - ENTRIES_PAGE).max(0);
        let mut entries = ledger::read_after(&mut self.tx, after, (end - 1 - after).max(0)).await?;
        entries.reverse();
        Ok(entries)
    }

    /// Which of the entries from one to another are corrected, and by which entry. One
    /// statement; cost grows with the corrections.
    pub async fn corrected_between(
        &mut self,
        first: Seq,
        last: Seq,
    ) -> Result<HashMap<Seq, Seq>, StoreError> {
        let rows: Vec<(i64, i64)> = on!(&mut self.tx, conn => sqlx::query_as(CORRECTED_BETWEEN).bind(first.0).bind(last.0).fetch_all(conn).await)?;
        Ok(rows
            .into_iter()
            .map(|(of, by)| (Seq(of), Seq(by)))
            .collect())
    }
}
