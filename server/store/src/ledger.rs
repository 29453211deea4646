//! The ledger as kept: its head, appending to it, and reading it.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::{Break, StoreError};
use crate::row::{from_json, parsed, row, to_json};
use domain::ledger::bearing::Bearing;
use domain::ledger::chain::{GENESIS, Hash, Letters, link};
use domain::ledger::consequences::Doubt;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::time::Instant;
use sqlx::QueryBuilder;
use uuid::Uuid;

/// The end of the chain.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Head {
    /// The last entry; 0 before the first.
    pub(crate) seq: i64,
    /// Its hash.
    pub(crate) hash: Hash,
    /// When it was recorded; none before the first.
    pub(crate) recorded_at: Option<Instant>,
    /// The last entry that changed design data.
    pub(crate) design_seq: i64,
    /// The last entry that can change what is said about trains.
    pub(crate) changed_seq: i64,
    /// When that was recorded; unknown before the first.
    pub(crate) changed_at: Option<Instant>,
    /// The last entry that set or lifted an evidence hold.
    pub(crate) holds_seq: i64,
    /// The last entry that raised a doubt about a component; 0 where none ever did.
    pub(crate) doubts_seq: i64,
}

impl Head {
    /// Before the first entry.
    const BEFORE_ALL: Self = Self {
        seq: 0,
        hash: GENESIS,
        recorded_at: None,
        design_seq: 0,
        changed_seq: 0,
        changed_at: None,
        holds_seq: 0,
        doubts_seq: 0,
    };

    /// When the next entry is recorded: now, or where the clock has run backwards, at the moment
    /// of the last entry, so that what was known at a time is always a beginning of the ledger.
    pub(crate) fn not_before(&self, now: Instant) -> Instant {
        self.recorded_at.map_or(now, |last| last.max(now))
    }

    /// Notes which of the entries to be appended can change what is said about trains, and which
    /// set or lift evidence holds.
    pub(crate) fn note_changes(&mut self, entries: &[Entry]) {
        let last = |notes: fn(&Fact) -> bool| entries.iter().rfind(|entry| notes(&entry.fact));
        if let Some(last) = last(|fact| fact.bearing() != Bearing::Nothing) {
            self.changed_seq = last.seq.0;
            self.changed_at = Some(last.recorded_at);
        }
        if let Some(last) = last(Fact::is_of_holds) {
            self.holds_seq = last.seq.0;
        }
    }
}

row!(HeadRow {
    seq: i64,
    hash: Vec<u8>,
    recorded_at: Option<At>,
    design_seq: i64,
    changed_seq: i64,
    changed_at: Option<At>,
    holds_seq: i64,
    doubts_seq: i64
});

const TAKE_HEAD: &str = "insert into ledger_head (id, seq, hash, design_seq) values (1, 0, $1, 0)
    on conflict (id) do update set seq = ledger_head.seq
    returning seq, hash, recorded_at, design_seq, changed_seq, changed_at, holds_seq, doubts_seq";

const READ_HEAD: &str =
    "select seq, hash, recorded_at, design_seq, changed_seq, changed_at, holds_seq, doubts_seq
    from ledger_head where id = 1";

const MOVE_HEAD: &str = "update ledger_head set seq = $1, hash = $2, recorded_at = $3,
    design_seq = $4, changed_seq = $5, changed_at = $6, holds_seq = $7, doubts_seq = $8 where id = 1";

/// The first statement of every write: takes the head and with it the lock, so that entries
/// have one order. The second writer waits here.
pub(crate) async fn take_head(tx: &mut Tx) -> Result<Head, StoreError> {
    let row: HeadRow =
        on!(tx, conn => sqlx::query_as(TAKE_HEAD).bind(&GENESIS[..]).fetch_one(conn).await)?;
    head(&row)
}

/// The head as a reader sees it.
pub(crate) async fn read_head(tx: &mut Tx) -> Result<Head, StoreError> {
    let row = on!(tx, conn => sqlx::query_as(READ_HEAD).fetch_optional(conn).await)?;
    row.map_or(Ok(Head::BEFORE_ALL), |row| head(&row))
}

fn head(row: &HeadRow) -> Result<Head, StoreError> {
    Ok(Head {
        seq: row.seq,
        hash: whole_hash(Seq(row.seq), &row.hash)?,
        recorded_at: row.recorded_at.map(|at| at.0),
        design_seq: row.design_seq,
        changed_seq: row.changed_seq,
        changed_at: row.changed_at.map(|at| at.0),
        holds_seq: row.holds_seq,
        doubts_seq: row.doubts_seq,
    })
}

pub(crate) fn whole_hash(seq: Seq, bytes: &[u8]) -> Result<Hash, StoreError> {
    Hash::try_from(bytes).map_err(|_| {
        let what = "its hash has a wrong length".into();
        Break::Damaged { seq, what }.into()
    })
}

/// Rows of a multi-row statement: far below the bind limits of both databases.
const ROWS: usize = 1_000;

/// Appends entries in order and moves the head. One statement a thousand entries and one more.
pub(crate) async fn append(
    tx: &mut Tx,
    mut head: Head,
    entries: &[Entry],
) -> Result<Head, StoreError> {
    if let Some(last) = entries.iter().rfind(|entry| raises_a_doubt(entry)) {
        head.doubts_seq = last.seq.0;
    }
    for chunk in entries.chunks(ROWS) {
        let mut kept = Vec::with_capacity(chunk.len());
        for entry in chunk {
            let body = to_json(&entry.fact)?;
            let told = entry.consequences.as_ref();
            let told = told.map(to_json).transpose()?;
            let letters = Letters {
                fact: &body,
                consequences: told.as_deref(),
            };
            head.hash = link(&head.hash, entry, letters);
            head.seq = entry.seq.0;
            head.recorded_at = Some(entry.recorded_at);
            kept.push((entry, (body, told), head.hash));
        }
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into ledger (seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash) ");
            query.push_values(&kept, |mut row, (entry, (body, told), hash)| {
                row.push_bind(entry.seq.0)
                    .push_bind(entry.command)
                    .push_bind(At(entry.recorded_at))
                    .push_bind(At(entry.effective_at))
                    .push_bind(entry.actor.as_str())
                    .push_bind(entry.reason.as_str())
                    .push_bind(entry.corrects.map(|seq| seq.0))
                    .push_bind(entry.fact.kind().name())
                    .push_bind(body.as_str())
                    .push_bind(told.as_deref())
                    .push_bind(&hash[..]);
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    on!(tx, conn => sqlx::query(MOVE_HEAD)
        .bind(head.seq)
        .bind(&head.hash[..])
        .bind(head.recorded_at.map(At))
        .bind(head.design_seq)
        .bind(head.changed_seq)
        .bind(head.changed_at.map(At))
        .bind(head.holds_seq)
        .bind(head.doubts_seq)
        .execute(conn).await.map(drop))?;
    Ok(head)
}

fn raises_a_doubt(entry: &Entry) -> bool {
    let told = entry.consequences.iter();
    told.flat_map(|told| &told.doubts).any(Doubt::is_raised)
}

row!(EntryRow {
    seq: i64,
    command: Uuid,
    recorded_at: At,
    effective_at: At,
    actor: String,
    reason: String,
    corrects: Option<i64>,
    kind: String,
    body: String,
    consequences: Option<String>,
    hash: Vec<u8>,
});

impl EntryRow {
    pub(crate) fn entry(&self) -> Result<Entry, sqlx::Error> {
        Ok(Entry {
            seq: Seq(self.seq),
            command: self.command,
            recorded_at: self.recorded_at.0,
            effective_at: self.effective_at.0,
            actor: parsed(&self.actor)?,
            reason: self.reason.clone(),
            corrects: self.corrects.map(Seq),
            fact: from_json(&self.body)?,
            consequences: self.consequences.as_deref().map(from_json).transpose()?,
        })
    }

    /// What its hash is over beside its numbers and names.
    pub(crate) fn letters(&self) -> Letters<'_> {
        Letters {
            fact: &self.body,
            consequences: self.consequences.as_deref(),
        }
    }

    /// The entry, or that it is damaged.
    pub(crate) fn undamaged(&self) -> Result<Entry, StoreError> {
        self.entry().map_err(|why| {
            let (seq, what) = (Seq(self.seq), format!("it cannot be read: {why}"));
            Break::Damaged { seq, what }.into()
        })
    }
}

const READ: &str =
    "select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash
    from ledger where $1 < seq order by seq limit $2";

const READ_ONE: &str =
    "select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash
    from ledger where seq = $1";

const CORRECTED_BY: &str = "select seq from ledger where corrects = $1";

/// The rows of the entries after one, at most `limit` of them, in order.
pub(crate) async fn rows_after(
    tx: &mut Tx,
    after: i64,
    limit: i64,
) -> Result<Vec<EntryRow>, StoreError> {
    Ok(on!(tx, conn => sqlx::query_as(READ).bind(after).bind(limit).fetch_all(conn).await)?)
}

/// An entry as it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptEntry {
    /// The entry.
    pub entry: Entry,
    /// Its fact as JSON text, to the letter: the hash is over these letters.
    pub body: String,
    /// What it changed beyond that as JSON text, to the letter, where that is kept.
    pub consequences: Option<String>,
    /// Its hash.
    pub hash: Hash,
    /// The entry that corrects it.
    pub corrected_by: Option<Seq>,
}

impl KeptEntry {
    /// What its hash is over beside its numbers and names.
    pub fn letters(&self) -> Letters<'_> {
        Letters {
            fact: &self.body,
            consequences: self.consequences.as_deref(),
        }
    }
}

/// The entries after one as they are kept, at most `limit` of them, in order; which of them are
/// corrected is not asked.
pub(crate) async fn kept_after(
    tx: &mut Tx,
    after: i64,
    limit: i64,
) -> Result<Vec<KeptEntry>, StoreError> {
    let rows = rows_after(tx, after, limit).await?;
    let kept = rows.into_iter().map(|row| {
        Ok(KeptEntry {
            hash: whole_hash(Seq(row.seq), &row.hash)?,
            entry: row.entry()?,
            body: row.body,
            consequences: row.consequences,
            corrected_by: None,
        })
    });
    kept.collect()
}

/// One entry as it is kept, with the entry that corrects it.
pub(crate) async fn read_kept(tx: &mut Tx, seq: Seq) -> Result<Option<KeptEntry>, StoreError> {
    let row: Option<EntryRow> =
        on!(tx, conn => sqlx::query_as(READ_ONE).bind(seq.0).fetch_optional(conn).await)?;
    let Some(row) = row else { return Ok(None) };
    let by: Option<i64> =
        on!(tx, conn => sqlx::query_scalar(CORRECTED_BY).bind(seq.0).fetch_optional(conn).await)?;
    let entry = row.entry()?;
    Ok(Some(KeptEntry {
        hash: whole_hash(seq, &row.hash)?,
        body: row.body,
        consequences: row.consequences,
        corrected_by: by.map(Seq),
        entry,
    }))
}

const READ_HASH: &str = "select hash from ledger where seq = $1";

/// The hash of an entry.
pub(crate) async fn read_hash(tx: &mut Tx, seq: Seq) -> Result<Option<Hash>, StoreError> {
    let bytes: Option<Vec<u8>> =
        on!(tx, conn => sqlx::query_scalar(READ_HASH).bind(seq.0).fetch_optional(conn).await)?;
    bytes.map(|bytes| whole_hash(seq, &bytes)).transpose()
}

/// One entry and the entry that corrects it.
pub(crate) async fn read_one(
    tx: &mut Tx,
    seq: Seq,
) -> Result<Option<(Entry, Option<Seq>)>, StoreError> {
    let kept = read_kept(tx, seq).await?;
    Ok(kept.map(|kept| (kept.entry, kept.corrected_by)))
}

/// The commands among these that are recorded already, with their entries.
pub(crate) async fn known_commands(
    tx: &mut Tx,
    commands: &[Uuid],
) -> Result<Vec<(Uuid, i64)>, StoreError> {
    let mut known = Vec::new();
    for chunk in commands.chunks(ROWS) {
        let rows: Vec<(Uuid, i64)> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (command) as (");
            query.push_values(chunk, |mut row, command| {
                row.push_bind(*command);
            });
            query.push(") select ledger.command, ledger.seq from wanted cross join ledger where ledger.command = wanted.command");
            query.build_query_as().fetch_all(conn).await
        })?;
        known.extend(rows);
    }
    Ok(known)
}
