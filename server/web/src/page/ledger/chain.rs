//! The chain of the ledger proven on the page, and a stretch of it as a file.

use crate::failure::Failure;
use crate::form::Fields;
use crate::frame::Frame;
use crate::limits::{EXPORTS_AT_ONCE, PROVEN_AT_ONCE};
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::show::hex;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::unreadable::Unreadable;
use exchange::ledger_file::{Head, Link, write_entry, write_head};
use exchange::output::OutputError;
use store::StoreError;
use store::read::stretch::STRETCH_PAGE;
use tokio::sync::Semaphore;

/// Each holds a connection for seconds; more requests than these wait.
static TURNS: Semaphore = Semaphore::const_new(EXPORTS_AT_ONCE);

#[derive(Template)]
#[template(path = "ledger/chain.html")]
struct ChainPage {
    frame: Frame,
    /// The entry after which it was proven.
    after: i64,
    last_entry: i64,
    last_hash: String,
    proven: Option<Stretch>,
    /// Why it does not hold.
    broken: Option<String>,
    at_once: i64,
    /// The stretches that are files of the whole ledger, by their first and last entries.
    files: Vec<(i64, i64)>,
}

/// What was proven.
struct Stretch {
    until: i64,
    hash: String,
    goes_on: bool,
}

/// `GET /ledger/chain`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(fields): Query<Vec<(String, String)>>,
) -> PageResult {
    let fields = Fields(fields.into_iter().collect());
    let mut view = state.store.view().await?;
    let last_entry = view.last_entry;
    let after = number(&fields, "after", 0, last_entry)?;
    // It is never closed.
    let _turn = TURNS.acquire().await;
    let (mut proven, mut broken) = (None, None);
    match view.prove(after, PROVEN_AT_ONCE).await {
        Ok(Some(held)) => {
            proven = Some(Stretch {
                until: held.entries,
                hash: hex(&held.hash),
                goes_on: held.entries < last_entry,
            });
        }
        Ok(None) => broken = Some(format!("entry {after} is missing")),
        Err(StoreError::Broken(how)) => broken = Some(how.to_string()),
        Err(other) => return Err(other.into()),
    }
    page(&ChainPage {
        frame: Frame::new(&state, &signed_in),
        after,
        last_entry,
        last_hash: hex(&view.last_hash),
        proven,
        broken,
        at_once: PROVEN_AT_ONCE,
        files: stretches(last_entry),
    })
}

/// The whole ledger in stretches, each as long as a file may be.
fn stretches(last: i64) -> Vec<(i64, i64)> {
    let mut stretches = Vec::new();
    let mut first = 1;
    while first <= last {
        let until = end_of(first, last);
        stretches.push((first, until));
        first = until + 1;
    }
    stretches
}

/// The last entry of the longest file that begins with one.
fn end_of(first: i64, last: i64) -> i64 {
    last.min(first - 1 + PROVEN_AT_ONCE)
}

impl ChainPage {
    /// The last entry of the file that is offered.
    fn offered(&self) -> i64 {
        end_of(1, self.last_entry)
    }
}

/// A whole number of an address within bounds, or what stands for an empty one.
fn number(fields: &Fields, name: &'static str, empty: i64, most: i64) -> Result<i64, Failure> {
    let text = fields.text(name);
    if text.is_empty() {
        return Ok(empty);
    }
    let number = text
        .parse()
        .ok()
        .filter(|number| (0..=most).contains(number));
    let expected = format!("a whole number from 0 to {most}");
    number.ok_or_else(|| Unreadable::new(name, text, expected).into())
}

/// `GET /ledger/export`
///
/// Entries `from` to `to` as a file that proves itself; longer stretches are exported on the
/// command line.
pub(crate) async fn export(
    State(state): State<WebState>,
    Query(fields): Query<Vec<(String, String)>>,
) -> PageResult {
    let fields = Fields(fields.into_iter().collect());
    let mut view = state.store.view().await?;
    let register = Link {
        number: view.last_entry,
        hash: view.last_hash,
    };
    let after = number(&fields, "from", 1, register.number)?.max(1) - 1;
    let longest = end_of(after + 1, register.number);
    let until = number(&fields, "to", longest, register.number)?;
    if until < after || PROVEN_AT_ONCE < until - after {
        let expected = format!("at most {PROVEN_AT_ONCE} entries; `register export` writes more");
        let given = format!("{} to {until}", after + 1);
        return Err(Unreadable::new("stretch of the ledger", &given, expected).into());
    }
    // It is never closed.
    let _turn = TURNS.acquire().await;
    let [Some(before), Some(last)] = view.hashes_of([after, until]).await? else {
        let what = "entry";
        let name = format!("{after} or {until}");
        return Err(Failure::NotFound { what, name });
    };
    let link = |number, hash| Link { number, hash };
    let head = Head::new(link(after, before), link(until, last), register);
    let mut file = Vec::new();
    write_head(&mut file, &head).map_err(OutputError::Io)?;
    let mut at = after;
    while at < until {
        let kept = view.stretch(at, STRETCH_PAGE.min(until - at)).await?;
        let Some(end) = kept.last() else { break };
        at = end.entry.seq.0;
        for kept in &kept {
            write_entry(&mut file, &kept.entry, (kept.letters(), &kept.hash))
                .map_err(OutputError::Io)?;
        }
    }
    let name = format!("ledger-{}-{}.jsonl", head.first, head.last);
    let headers = [
        (header::CONTENT_TYPE, "application/jsonl".to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{name}\""),
        ),
    ];
    Ok((headers, file).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_ledger_is_offered_in_files_that_may_be_saved() {
        let most = PROVEN_AT_ONCE;
        assert_eq!(stretches(0), []);
        assert_eq!(stretches(7), [(1, 7)]);
        assert_eq!(stretches(most), [(1, most)]);
        let two = [(1, most), (most + 1, most + 12_186)];
        assert_eq!(stretches(most + 12_186), two);
        for (first, last) in two {
            assert!(last - (first - 1) <= most);
        }
    }
}
