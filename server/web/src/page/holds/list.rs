//! The list of evidence holds: all in force, and those that were lifted, page by page; of a past time
//! those in force then.

use crate::after::After;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::people::HOLDS_EVIDENCE;
use store::read::holds::LIFTED_PAGE;

#[derive(Template)]
#[template(path = "holds/list.html")]
struct HoldsPage {
    frame: Frame,
    in_force: Vec<HoldNote>,
    lifted: Vec<HoldNote>,
    /// The address of the next page of those that were lifted.
    next: Option<String>,
    /// Whether this is not the first page of them.
    goes_on: bool,
    may_set: bool,
    speaks: PageSpeaks,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = ("what was held as evidence", "");

/// `GET /holds?after=…&id=…&at=…&known=…`. Two statements; of a past time one more, and no page of
/// those that were lifted.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(after): Query<After>,
    Query(asked): Query<AsAtQuery>,
) -> PageResult {
    let speaks = asked.read(&state)?;
    let after = after.read()?;
    let mut view = speaks.view(&state).await?;
    let frame = Frame::new(&state, &signed_in);
    let shown = PageSpeaks::new((&asked, &speaks), "/holds".to_owned(), WHAT);
    if let Some(as_at) = speaks.then() {
        let held = view.holds_at(as_at).await?;
        return page(&HoldsPage {
            frame,
            in_force: HoldNote::all(&held, &state.zone),
            lifted: Vec::new(),
            next: None,
            goes_on: false,
            may_set: false,
            speaks: shown,
        });
    }
    let mut lifted = view.holds_lifted(after).await?;
    let more = LIFTED_PAGE < lifted.len();
    lifted.truncate(LIFTED_PAGE);
    let last = lifted.last().filter(|_| more);
    let next = last.and_then(|hold| {
        let (at, _) = hold.lifted?;
        Some(After::address("/holds", (at, hold.id), &asked))
    });
    let in_force = view.holds.holds.iter().map(|held| &held.hold);
    page(&HoldsPage {
        may_set: frame.holds(HOLDS_EVIDENCE),
        frame,
        in_force: HoldNote::all(in_force, &state.zone),
        lifted: HoldNote::all(&lifted, &state.zone),
        next,
        goes_on: after.is_some(),
        speaks: shown,
    })
}
