//! The list of checks of the fleet: all that are open, and those that are closed, page by page.

use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::ledger::entry::Seq;
use domain::people::OPENS_FLEET_CHECKS;
use domain::time::{Day, Instant, Zone};
use serde::Deserialize;
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

/// After which of the closed checks a page begins.
#[derive(Debug, Deserialize)]
pub(crate) struct After {
    #[serde(default)]
    at: String,
    #[serde(default)]
    id: Option<i64>,
}

impl After {
    fn read(&self) -> Result<Option<(Instant, Seq)>, Failure> {
        match self.id {
            None => Ok(None),
            Some(id) => Ok(Some((self.at.parse()?, Seq(id)))),
        }
    }
}

/// `GET /fleet-checks?at=…&id=…`. Three statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(after): Query<After>,
) -> PageResult {
    let after = after.read()?;
    let mut view = state.store.view().await?;
    let open = view.fleet_checks_open().await?;
    let mut closed = view.fleet_checks_closed(after).await?;
    let more = CHECKS_PAGE < closed.len();
    closed.truncate(CHECKS_PAGE);
    let last = closed.last().filter(|_| more);
    let next = last.and_then(|check| {
        let (at, _) = check.record.closed?;
        let (at, id) = (at.to_string(), check.record.id.0.to_string());
        let fields = [("at", at.as_str()), ("id", id.as_str())];
        Some(address::with_query("/fleet-checks", fields))
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
