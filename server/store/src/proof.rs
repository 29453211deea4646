//! Proves the chain of the ledger from one entry to another.

use crate::connect::{Tx, on};
use crate::error::{Break, StoreError};
use crate::ledger::{Head, read_head, rows_after};
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
    prove(tx, (0, GENESIS), i64::MAX, progress).await
}

/// Recomputes the hashes after an entry with its hash, up to another or to the head of the ledger,
/// which must then be what it comes to, with nothing after it; tells the last it came to.
pub(crate) async fn prove(
    tx: &mut Tx,
    from: (i64, Hash),
    until: i64,
    progress: impl FnMut(i64),
) -> Result<Proven, StoreError> {
    let head = read_head(tx).await?;
    let (entries, hash) = links(tx, from, until.min(head.seq), progress).await?;
    if entries < until || entries == head.seq {
        ends(tx, (entries, hash), &head).await?;
    }
    Ok(Proven { entries, hash })
}

const LAST: &str = "select max(seq) from ledger";

/// Checks that the last entry and its hash are those of the head.
async fn ends(tx: &mut Tx, (seq, hash): (i64, Hash), head: &Head) -> Result<(), StoreError> {
    if seq < head.seq {
        let (first, last) = (Seq(seq + 1), Seq(head.seq));
        let why = format!(
            "the head of the ledger says that the last entry is {}",
            head.seq
        );
        return Err(Break::Missing { first, last, why }.into());
    }
    if hash != head.hash {
        let (seq, what) = (
            Seq(seq),
            "the head of the ledger holds another hash of it".into(),
        );
        return Err(Break::Damaged { seq, what }.into());
    }
    let last: Option<i64> = on!(tx, conn => sqlx::query_scalar(LAST).fetch_one(conn).await)?;
    match last {
        Some(last) if seq < last => {
            let (first, last) = (Seq(seq + 1), Seq(last));
            Err(Break::Appended { first, last }.into())
        }
        _ => Ok(()),
    }
}

/// Recomputes the hashes after an entry with its hash, up to another; tells the last it came to.
async fn links(
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
                return Err(Break::Damaged { seq, what }.into());
            }
            rows => rows?,
        };
        if rows.is_empty() {
            break;
        }
        for row in rows {
            let damaged = |what: String| {
                let seq = Seq(row.seq);
                StoreError::from(Break::Damaged { seq, what })
            };
            if row.seq != seq + 1 {
                let (first, last) = (Seq(seq + 1), Seq(row.seq - 1));
                let why = format!("{} is there", Seq(row.seq));
                return Err(Break::Missing { first, last, why }.into());
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
