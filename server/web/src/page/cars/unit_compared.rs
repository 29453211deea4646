//! A unit between two times: how it is formed, and each of its cars.

use super::compared::{Row, TwoTimes, words};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::identity::{CarNumber, UnitNumber};

#[derive(Template)]
#[template(path = "cars/unit_compared.html")]
struct UnitComparedPage {
    frame: Frame,
    unit: UnitNumber,
    query: TwoTimes,
    before: String,
    after: String,
    /// What differs in how it is formed, in words.
    formed: Vec<String>,
    cars: Vec<(CarNumber, Vec<Row>)>,
}

/// `GET /units/{unit}/compare`: nine statements, and one more for each time
/// since which the design data was changed, however many cars.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(unit): Path<String>,
    Query(query): Query<TwoTimes>,
) -> PageResult {
    let unit: UnitNumber = unit.parse()?;
    let (before, after) = query.read(&state)?;
    let mut view = state.store.view().await?;
    let between = view
        .unit_between(&unit, (before.times, after.times))
        .await?;
    let between = between.ok_or_else(|| Failure::NotFound {
        what: "unit",
        name: unit.to_string(),
    })?;
    let cars = between.cars.into_iter().map(|one| {
        let rows = Row::all(&one.differences, &one.car);
        (one.car, rows)
    });
    page(&UnitComparedPage {
        frame: Frame::new(&state, &signed_in),
        before: words(&before),
        after: words(&after),
        formed: between.formed.iter().map(ToString::to_string).collect(),
        cars: cars.collect(),
        unit,
        query,
    })
}
