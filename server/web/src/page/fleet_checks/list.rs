//! The list of checks of the fleet: all that are open, and those that are closed, page by page.

use crate::after::After;
use crate::as_at::AsAtQuery;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::people::OPENS_FLEET_CHECKS;
use domain::time::{Day, Zone};
use store::read::fleet_checks::{CHECKS_PAGE, ListedCheck};

#[derive(Template)]
#[template(path = "fleet_checks/list.html")]
struct ChecksPage {
    frame: Frame,
    open: Vec<ListedCheck>,
    closed: Vec<ListedCheck>,
    next: Option<String>,
    /// Whether this is not the first page of those that are closed.
    goes_on: bool,
    may_open: bool,
    today: Day,
    zone: Zone,
}

/// `GET /fleet-checks?after=…&id=…`. Three statements. It tells of now alone.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(after): Query<After>,
    Query(asked): Query<AsAtQuery>,
) -> PageResult {
    asked.refuse_other_times(
        "nothing: the list tells which checks are open now, and of each that is closed when it was",
    )?;
    let after = after.read()?;
    let mut view = state.store.view().await?;
    let open = view.fleet_checks_open().await?;
    let mut closed = view.fleet_checks_closed(after).await?;
    let more = CHECKS_PAGE < closed.len();
    closed.truncate(CHECKS_PAGE);
    let last = closed.last().filter(|_| more);
    let next = last.and_then(|check| {
        let (at, _) = check.record.closed?;
        Some(After::address("/fleet-checks", (at, check.record.id)))
    });
    let frame = Frame::new(&state, &signed_in);
    page(&ChecksPage {
        may_open: frame.holds(OPENS_FLEET_CHECKS),
        frame,
        open,
        closed,
        next,
        goes_on: after.is_some(),
        today: state.today(),
        zone: state.zone.clone(),
    })
}
