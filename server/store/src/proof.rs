//! Proves the chain of the ledger from one entry to another.

use crate::connect::{Tx, on};
use crate::error::{Break, StoreError};
use crate::ledger::{EntryRow, Head, read_head, rows_after};
use domain::ledger::chain::{GENESIS, Hash, link};
use domain::ledger::entry::{Entry, Seq};

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
    mut progress: impl FnMut(i64),
) -> Result<Proven, StoreError> {
    let head = read_head(tx).await?;
    let mut chain = Chain::after(tx, from, VERIFY_ROWS).await?;
    let last = until.min(head.seq);
    while !chain.next(tx, last).await?.is_empty() {
        progress(chain.seq);
    }
    if chain.seq < until || chain.seq == head.seq {
        chain.ends(tx, &head).await?;
    }
    Ok(Proven {
        entries: chain.seq,
        hash: chain.hash,
    })
}

const LAST: &str = "select max(seq) from ledger";

const BEFORE_FIRST: &str = "select seq from ledger where seq < 1 order by seq limit 1";

/// The chain as far as it was proven, to be read on from there.
pub(crate) struct Chain {
    seq: i64,
    hash: Hash,
    at_once: i64,
}

impl Chain {
    /// The chain as a whole, of which nothing was proven yet; so many entries are read at once.
    pub(crate) async fn whole(tx: &mut Tx, at_once: i64) -> Result<Self, StoreError> {
        Self::after(tx, (0, GENESIS), at_once).await
    }

    /// After an entry with its hash. Before the first nothing may stand.
    async fn after(
        tx: &mut Tx,
        (seq, hash): (i64, Hash),
        at_once: i64,
    ) -> Result<Self, StoreError> {
        if seq == 0 {
            let before: Option<i64> =
                on!(tx, conn => sqlx::query_scalar(BEFORE_FIRST).fetch_optional(conn).await)?;
            if let Some(seq) = before.map(Seq) {
                return Err(Break::BeforeFirst { seq }.into());
            }
        }
        Ok(Self { seq, hash, at_once })
    }

    /// The last entry that was proven; 0 before the first.
    pub(crate) fn seq(&self) -> i64 {
        self.seq
    }

    /// The next entries, proven, up to one; none after that or where there are no more.
    pub(crate) async fn next(&mut self, tx: &mut Tx, until: i64) -> Result<Vec<Entry>, StoreError> {
        let rows = self.rows(tx, until).await?;
        rows.iter().map(|row| self.follow(row)).collect()
    }

    async fn rows(&mut self, tx: &mut Tx, until: i64) -> Result<Vec<EntryRow>, StoreError> {
        use sqlx::Error::{ColumnDecode, Decode};
        loop {
            let at_most = self.at_once.min(until - self.seq);
            if at_most <= 0 {
                return Ok(Vec::new());
            }
            match rows_after(tx, self.seq, at_most).await {
                // Among many rows it cannot be told which one cannot be read.
                Err(StoreError::Database(ColumnDecode { .. } | Decode(_))) if self.at_once != 1 => {
                    self.at_once = 1;
                }
                Err(StoreError::Database(why @ (ColumnDecode { .. } | Decode(_)))) => {
                    let (seq, what) = (Seq(self.seq + 1), format!("it cannot be read: {why}"));
                    return Err(Break::Damaged { seq, what }.into());
                }
                rows => return rows,
            }
        }
    }

    /// Makes sure that a row is the next entry and follows from the hash before it.
    fn follow(&mut self, row: &EntryRow) -> Result<Entry, StoreError> {
        let damaged = |what: String| {
            let seq = Seq(row.seq);
            StoreError::from(Break::Damaged { seq, what })
        };
        if row.seq != self.seq + 1 {
            let (first, last) = (Seq(self.seq + 1), Seq(row.seq - 1));
            let why = format!("{} is there", Seq(row.seq));
            return Err(Break::Missing { first, last, why }.into());
        }
        let entry = row.undamaged()?;
        if entry.fact.kind().name() != row.kind {
            return Err(damaged(format!("it is filed as {}", row.kind)));
        }
        self.hash = link(&self.hash, &entry, row.letters());
        if row.hash != self.hash {
            return Err(damaged(
                "its hash does not follow from its contents and the hash before it".into(),
            ));
        }
        self.seq = row.seq;
        Ok(entry)
    }

    /// Makes sure that the last entry and its hash are those of the head, with nothing after it.
    pub(crate) async fn ends(&self, tx: &mut Tx, head: &Head) -> Result<(), StoreError> {
        let seq = self.seq;
        if seq < head.seq {
            let (first, last) = (Seq(seq + 1), Seq(head.seq));
            let why = format!(
                "the head of the ledger says that the last entry is {}",
                head.seq
            );
            return Err(Break::Missing { first, last, why }.into());
        }
        if self.hash != head.hash {
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
}
