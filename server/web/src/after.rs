//! Where a page of a list begins whose entries lie by time, the last first.

use crate::address;
use crate::failure::Failure;
use domain::ledger::entry::Seq;
use domain::time::Instant;
use serde::Deserialize;

/// `?after=…&id=…`: after an entry of that time. Without it, at the beginning.
#[derive(Debug, Deserialize)]
pub(crate) struct After {
    #[serde(default)]
    after: String,
    #[serde(default)]
    id: Option<i64>,
}

impl After {
    /// Reads the place; none at the beginning.
    pub(crate) fn read(&self) -> Result<Option<(Instant, Seq)>, Failure> {
        match self.id {
            None => Ok(None),
            Some(id) => Ok(Some((self.after.parse()?, Seq(id)))),
        }
    }

    /// The address of the page that begins after an entry.
    pub(crate) fn address(path: &str, (at, id): (Instant, Seq)) -> String {
        let (after, id) = (at.to_string(), id.0.to_string());
        address::with_query(path, [("after", after.as_str()), ("id", id.as_str())])
    }
}
