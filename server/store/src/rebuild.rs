//! Folds the whole ledger again: to prove that the projections follow from it, or to mend them.

use crate::connect::{Tx, on};
use crate::dossier::{self, Known};
use crate::error::StoreError;
use crate::import::Go;
use crate::keep::{self, Write};
use crate::ledger::{self, Head};
use crate::plain_rows::PlainRow;
use crate::projection::{self, Projection};
use crate::proof::Chain;
use crate::record::Store;
use crate::sizes::Sizes;
use crate::{documents, settle};
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Entry;
use domain::ledger::record::fold;
use domain::ledger::touches::Touched;
use futures_util::StreamExt;
use std::sync::Arc;

/// Entries read and folded together.
const BATCH: i64 = 1_000;
/// Differences named; more are only counted.
pub const DIFFERENCES_MAX: usize = 20;

/// What each entry is about is kept from the first on.
const ALL_SUBJECTS: &str = "update ledger_head set subjects_after = 0 where id = 1";

/// What a comparison of the projections with a rebuild has found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Comparison {
    /// Rows compared.
    pub rows: u64,
    /// How many rows differ.
    pub different: u64,
    /// The first of them, in words.
    pub differences: Vec<String>,
}

impl Store {
    /// Deletes all projections and folds the ledger again, in one transaction. A ledger whose chain
    /// does not hold is not folded: what breaks it is told. Linear in the ledger, constant memory.
    pub async fn rebuild(&self, mut progress: impl FnMut(i64)) -> Result<(), StoreError> {
        let mut tx = self.pools.begin_bulk().await?;
        let head = ledger::take_head(&mut tx).await?;
        for projection in projection::all().rev() {
            projection.clear(&mut tx).await?;
        }
        self.fold_all(&mut tx, head, &mut progress).await?;
        on!(&mut tx, conn => sqlx::query(ALL_SUBJECTS).execute(conn).await.map(drop))?;
        tx.commit().await
    }

    /// Folds the ledger, where its chain holds, into an empty scratch store and compares every row of
    /// every projection.
    pub async fn compare_with_rebuild(
        &self,
        scratch: &Store,
        mut progress: impl FnMut(i64),
    ) -> Result<Comparison, StoreError> {
        let mut theirs = scratch.pools.begin_bulk().await?;
        let mut ours = self.pools.read().await?;
        let head = copy_ledger(&mut ours, &mut theirs).await?;
        scratch.fold_all(&mut theirs, head, &mut progress).await?;
        let mut comparison = Comparison::default();
        for projection in projection::all() {
            compare(projection, &mut ours, &mut theirs, &mut comparison).await?;
        }
        theirs.rollback().await?;
        Ok(comparison)
    }

    async fn fold_all(
        &self,
        tx: &mut Tx,
        head: Head,
        progress: &mut impl FnMut(i64),
    ) -> Result<(), StoreError> {
        let mut documents = Arc::new(Documents::default());
        let mut chain = Chain::whole(tx, BATCH).await?;
        let mut sizes = Sizes::default();
        loop {
            let entries = chain.next(tx, head.seq).await?;
            if entries.is_empty() {
                break;
            }
            for batch in batches(&entries) {
                documents = self.fold_batch(tx, documents, batch).await?;
            }
            sizes.count_anew(tx).await?;
            progress(chain.seq());
        }
        chain.ends(tx, &head).await?;
        settle::settle_noted(tx, &self.settling(&documents), |_| Go::On).await
    }

    async fn fold_batch(
        &self,
        tx: &mut Tx,
        documents: Arc<Documents>,
        entries: &[Entry],
    ) -> Result<Arc<Documents>, StoreError> {
        let Some(first) = entries.first() else {
            return Ok(documents);
        };
        let mut touched = Touched::default();
        for entry in entries {
            touched.corrected.extend(entry.corrects);
            touched.add_fact(&entry.fact, entry.effective_at);
        }
        // What a decision says was found is not looked for again.
        touched.decided.clear();
        let known = Known {
            documents,
            holds: None,
            // What was recorded is not looked at again.
            doubts_seq: 0,
        };
        let mut dossier = dossier::load(tx, known, self.zone.clone(), touched).await?;
        for entry in entries {
            fold(&mut dossier, entry);
            documents::put(tx, &dossier, entry).await?;
        }
        let write = Write {
            first: first.seq,
            recorded_at: first.recorded_at,
        };
        keep::changes(tx, &dossier, write).await?;
        for entry in entries {
            if let Some(told) = &entry.consequences {
                keep::put_told_late(tx, entry.seq, &told.verdicts.told).await?;
                keep::put_doubts(tx, entry.seq, &told.doubts).await?;
            }
        }
        settle::note(tx, &dossier).await?;
        Ok(Arc::clone(&dossier.documents))
    }
}

/// Entries that were recorded in one moment are folded together; what looks at what was kept
/// before it, by itself.
fn batches(entries: &[Entry]) -> impl Iterator<Item = &[Entry]> {
    let alone = |entry: &Entry| entry.corrects.is_some() || entry.fact.looks_back();
    entries.chunk_by(move |one, next| {
        one.recorded_at == next.recorded_at && !alone(one) && !alone(next)
    })
}

/// Copies the ledger, proven as it is read, and tells the head of the copy.
async fn copy_ledger(from: &mut Tx, to: &mut Tx) -> Result<Head, StoreError> {
    let end = ledger::read_head(from).await?;
    let mut head = ledger::take_head(to).await?;
    let mut chain = Chain::whole(from, BATCH).await?;
    loop {
        let entries = chain.next(from, end.seq).await?;
        if entries.is_empty() {
            chain.ends(from, &end).await?;
            return Ok(head);
        }
        head = ledger::append(to, head, &entries).await?;
    }
}

async fn compare(
    projection: &Projection,
    ours: &mut Tx,
    theirs: &mut Tx,
    comparison: &mut Comparison,
) -> Result<(), StoreError> {
    let (mut ours, mut theirs) = (projection.rows(ours), projection.rows(theirs));
    loop {
        let kept = ours.next().await.transpose()?;
        let folded = theirs.next().await.transpose()?;
        if kept.is_none() && folded.is_none() {
            return Ok(());
        }
        comparison.rows += 1;
        if kept != folded {
            comparison.different += 1;
            if comparison.differences.len() < DIFFERENCES_MAX {
                let show = |row: Option<PlainRow>| {
                    row.map_or_else(|| "no row".to_owned(), |row| projection.show(&row))
                };
                let (name, kept, folded) = (projection.name, show(kept), show(folded));
                comparison
                    .differences
                    .push(format!("{name}: kept {kept}; folded {folded}"));
            }
        }
    }
}
