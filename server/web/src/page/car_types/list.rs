//! All car types, by name and revision.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};

#[derive(Template)]
#[template(path = "car_types/list.html")]
struct CarTypesPage {
    frame: Frame,
    speaks: PageSpeaks,
    rows: Vec<Row>,
}

struct Row {
    name: String,
    revision: String,
    address: String,
    title: String,
    fleet: String,
    positions: usize,
    cars: i64,
    /// The entry that defined it: its address and name.
    entry: (String, String),
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "which car types were known, and the baseline of how many cars each revision was",
    "Cars are counted as they are registered now.",
);

/// `GET /car-types?at=…&known=…`. One statement beyond those of the design data.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let speaks = query.read(&state)?;
    let on = state.zone.day_of(speaks.times.effective);
    let mut view = speaks.view(&state).await?;
    let speaks = PageSpeaks::new((&query, &speaks), "/car-types".to_owned(), WHAT);
    let cars = view.cars_of_designs(on).await?;
    let mut types: Vec<_> = view.documents.car_types.iter().collect();
    types.sort_by_key(|(key, _)| *key);
    let rows = types.into_iter().map(|(key, found)| {
        let design = &found.document;
        Row {
            name: design.name.to_string(),
            revision: design.revision.to_string(),
            address: speaks.at_same(&address::car_type(&design.name, &design.revision)),
            title: design.title.clone(),
            fleet: design.fleet.to_string(),
            positions: design.positions.len(),
            cars: cars.get(key).copied().unwrap_or(0),
            entry: (address::entry(found.by), found.by.to_string()),
        }
    });
    page(&CarTypesPage {
        rows: rows.collect(),
        speaks,
        frame: Frame::new(&state, &signed_in),
    })
}
