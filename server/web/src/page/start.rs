//! The start page: leads each role to its question.

use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use domain::due::state::State as DueState;
use store::read::cars::FleetAtDepot;
use store::read::due::DueFilter;

/// Counts on the start page stop here: it is a way in, not a report.
const COUNT_MAX: usize = 999;

#[derive(Template)]
#[template(path = "start/start.html")]
struct StartPage {
    frame: Frame,
    fleets: Vec<FleetAtDepot>,
    cut_outs: usize,
    overdue: String,
    unknown: String,
    entries: i64,
    /// Evidence holds in force.
    held: usize,
}

/// A count that says when it stopped counting.
fn shown(count: i64) -> String {
    let most = i64::try_from(COUNT_MAX).unwrap_or(i64::MAX);
    if most < count {
        format!("more than {most}")
    } else {
        count.to_string()
    }
}

/// `GET /`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let mut view = state.store.view().await?;
    let filter = |due| DueFilter {
        state: Some(due),
        ..DueFilter::all(state.today())
    };
    let overdue = view
        .due_count(&filter(DueState::Overdue), COUNT_MAX)
        .await?;
    let unknown = view
        .due_count(&filter(DueState::Unknown), COUNT_MAX)
        .await?;
    page(&StartPage {
        frame: Frame::new(&state, &signed_in),
        fleets: view.fleets().await?,
        cut_outs: view.isolations_in_force().await?.len(),
        overdue: shown(overdue),
        unknown: shown(unknown),
        entries: view.last_entry,
        held: view.holds.holds.len(),
    })
}
