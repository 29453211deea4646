//! The list of evidence holds: all in force, and those that were lifted, page by page.

use crate::after::After;
use crate::as_at::AsAtQuery;
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
}

/// `GET /holds?after=…&id=…`. Two statements. It tells of now alone.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(after): Query<After>,
    Query(asked): Query<AsAtQuery>,
) -> PageResult {
    asked.refuse_other_times(
        "nothing: the list tells what is held now, and beside each hold that was lifted from when \
         to when it was in force. What was held on a car at another time stands on the page of the \
         car",
    )?;
    let after = after.read()?;
    let mut view = state.store.view().await?;
    let mut lifted = view.holds_lifted(after).await?;
    let more = LIFTED_PAGE < lifted.len();
    lifted.truncate(LIFTED_PAGE);
    let last = lifted.last().filter(|_| more);
    let next = last.and_then(|hold| {
        let (at, _) = hold.lifted?;
        Some(After::address("/holds", (at, hold.id)))
    });
    let frame = Frame::new(&state, &signed_in);
    let in_force = view.holds.holds.iter().map(|held| &held.hold);
    page(&HoldsPage {
        may_set: frame.holds(HOLDS_EVIDENCE),
        frame,
        in_force: HoldNote::all(in_force, &state.zone),
        lifted: HoldNote::all(&lifted, &state.zone),
        next,
        goes_on: after.is_some(),
    })
}
