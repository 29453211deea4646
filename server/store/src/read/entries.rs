//! Entries of the ledger as people read them.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::ledger::{self, EntryRow};
use domain::identity::PersonName;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::kind::FactKind;
use domain::ledger::subjects::EntrySubject;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::HashMap;

pub use crate::ledger::KeptEntry;

/// Entries on one page.
pub const ENTRIES_PAGE: usize = 50;

/// Which entries are asked for; what is left out does not narrow.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct EntryFilter {
    /// Of this kind.
    pub kind: Option<FactKind>,
    /// About this.
    pub about: Option<EntrySubject>,
    /// By this person.
    pub actor: Option<PersonName>,
    /// Recorded then or later.
    pub from: Option<Instant>,
    /// Recorded before.
    pub until: Option<Instant>,
    /// Before this one in the ledger.
    pub before: Option<Seq>,
    /// At most so many.
    pub rows: usize,
}

const SUBJECTS_AFTER: &str = "select subjects_after from ledger_head where id = 1";
const CORRECTED_BETWEEN: &str = "select corrects, seq from ledger
    where corrects is not null and corrects >= $1 and corrects <= $2";

impl View {
    /// One entry as it is kept, and the entry that corrects it. Two statements.
    pub async fn entry(&mut self, seq: Seq) -> Result<Option<KeptEntry>, StoreError> {
        ledger::read_kept(&mut self.tx, seq).await
    }

    /// The entry up to which nobody has yet kept what entries are about; none where all is kept.
    /// One statement.
    pub async fn subjects_after(&mut self) -> Result<Option<Seq>, StoreError> {
        let after: Option<i64> = on!(&mut self.tx, conn => sqlx::query_scalar(SUBJECTS_AFTER).fetch_optional(conn).await)?;
        Ok(after.filter(|seq| 0 < *seq).map(Seq))
    }

    /// The entries that are asked for, newest first, and one more where there are more. One
    /// statement; cost grows with what is shown, and with the entries about the thing asked for. Where both kind and person are asked for, it
    /// grows with the entries of that kind by others in between.
    pub async fn entries(&mut self, filter: &EntryFilter) -> Result<Vec<Entry>, StoreError> {
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(
                "select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash from ledger where 1 = 1 ",
            );
            if let Some(before) = filter.before {
                query.push("and seq < ").push_bind(before.0).push(" ");
            }
            if let Some(kind) = filter.kind {
                query.push("and kind = ").push_bind(kind.name()).push(" ");
            }
            if let Some(about) = &filter.about {
                query.push("and seq in (select seq from entry_subject where kind = ").push_bind(about.kind.name());
                query.push(" and name = ").push_bind(about.name.as_str()).push(") ");
            }
            if let Some(actor) = &filter.actor {
                query.push("and actor = ").push_bind(actor.as_str()).push(" ");
            }
            // No entry is recorded before the one before it, so times bound the numbers.
            if let Some(from) = filter.from {
                query.push("and seq >= (select seq from ledger where recorded_at >= ")
                    .push_bind(At(from)).push(" order by recorded_at, seq limit 1) ");
            }
            if let Some(until) = filter.until {
                query.push("and seq <= (select seq from ledger where recorded_at < ")
                    .push_bind(At(until)).push(" order by recorded_at desc, seq desc limit 1) ");
            }
            let rows = i64::try_from(filter.rows + 1).unwrap_or(i64::MAX);
            query.push("order by seq desc limit ").push_bind(rows);
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries: Result<Vec<_>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
        Ok(entries?)
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
