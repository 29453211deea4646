//! All modifications, those first that are to be embodied next.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::people::APPROVES;

#[derive(Template)]
#[template(path = "modifications/list.html")]
struct ModificationsPage {
    frame: Frame,
    speaks: PageSpeaks,
    rows: Vec<Row>,
    may_issue: bool,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = ("which modifications had been issued", "");

struct Row {
    number: String,
    address: String,
    title: String,
    scope: String,
    by: String,
}

/// `GET /modifications?at=…&known=…`. No statement beyond those of the design data.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let speaks = query.read(&state)?;
    let view = speaks.view(&state).await?;
    let issued_by = speaks.times.effective;
    let speaks = PageSpeaks::new((&query, &speaks), "/modifications".to_owned(), WHAT);
    let mut known: Vec<_> = view.documents.modifications_issued(issued_by).collect();
    known.sort_by_key(|known| (known.document.by, known.by));
    let row = |modification: &domain::configuration::modification::Modification| Row {
        number: modification.number.to_string(),
        address: speaks.at_same(&address::modification(&modification.number)),
        title: modification.title.clone(),
        scope: modification.scope.to_string(),
        by: modification.by.to_string(),
    };
    let frame = Frame::new(&state, &signed_in);
    page(&ModificationsPage {
        rows: known.iter().map(|known| row(&known.document)).collect(),
        may_issue: frame.holds(APPROVES) && speaks.past.is_none(),
        speaks,
        frame,
    })
}
