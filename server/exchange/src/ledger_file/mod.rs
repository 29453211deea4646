//! The ledger, or a stretch of it, as a file whose completeness can be proven without the
//! register: one JSON object a line, first a head that says what follows, then each entry with
//! its hash. Whoever has noted the last hash elsewhere knows that nothing was changed, left out
//! or put in.

use domain::identity::PersonName;
use domain::ledger::chain::{GENESIS, Hash, Letters, link, noted, shown};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::time::Instant;
use serde::{Deserialize, Serialize};
use std::io::{self, BufRead, Read, Write};
use uuid::Uuid;

/// What the first line calls such a file.
const WHAT: &str = "brake register ledger";
/// The format's number. In 1 no entry tells what it changed beyond what it says, though a program on
/// its way to 2 may have written that under 1, too. A reader proves every format up to its own, since the
/// hashes are over what the lines hold, and refuses a newer one.
const FORMAT: u32 = 2;
/// The longest line, in bytes: far above the longest entry.
const LINE_BYTES_MAX: u64 = 16 * 1024 * 1024;

/// The first line: what follows, and on what it rests.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    what: String,
    format: u32,
    /// The number of the first entry.
    pub first: i64,
    /// The number of the last entry; one less than the first where there is none.
    pub last: i64,
    /// How many entries follow.
    pub count: i64,
    /// The hash before the first entry, in hexadecimal digits.
    pub hash_before: String,
    /// The hash of the last entry.
    pub last_hash: String,
    /// The number of the last entry that the register had then.
    pub register_last: i64,
    /// The hash of that entry.
    pub register_hash: String,
}

/// An entry with its number's place in the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    /// The number of an entry; 0 before the first.
    pub number: i64,
    /// Its hash.
    pub hash: Hash,
}

impl Head {
    /// The head of a file with the entries after one link up to another, out of a register that
    /// ends with a third.
    pub fn new(before: Link, last: Link, register: Link) -> Self {
        Self {
            what: WHAT.to_owned(),
            format: FORMAT,
            first: before.number + 1,
            last: last.number,
            count: last.number - before.number,
            hash_before: shown(&before.hash),
            last_hash: shown(&last.hash),
            register_last: register.number,
            register_hash: shown(&register.hash),
        }
    }
}

/// An entry as a line.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    number: i64,
    command: Uuid,
    recorded_at: Instant,
    effective_at: Instant,
    actor: PersonName,
    reason: String,
    corrects: Option<i64>,
    kind: String,
    /// The fact as JSON text, to the letter: the hash is over these letters.
    body: String,
    /// What it changed beyond that as JSON text, to the letter, where that is kept. Since format 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    consequences: Option<String>,
    hash: String,
}

/// Writes the first line.
pub fn write_head(out: &mut impl Write, head: &Head) -> io::Result<()> {
    write_line(out, head)
}

/// Writes an entry that is kept in these letters.
pub fn write_entry(
    out: &mut impl Write,
    entry: &Entry,
    (letters, hash): (Letters<'_>, &Hash),
) -> io::Result<()> {
    let line = Line {
        number: entry.seq.0,
        command: entry.command,
        recorded_at: entry.recorded_at,
        effective_at: entry.effective_at,
        actor: entry.actor.clone(),
        reason: entry.reason.clone(),
        corrects: entry.corrects.map(|seq| seq.0),
        kind: entry.fact.kind().name().to_owned(),
        body: letters.fact.to_owned(),
        consequences: letters.consequences.map(str::to_owned),
        hash: shown(hash),
    };
    write_line(out, &line)
}

fn write_line(out: &mut impl Write, line: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *out, line)?;
    out.write_all(b"\n")
}

/// Why a file proves nothing.
#[derive(Debug, thiserror::Error)]
pub enum Unproven {
    /// It is no such file.
    #[error("its first line does not say that it is an exported ledger of a format up to {FORMAT}")]
    NotALedger,
    /// It was written by a later program.
    #[error(
        "it is of format {0}, and this program proves formats up to {FORMAT}: use the program that wrote it, or a later one"
    )]
    Newer(u32),
    /// An entry is bad.
    #[error("{entry} is damaged: {what}")]
    Damaged {
        /// The first bad entry.
        entry: Seq,
        /// What is wrong with it.
        what: String,
    },
    /// Entries are left out.
    #[error("{entry} is missing: {found} is in its place")]
    Missing {
        /// The first that is not there.
        entry: Seq,
        /// What stands there.
        found: Seq,
    },
    /// It goes on after what its head says.
    #[error("{entry} was added: by the first line the last is {stated}")]
    Long {
        /// The first that should not be there.
        entry: Seq,
        /// What the head says.
        stated: Seq,
    },
    /// It goes on after what its head says, with what is no entry.
    #[error("after {0}, the last by its first line, comes a line that is no entry")]
    Trailing(Seq),
    /// Its head cannot be true of what follows.
    #[error("its first line is wrong: {0}")]
    Head(String),
    /// It ends before what its head says.
    #[error("it ends after {last} and should end after {stated}")]
    Short {
        /// The last entry that is there.
        last: Seq,
        /// What the head says.
        stated: Seq,
    },
    /// It cannot be read.
    #[error("it cannot be read: {0}")]
    Io(#[from] io::Error),
}

/// Proves a file from its first entry to its last, or names the first bad one. Linear in the
/// file, memory of one line.
pub fn verify(file: impl BufRead, mut progress: impl FnMut(i64)) -> Result<Head, Unproven> {
    let mut lines = Lines { file };
    let head = lines.next()?.and_then(Result::ok);
    let head = head_of(&head.ok_or(Unproven::NotALedger)?)?;
    let begins = head.first.checked_sub(1).ok_or(Unproven::NotALedger)?;
    let before = noted(&head.hash_before).ok_or(Unproven::NotALedger)?;
    if begins == 0 && before != GENESIS {
        return Err(damaged(1, "the hash before the first entry is not nought"));
    }
    let mut at = Link {
        number: begins,
        hash: before,
    };
    while let Some(line) = lines.next()? {
        if head.last <= at.number {
            return Err(beyond(at.number, head.last, line.ok()));
        }
        let line = line.map_err(|what| damaged(at.number.saturating_add(1), what))?;
        at = next(at, &line)?;
        progress(at.number);
    }
    if at.number < head.last || at.number - begins < head.count {
        return Err(Unproven::Short {
            last: Seq(at.number),
            stated: Seq(head.last),
        });
    }
    if at.number - begins != head.count {
        return Err(damaged(
            at.number,
            "the first line says that there are fewer",
        ));
    }
    if shown(&at.hash) != head.last_hash {
        return Err(damaged(at.number, "the first line says another last hash"));
    }
    register_of(&head)?;
    Ok(head)
}

/// What is said of a line after the last entry that the head names.
fn beyond(number: i64, stated: i64, line: Option<String>) -> Unproven {
    let entry = line.and_then(|line| serde_json::from_str::<Line>(&line).ok());
    match entry {
        Some(_) => Unproven::Long {
            entry: Seq(number.saturating_add(1)),
            stated: Seq(stated),
        },
        None => Unproven::Trailing(Seq(stated)),
    }
}

/// Checks that the register ended no earlier than the file, and alike where both end with one entry.
/// What it says of a later one the file cannot prove.
fn register_of(head: &Head) -> Result<(), Unproven> {
    let (file, register) = (Seq(head.last), Seq(head.register_last));
    if head.register_last < head.last {
        let what = format!("the register ended with {register} by it, and here is {file}");
        return Err(Unproven::Head(what));
    }
    if head.register_last == head.last && head.register_hash != head.last_hash {
        let what = format!("it tells two hashes of {file}");
        return Err(Unproven::Head(what));
    }
    Ok(())
}

/// The first line. Of a newer format no more is read than its number.
fn head_of(text: &str) -> Result<Head, Unproven> {
    #[derive(Deserialize)]
    struct Named {
        what: String,
        format: u32,
    }
    let named: Named = serde_json::from_str(text).map_err(|_| Unproven::NotALedger)?;
    if named.what != WHAT || named.format == 0 {
        return Err(Unproven::NotALedger);
    }
    if FORMAT < named.format {
        return Err(Unproven::Newer(named.format));
    }
    serde_json::from_str(text).map_err(|_| Unproven::NotALedger)
}

fn damaged(number: i64, what: impl Into<String>) -> Unproven {
    Unproven::Damaged {
        entry: Seq(number),
        what: what.into(),
    }
}

/// The link that a line makes after another.
fn next(before: Link, text: &str) -> Result<Link, Unproven> {
    let number = before.number.saturating_add(1);
    let unread = |why: serde_json::Error| damaged(number, format!("it cannot be read: {why}"));
    let line: Line = serde_json::from_str(text).map_err(unread)?;
    if number < line.number {
        let (entry, found) = (Seq(number), Seq(line.number));
        return Err(Unproven::Missing { entry, found });
    }
    if line.number != number {
        let what = format!("the entry in its place has number {}", line.number);
        return Err(damaged(number, what));
    }
    let fact: Fact = serde_json::from_str(&line.body).map_err(unread)?;
    let told = line.consequences.as_deref();
    let consequences = told.map(serde_json::from_str).transpose();
    if fact.kind().name() != line.kind {
        return Err(damaged(number, format!("it is filed as {}", line.kind)));
    }
    let entry = Entry {
        seq: Seq(number),
        command: line.command,
        recorded_at: line.recorded_at,
        effective_at: line.effective_at,
        actor: line.actor,
        reason: line.reason,
        corrects: line.corrects.map(Seq),
        fact,
        consequences: consequences.map_err(unread)?,
    };
    let letters = Letters {
        fact: &line.body,
        consequences: told,
    };
    let hash = link(&before.hash, &entry, letters);
    if shown(&hash) != line.hash {
        let what = "its hash does not follow from its contents and the hash before it";
        return Err(damaged(number, what));
    }
    Ok(Link { number, hash })
}

/// Lines of bounded length.
struct Lines<R> {
    file: R,
}

impl<R: BufRead> Lines<R> {
    /// The next line, or why it holds no text.
    fn next(&mut self) -> io::Result<Option<Result<String, &'static str>>> {
        let mut bytes = Vec::new();
        let read = Read::take(&mut self.file, LINE_BYTES_MAX).read_until(b'\n', &mut bytes)?;
        Ok((read != 0).then(|| text_of(bytes)))
    }
}

fn text_of(bytes: Vec<u8>) -> Result<String, &'static str> {
    if bytes.last() == Some(&b'\n') {
        String::from_utf8(bytes).map_err(|_| "its line is no text in UTF-8")
    } else if u64::try_from(bytes.len()).is_ok_and(|bytes| bytes < LINE_BYTES_MAX) {
        Err("the file ends within its line")
    } else {
        Err("its line is longer than that of any entry")
    }
}

#[cfg(test)]
mod tests;
