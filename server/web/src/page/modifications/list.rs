//! All modifications, those first that are to be embodied next.

use crate::address;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use domain::people::APPROVES;

#[derive(Template)]
#[template(path = "modifications/list.html")]
struct ModificationsPage {
    frame: Frame,
    rows: Vec<Row>,
    may_issue: bool,
}

struct Row {
    number: String,
    address: String,
    title: String,
    scope: String,
    by: String,
}

/// `GET /modifications`. No statement beyond those of the design data.
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let view = state.store.view().await?;
    let mut known: Vec<_> = view.documents.modifications.values().collect();
    known.sort_by_key(|known| (known.document.by, known.by));
    let row = |modification: &domain::configuration::modification::Modification| Row {
        number: modification.number.to_string(),
        address: address::modification(&modification.number),
        title: modification.title.clone(),
        scope: modification.scope.to_string(),
        by: modification.by.to_string(),
    };
    let frame = Frame::new(&state, &signed_in);
    page(&ModificationsPage {
        rows: known.iter().map(|known| row(&known.document)).collect(),
        may_issue: frame.holds(APPROVES),
        frame,
    })
}
