//! The due list as a file for a spreadsheet: the whole list, read page by page from one view of
//! the register, so that it holds together however long it is.

use super::Asked;
use crate::due::ends::{End, ends};
use crate::due::lines::{HEADER, cells};
use crate::due::query::DueQuery;
use crate::due::source::Source;
use crate::failure::Failure;
use crate::form::Fields;
use crate::limits::{EXPORT_PAGE, EXPORT_PAGES_MAX, EXPORTS_AT_ONCE};
use crate::not_there::refuse_not_there;
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::ledger::dossier::Documents;
use domain::time::Zone;
use domain::unreadable::Unreadable;
use exchange::output::{Cell, OutputError, write_csv, write_xlsx};
use std::io::Cursor;
use std::sync::Arc;
use store::read::View;
use store::read::due::{DueFilter, DueItem};
use tokio::sync::{Semaphore, mpsc};

/// Files are made in memory; more requests than these wait.
static EXPORTS: Semaphore = Semaphore::const_new(EXPORTS_AT_ONCE);

/// A kind of file.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Csv,
    Xlsx,
}

/// A page on its way into the file.
enum Page {
    Rows(Vec<DueItem>),
    /// The list goes on after what a file holds.
    GoesOn,
}

/// `GET /due.csv`
pub(crate) async fn csv(State(state): State<WebState>, Query(fields): Asked) -> PageResult {
    file(&state, fields, Kind::Csv).await
}

/// `GET /due.xlsx`
pub(crate) async fn xlsx(State(state): State<WebState>, Query(fields): Asked) -> PageResult {
    file(&state, fields, Kind::Xlsx).await
}

async fn file(state: &WebState, fields: Vec<(String, String)>, kind: Kind) -> PageResult {
    let mut query = DueQuery::asked(Fields(fields.into_iter().collect()), state);
    // It is never closed.
    let _turn = EXPORTS.acquire().await;
    let mut view = state.store.view().await?;
    let source = Source::of(&mut view, &mut query, state).await?;
    if let Some((field, what)) = query.errors.first() {
        let given = query.fields.text(field);
        // A page says it beside the field, as a sentence of its own.
        let what = what.strip_prefix("expected ").unwrap_or(what);
        return Err(Unreadable::new("field of the due list", given, what).into());
    }
    refuse_not_there(&mut view, query.filter.named()).await?;
    let (sender, pages) = mpsc::channel(1);
    let ends = if query.tells_ends() {
        ends(&mut view, &query.filter, query.speaks.times.effective).await?
    } else {
        Vec::new()
    };
    let lines = Lines {
        ends: ends.into_iter(),
        pages,
        page: Vec::new().into_iter(),
        documents: source.documents(&view),
        zone: state.zone.clone(),
    };
    let writing = tokio::task::spawn_blocking(move || write(kind, lines));
    let filter = DueFilter {
        rows: EXPORT_PAGE,
        ..query.filter
    };
    send_pages((view, source), filter, sender).await?;
    let bytes = writing
        .await
        .map_err(|why| OutputError::Io(std::io::Error::other(why)))??;
    let (extension, media_type) = match kind {
        Kind::Csv => ("csv", "text/csv; charset=utf-8"),
        Kind::Xlsx => (
            "xlsx",
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        ),
    };
    let name = format!("attachment; filename=\"due-{}.{extension}\"", state.today());
    let headers = [
        (header::CONTENT_TYPE, media_type.to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

/// Sends a list page by page, and word where it goes on after the last page that a file holds.
async fn send_pages(
    (mut view, source): (View, Source),
    mut filter: DueFilter,
    sender: mpsc::Sender<Page>,
) -> Result<(), Failure> {
    for _ in 0..EXPORT_PAGES_MAX {
        let mut items = source.page(&mut view, &filter).await?;
        let more = filter.rows < items.len();
        items.truncate(filter.rows);
        filter.after = items.last().map(|item| item.cursor.clone());
        if sender.send(Page::Rows(items)).await.is_err() || !more {
            return Ok(());
        }
    }
    // Whoever no longer listens will say why.
    let _ = sender.send(Page::GoesOn).await;
    Ok(())
}

fn write(kind: Kind, lines: Lines) -> Result<Vec<u8>, OutputError> {
    match kind {
        Kind::Csv => {
            let mut bytes = Vec::new();
            write_csv(&mut bytes, &HEADER, lines)?;
            Ok(bytes)
        }
        Kind::Xlsx => {
            let mut file = Cursor::new(Vec::new());
            write_xlsx(&mut file, "due", &HEADER, lines)?;
            Ok(file.into_inner())
        }
    }
}

/// Lines of the file: what ends, then pages of the list as they come.
struct Lines {
    ends: std::vec::IntoIter<End>,
    pages: mpsc::Receiver<Page>,
    page: std::vec::IntoIter<DueItem>,
    documents: Arc<Documents>,
    zone: Zone,
}

impl Iterator for Lines {
    type Item = Vec<Cell>;

    fn next(&mut self) -> Option<Vec<Cell>> {
        if let Some(end) = self.ends.next() {
            return Some(end.cells());
        }
        loop {
            if let Some(item) = self.page.next() {
                return Some(cells(&item, &self.documents, &self.zone));
            }
            match self.pages.blocking_recv()? {
                Page::Rows(items) => self.page = items.into_iter(),
                Page::GoesOn => return Some(cut()),
            }
        }
    }
}

/// The last line of a list that goes on.
fn cut() -> Vec<Cell> {
    let rows = EXPORT_PAGE * EXPORT_PAGES_MAX;
    let mut line = vec![Cell::Empty; HEADER.len()];
    line[7] = Cell::Text(format!(
        "THE LIST GOES ON: only its first {rows} rows are here. Narrow it by fleet, depot or day."
    ));
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_that_goes_on_ends_with_a_line_that_says_so() {
        let (sender, pages) = mpsc::channel(2);
        sender.blocking_send(Page::Rows(Vec::new())).unwrap();
        sender.blocking_send(Page::GoesOn).unwrap();
        drop(sender);
        let lines = Lines {
            ends: Vec::new().into_iter(),
            pages,
            page: Vec::new().into_iter(),
            documents: Arc::default(),
            zone: Zone::UTC,
        };
        let written = String::from_utf8(write(Kind::Csv, lines).unwrap()).unwrap();
        let last = written.lines().last().unwrap();
        assert!(last.contains("only its first 100000 rows"), "{last}");
        assert_eq!(written.lines().count(), 2);
    }
}
