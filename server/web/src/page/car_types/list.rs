//! All car types, by name and revision.

use crate::address;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "car_types/list.html")]
struct CarTypesPage {
    frame: Frame,
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

/// `GET /car-types`. One statement beyond those of the design data.
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let mut view = state.store.view().await?;
    let cars = view.cars_of_designs(state.today()).await?;
    let mut types: Vec<_> = view.documents.car_types.iter().collect();
    types.sort_by_key(|(key, _)| *key);
    let rows = types.into_iter().map(|(key, found)| {
        let design = &found.document;
        Row {
            name: design.name.to_string(),
            revision: design.revision.to_string(),
            address: address::car_type(&design.name, &design.revision),
            title: design.title.clone(),
            fleet: design.fleet.to_string(),
            positions: design.positions.len(),
            cars: cars.get(key).copied().unwrap_or(0),
            entry: (address::entry(found.by), found.by.to_string()),
        }
    });
    page(&CarTypesPage {
        rows: rows.collect(),
        frame: Frame::new(&state, &signed_in),
    })
}
