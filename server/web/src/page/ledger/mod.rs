//! The ledger: every entry, newest first, and one entry with its fact.

mod chain;
mod entry;
mod withdraw;

pub(crate) use chain::{export, show as show_chain};
pub(crate) use entry::show as show_entry;
pub(crate) use withdraw::withdraw;

use crate::fact;
use crate::form::Fields;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::ledger::chain::Hash;
use domain::ledger::entry::{Entry, Seq};
use domain::time::Zone;
use domain::unreadable::Unreadable;
use std::collections::HashMap;
use store::read::entries::ENTRIES_PAGE;

#[derive(Template)]
#[template(path = "ledger/ledger.html")]
struct LedgerPage {
    frame: Frame,
    entries: Vec<Line>,
    last_entry: i64,
    last_hash: String,
    /// Where the older ones begin.
    older: Option<i64>,
    /// Where the newer ones begin, unless these are the newest.
    newer: Option<i64>,
}

/// An entry in the list.
struct Line {
    seq: i64,
    recorded: String,
    effective: String,
    actor: String,
    what: String,
    reason: String,
    corrects: Option<i64>,
    corrected_by: Option<i64>,
}

/// `GET /ledger`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(fields): Query<Vec<(String, String)>>,
) -> PageResult {
    let fields = Fields(fields.into_iter().collect());
    let before = match fields.text("before") {
        "" => None,
        text => Some(number(text)?),
    };
    let mut view = state.store.view().await?;
    let entries = view.entries_before(before).await?;
    let corrected = match (entries.last(), entries.first()) {
        (Some(oldest), Some(newest)) => view.corrected_between(oldest.seq, newest.seq).await?,
        _ => HashMap::new(),
    };
    let oldest = entries.last().map_or(0, |entry| entry.seq.0);
    let newer = before.map(|before| before.0.saturating_add(ENTRIES_PAGE));
    page(&LedgerPage {
        frame: Frame::new(&state, &signed_in),
        entries: entries
            .iter()
            .map(|entry| line(entry, corrected.get(&entry.seq), &state.zone))
            .collect(),
        last_entry: view.last_entry,
        last_hash: hex(&view.last_hash),
        older: (1 < oldest).then_some(oldest),
        newer: newer.filter(|newer| *newer <= view.last_entry + ENTRIES_PAGE),
    })
}

fn line(entry: &Entry, corrected_by: Option<&Seq>, zone: &Zone) -> Line {
    Line {
        seq: entry.seq.0,
        recorded: zone.show(entry.recorded_at),
        effective: zone.show(entry.effective_at),
        actor: entry.actor.to_string(),
        what: fact::sentence(&entry.fact),
        reason: entry.reason.clone(),
        corrects: entry.corrects.map(|seq| seq.0),
        corrected_by: corrected_by.map(|seq| seq.0),
    }
}

/// The number of an entry, from an address.
fn number(text: &str) -> Result<Seq, Unreadable> {
    match text.parse() {
        Ok(number @ 1..) => Ok(Seq(number)),
        _ => Err(Unreadable::new("entry", text, "a number from 1")),
    }
}

/// A hash in groups of eight digits, which people can compare.
fn hex(hash: &Hash) -> String {
    let words = hash.chunks(4).map(|bytes| {
        let word = bytes
            .iter()
            .fold(0_u32, |word, byte| word << 8 | u32::from(*byte));
        format!("{word:08x}")
    });
    words.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_shown_in_groups() {
        let mut hash = [0; 32];
        (hash[0], hash[3], hash[31]) = (0xab, 0x01, 0xff);
        let shown = hex(&hash);
        assert!(
            shown.starts_with("ab000001 00000000") && shown.ends_with("000000ff"),
            "{shown}"
        );
    }
}
