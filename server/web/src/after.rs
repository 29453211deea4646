//! Where a page of a list begins whose entries lie by time, the last first.

use crate::address;
use crate::failure::Failure;
use domain::ledger::entry::Seq;
use domain::time::Instant;
use serde::Deserialize;

/// `?at=…&id=…`: after an entry of that time. Without it, at the beginning.
#[derive(Debug, Deserialize)]
pub(crate) struct After {
    #[serde(default)]
    at: String,
    #[serde(default)]
    id: Option<i64>,
}

impl After {
    /// Reads the place; none at the beginning.
    pub(crate) fn read(&self) -> Result<Option<(Instant, Seq)>, Failure> {
        match self.id {
            None => Ok(None),
            Some(id) => Ok(Some((self.at.parse()?, Seq(id)))),
        }
    }

    /// The address of the page that begins after an entry.
    pub(crate) fn address(path: &str, (at, id): (Instant, Seq)) -> String {
        let (at, id) = (at.to_string(), id.0.to_string());
        address::with_query(path, [("at", at.as_str()), ("id", id.as_str())])
    }
}
