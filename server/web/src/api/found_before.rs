//! What was found for the moment of a past decision before an entry, as programs get it.

use super::changed::VerdictInShortBody;
use domain::ledger::consequences::{FoundBefore, FoundPart, Reconsidered};
use serde::Serialize;
use utoipa::ToSchema;

/// What was found before an entry, where entries before it had changed that already.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FoundBeforeBody {
    /// What was found for that moment; none where nothing could be said.
    found: Option<VerdictInShortBody>,
    /// Why nothing could be said.
    no_answer: Option<String>,
    /// What of it this entry changed, where the verdict in few words stayed: as in `others`.
    changed: Vec<&'static str>,
}

impl From<&FoundBefore> for FoundBeforeBody {
    fn from(before: &FoundBefore) -> Self {
        let (found, no_answer) = either(&before.found);
        let changed = before.changed.iter().copied();
        Self {
            found,
            no_answer,
            changed: changed.map(FoundPart::name).collect(),
        }
    }
}

/// A verdict, or why nothing can be said.
pub(super) fn either(found: &Reconsidered) -> (Option<VerdictInShortBody>, Option<String>) {
    match found {
        Reconsidered::Found(verdict) => (Some(verdict.into()), None),
        Reconsidered::NoAnswer(why) => (None, Some(why.clone())),
    }
}
