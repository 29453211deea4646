//! Proves the chain of the ledger from one entry to another.

use crate::connect::Tx;
use crate::error::StoreError;
use crate::ledger::{read_head, rows_after};
use domain::ledger::chain::{GENESIS, Hash, link};
use domain::ledger::entry::Seq;

/// What the chain proves up to an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proven {
    /// How many entries there are.
    pub entries: i64,
    /// The last hash, to be noted elsewhere.
    pub hash: Hash,
}

/// How many entries are proven between two reports of progress.
const VERIFY_ROWS: i64 = 2_000;

/// Recomputes every hash in order and reports how far it has come. Stops at the first bad entry
/// and names it. Linear in the ledger, constant memory.
pub(crate) async fn verify(tx: &mut Tx, progress: impl FnMut(i64)) -> Result<Proven, StoreError> {
    let (entries, hash) = prove(tx, (0, GENESIS), i64::MAX, progress).await?;
    is_head(tx, (entries, hash)).await?;
    Ok(Proven { entries, hash })
}

/// Checks that the head names an entry and its hash.
pub(crate) async fn is_head(tx: &mut Tx, (seq, hash): (i64, Hash)) -> Result<(), StoreError> {
    let head = read_head(tx).await?;
    if head.seq == seq && head.hash == hash {
        return Ok(());
    }
    let what = format!("the head says that the last entry is {}", head.seq);
    let seq = Seq(seq);
    Err(StoreError::Damaged { seq, what })
}

/// Recomputes the hashes after an entry with its hash, up to another; tells the last it came to.
pub(crate) async fn prove(
    tx: &mut Tx,
    (mut seq, mut hash): (i64, Hash),
    until: i64,
    mut progress: impl FnMut(i64),
) -> Result<(i64, Hash), StoreError> {
    use sqlx::Error::{ColumnDecode, Decode};
    let mut at_once = VERIFY_ROWS;
    while seq < until {
        let rows = match rows_after(tx, seq, at_once.min(until - seq)).await {
            // Among many rows it cannot be told which one cannot be read.
            Err(StoreError::Database(ColumnDecode { .. } | Decode(_))) if at_once != 1 => {
                at_once = 1;
                continue;
            }
            Err(StoreError::Database(why @ (ColumnDecode { .. } | Decode(_)))) => {
                let (seq, what) = (Seq(seq + 1), format!("it cannot be read: {why}"));
                return Err(StoreError::Damaged { seq, what });
            }
            rows => rows?,
        };
        if rows.is_empty() {
            break;
        }
        for row in rows {
            let damaged = |what: String| StoreError::Damaged {
                seq: Seq(row.seq),
                what,
            };
            if row.seq != seq + 1 {
                return Err(damaged(format!("the entry before it has number {seq}")));
            }
            let entry = row.undamaged()?;
            if entry.fact.kind().name() != row.kind {
                return Err(damaged(format!("it is filed as {}", row.kind)));
            }
            hash = link(&hash, &entry, row.letters());
            if row.hash != hash {
                return Err(damaged(
                    "its hash does not follow from its contents and the hash before it".into(),
                ));
            }
            seq = row.seq;
        }
        progress(seq);
    }
    Ok((seq, hash))
}
