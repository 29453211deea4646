//! Where there is no register: whoever only asks makes none by a slip, and is told in a sentence.

use crate::connect::{Pools, Tx};
use crate::error::StoreError;

/// What to do where there is no register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum IfAbsent {
    /// Begin one.
    Make,
    /// Make nothing and say so.
    Refuse,
}

/// PostgreSQL's code for a database that is not there.
const POSTGRES_UNKNOWN: &str = "3D000";
const SQLITE_HAS_SCHEMA: &str =
    "select count(*) from sqlite_master where type = 'table' and name = 'schema_migration'";
const POSTGRES_HAS_SCHEMA: &str = "select count(to_regclass('schema_migration'))";

/// That there is no register at an address.
pub(crate) fn not_there(address: &str, what: &'static str) -> StoreError {
    let address = without_password(address);
    StoreError::NotThere { address, what }
}

/// An address without names, passwords and settings.
fn without_password(address: &str) -> String {
    let bare = address.split('?').next().unwrap_or_default();
    match (bare.split_once("://"), bare.rsplit_once('@')) {
        (Some((kind, _)), Some((_, place))) => format!("{kind}://{place}"),
        _ => bare.to_owned(),
    }
}

/// Why a database could not be opened.
pub(crate) fn told(address: &str, why: sqlx::Error) -> StoreError {
    match &why {
        sqlx::Error::Database(refused) if refused.code().as_deref() == Some(POSTGRES_UNKNOWN) => {
            not_there(address, "the server has no database of that name")
        }
        _ => StoreError::Unreachable {
            address: without_password(address),
            why,
        },
    }
}

/// Whether anybody ever began a register here.
pub(crate) async fn has_register(pools: &Pools) -> Result<bool, StoreError> {
    let mut tx = pools.read().await?;
    let found: i64 = match &mut tx {
        Tx::Sqlite(tx) => {
            let asked = sqlx::query_scalar(SQLITE_HAS_SCHEMA);
            asked.fetch_one(&mut **tx).await?
        }
        Tx::Postgres(tx) => {
            let asked = sqlx::query_scalar(POSTGRES_HAS_SCHEMA);
            asked.fetch_one(&mut **tx).await?
        }
    };
    tx.rollback().await?;
    Ok(found != 0)
}
