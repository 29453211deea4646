//! The entries asked for as a file for a spreadsheet. It proves nothing: a copy that proves
//! itself is exported from the page of the chain.

use super::query::EntriesQuery;
use crate::fact;
use crate::failure::Failure;
use crate::form::Fields;
use crate::limits::{ENTRIES_IN_FILE_MAX, EXPORT_PAGE, EXPORTS_AT_ONCE};
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::ledger::entry::Entry;
use domain::time::Zone;
use domain::unreadable::Unreadable;
use exchange::output::{Cell, write_csv};
use store::read::View;
use store::read::entries::EntryFilter;
use tokio::sync::Semaphore;

/// Files are made in memory; more requests than these wait.
static TURNS: Semaphore = Semaphore::const_new(EXPORTS_AT_ONCE);

const HEADER: [&str; 8] = [
    "entry",
    "recorded",
    "effective",
    "by",
    "kind",
    "what",
    "reason",
    "corrects",
];

/// `GET /ledger.csv`
pub(crate) async fn csv(
    State(state): State<WebState>,
    Query(fields): Query<Vec<(String, String)>>,
) -> PageResult {
    let mut query = EntriesQuery::read(Fields(fields.into_iter().collect()), &state.zone);
    let mut view = state.store.view().await?;
    query.refuse_unkept(&mut view).await?;
    drop(view);
    if let Some((field, what)) = query.errors.first() {
        let given = query.fields.text(field);
        return Err(Unreadable::new("field of the ledger", given, what).into());
    }
    // It is never closed.
    let _turn = TURNS.acquire().await;
    let mut view = state.store.view().await?;
    let lines = lines(&mut view, query.filter, &state.zone).await?;
    let mut bytes = Vec::new();
    write_csv(&mut bytes, &HEADER, lines)?;
    let name = format!("attachment; filename=\"ledger-{}.csv\"", state.today());
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

/// The lines of the file, page by page from one view of the register; the last says where the
/// list goes on. Linear in the entries written.
async fn lines(
    view: &mut View,
    filter: EntryFilter,
    zone: &Zone,
) -> Result<Vec<Vec<Cell>>, Failure> {
    let mut filter = EntryFilter {
        rows: EXPORT_PAGE,
        ..filter
    };
    let mut lines = Vec::new();
    loop {
        let mut entries = view.entries(&filter).await?;
        let more = EXPORT_PAGE < entries.len();
        entries.truncate(EXPORT_PAGE);
        filter.before = entries.last().map(|entry| entry.seq);
        lines.extend(entries.iter().map(|entry| cells(entry, zone)));
        if !more {
            return Ok(lines);
        }
        if ENTRIES_IN_FILE_MAX <= lines.len() {
            lines.push(goes_on(lines.len()));
            return Ok(lines);
        }
    }
}

fn cells(entry: &Entry, zone: &Zone) -> Vec<Cell> {
    let number = |seq: i64| Cell::Text(seq.to_string());
    vec![
        number(entry.seq.0),
        Cell::Text(zone.exact(entry.recorded_at)),
        Cell::Text(zone.exact(entry.effective_at)),
        Cell::Text(entry.actor.to_string()),
        Cell::Text(entry.fact.kind().to_string()),
        Cell::Text(fact::sentence(&entry.fact, zone)),
        Cell::Text(entry.reason.clone()),
        entry.corrects.map_or(Cell::Empty, |seq| number(seq.0)),
    ]
}

fn goes_on(rows: usize) -> Vec<Cell> {
    let mut line = vec![Cell::Empty; HEADER.len()];
    line[5] = Cell::Text(format!(
        "THE LIST GOES ON: only its newest {rows} entries are here. Narrow it by kind, person or day."
    ));
    line
}
