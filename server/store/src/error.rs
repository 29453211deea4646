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
    #[error("{seq} is damaged: {what}")]
    Damaged {
        /// The first bad entry.
        seq: Seq,
        /// What is wrong with it.
        what: String,
    },
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

impl From<sqlx::Error> for StoreError {
    fn from(why: sqlx::Error) -> Self {
        Self::Database(why)
    }
}
