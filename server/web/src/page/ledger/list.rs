//! The entries of the ledger, newest first, of all kinds or of those asked for.

use super::query::EntriesQuery;
use crate::fact;
use crate::form::Fields;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::show::hex;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::kind::FactKind;
use domain::ledger::subjects::SubjectKind;
use domain::time::Zone;
use std::collections::HashMap;
use store::read::entries::ENTRIES_PAGE;

#[derive(Template)]
#[template(path = "ledger/ledger.html")]
struct LedgerPage {
    frame: Frame,
    query: EntriesQuery,
    entries: Vec<Line>,
    last_entry: i64,
    last_hash: String,
    /// Where the older ones are.
    older: Option<String>,
    newest: String,
    csv: String,
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

/// `GET /ledger`. Three statements, and one more where it is narrowed to what entries are about.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(fields): Query<Vec<(String, String)>>,
) -> PageResult {
    let mut query = EntriesQuery::read(Fields(fields.into_iter().collect()), &state.zone);
    let mut view = state.store.view().await?;
    query.refuse_unkept(&mut view).await?;
    let readable = query.errors.is_empty();
    let mut entries = if readable {
        view.entries(&query.filter).await?
    } else {
        Vec::new()
    };
    let more = ENTRIES_PAGE < entries.len();
    entries.truncate(ENTRIES_PAGE);
    let corrected = match (entries.last(), entries.first()) {
        (Some(oldest), Some(newest)) => view.corrected_between(oldest.seq, newest.seq).await?,
        _ => HashMap::new(),
    };
    let oldest = entries.last().filter(|_| more).map(|entry| entry.seq);
    let shown = page(&LedgerPage {
        frame: Frame::new(&state, &signed_in),
        entries: entries
            .iter()
            .map(|entry| line(entry, corrected.get(&entry.seq), &state.zone))
            .collect(),
        last_entry: view.last_entry,
        last_hash: hex(&view.last_hash),
        older: oldest.map(|seq| query.page("/ledger", Some(seq))),
        newest: query.page("/ledger", None),
        csv: query.page("/ledger.csv", query.filter.before),
        query,
    })?;
    let status = if readable {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, shown).into_response())
}

fn line(entry: &Entry, corrected_by: Option<&Seq>, zone: &Zone) -> Line {
    Line {
        seq: entry.seq.0,
        recorded: zone.told(entry.recorded_at),
        effective: zone.told(entry.effective_at),
        actor: entry.actor.to_string(),
        what: fact::sentence(&entry.fact, zone),
        reason: entry.reason.clone(),
        corrects: entry.corrects.map(|seq| seq.0),
        corrected_by: corrected_by.map(|seq| seq.0),
    }
}
