//! What can go wrong in the store.

use domain::ledger::entry::Seq;
use domain::refusal::Refusal;
use domain::time::Zone;

/// Why the store did not do what it was asked to. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The register refuses it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// The address names no database that is known here.
    #[error("“{0}” is no database address; expected sqlite://FILE or postgres://HOST/NAME")]
    Address(String),
    /// Text would sort differently from one database to the other.
    #[error(
        "the database's collation is “{0}”; create it with collation C, so that lists sort alike everywhere"
    )]
    Collation(String),
    /// The schema was made by a newer release.
    #[error(
        "the database has schema {found}, this release knows up to {known}; use the newer release"
    )]
    NewerSchema {
        /// The schema found.
        found: i64,
        /// The newest schema known here.
        known: i64,
    },
    /// What is kept is not what was recorded.
    #[error(transparent)]
    Broken(#[from] Break),
    /// There is no register at the address.
    #[error(
        "there is no register at {address}: {what}; look at the address for a slip. `register import` or `register serve` begin a register"
    )]
    NotThere {
        /// The address, without what else it holds.
        address: String,
        /// What is not there.
        what: &'static str,
    },
    /// The days of the register are told in another time zone.
    #[error(
        "the days of this register begin and end in {kept}, not in {asked}, since it was begun; leave the time zone out"
    )]
    OtherZone {
        /// The zone that is kept.
        kept: Zone,
        /// The zone that was asked for.
        asked: Zone,
    },
    /// What was known is asked for, of a time before anything was.
    #[error("the register began on {0}; nothing was known then")]
    NotBegun(String),
    /// The database cannot be opened.
    #[error("the database {address} cannot be opened: {why}")]
    Unreachable {
        /// The address, without what else it holds.
        address: String,
        /// Why.
        why: sqlx::Error,
    },
    /// The database does not answer or refuses a statement.
    #[error("the database failed: {0}")]
    Database(sqlx::Error),
}

/// Where the chain of the ledger breaks first, and how.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Break {
    /// An entry is there and is not what was recorded.
    #[error("{seq} is damaged: {what}")]
    Damaged {
        /// Which.
        seq: Seq,
        /// What is wrong with it.
        what: String,
    },
    /// Entries are not there though later ones, or the head of the ledger, say that they were.
    #[error("{} missing: {why}", several((*.first, *.last), ["is", "are"]))]
    Missing {
        /// The first of them.
        first: Seq,
        /// The last of them.
        last: Seq,
        /// What says so.
        why: String,
    },
    /// Entries stand after the last that the head of the ledger knows.
    #[error("{} added past the program: the head of the ledger says that {}", several((*.first, *.last), ["was", "were"]), last_known(*.first))]
    Appended {
        /// The first of them.
        first: Seq,
        /// The last of them.
        last: Seq,
    },
    /// A row stands before the first entry.
    #[error("{seq} was added past the program: the first entry is 1")]
    BeforeFirst {
        /// Its number.
        seq: Seq,
    },
}

fn several((first, last): (Seq, Seq), [one, more]: [&str; 2]) -> String {
    if first == last {
        format!("{first} {one}")
    } else {
        format!("entries {} to {} {more}", first.0, last.0)
    }
}

fn last_known(first: Seq) -> String {
    match first.0 - 1 {
        0 => "there is no entry".to_owned(),
        last => format!("the last entry is {last}"),
    }
}

impl From<sqlx::Error> for StoreError {
    fn from(why: sqlx::Error) -> Self {
        Self::Database(why)
    }
}
