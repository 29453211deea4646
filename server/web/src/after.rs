//! Where a page of a list begins whose entries lie by time, the last first.

use crate::address;
use crate::as_at::AsAtQuery;
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

    /// The address of the page that begins after an entry, and speaks of the same times.
    pub(crate) fn address(path: &str, (at, id): (Instant, Seq), times: &AsAtQuery) -> String {
        let (after, id) = (at.to_string(), id.0.to_string());
        let fields = [
            ("after", after.as_str()),
            ("id", id.as_str()),
            ("at", times.at.as_str()),
            ("known", times.known.as_str()),
        ];
        address::with_query(path, fields)
    }
}
