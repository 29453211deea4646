//! Facts of an input as commands to the register.

use super::cells::{Cells, Refused, words};
use super::error::{Located, Location};
use super::rows::Dated;
use domain::ledger::command::{Command, REASON_MAX_CHARS};
use domain::ledger::fact::Fact;
use domain::time::Instant;
use uuid::Uuid;

/// The name space of the identities made here.
pub(crate) const NAME_SPACE: Uuid = Uuid::from_u128(0x6f0d_1c83_52be_4b6a_9f4e_3a17_c09d_71e2);

/// Reads the reason that any row may give.
pub(crate) fn reason(cells: &mut Cells<'_>) -> Result<String, Refused> {
    let reason = cells.maybe("reason", words(REASON_MAX_CHARS))?;
    Ok(reason.unwrap_or_default())
}

/// A fact as a command, with the row it comes from.
pub(crate) fn located(location: Location, dated: Dated, reason: String) -> Located<Command> {
    let Dated { fact, at } = dated;
    let value = Command {
        id: identity(&fact, at),
        effective_at: at,
        reason,
        corrects: None,
        fact,
    };
    Located { location, value }
}

/// The identity of a command that records a fact: the same fact from the same time on has the
/// same one, so that an input brought in twice changes nothing (version 5 of RFC 9562, over
/// the kind of fact, the fact as JSON and its time).
fn identity(fact: &Fact, at: Instant) -> Uuid {
    let body = serde_json::to_vec(fact).expect("facts hold only what JSON can say");
    let at = at.microseconds().to_be_bytes();
    let kind = fact.kind().name().as_bytes();
    Uuid::new_v5(&NAME_SPACE, &[kind, b"\n", &body, b"\n", &at].concat())
}
