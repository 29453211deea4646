//! From a car to the verdict about whatever it runs in: its train, else its unit, else itself.

use crate::address;
use crate::failure::Failure;
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect};
use domain::identity::CarNumber;
use serde::Deserialize;

/// `?car=…`
#[derive(Debug, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    car: String,
}

/// `GET /may-it-run?car=…`. Three statements at most.
pub(crate) async fn show(State(state): State<WebState>, Query(asked): Query<Asked>) -> PageResult {
    let number: CarNumber = asked.car.parse()?;
    let mut view = state.store.view().await?;
    let car = view.car(&number).await?.ok_or_else(|| Failure::NotFound {
        what: "car",
        name: number.to_string(),
    })?;
    let train = view.train_of_car(&number).await?;
    let to = match (train, car.unit) {
        (Some(train), _) => address::train(&train),
        (None, Some(membership)) => address::formation(&membership.unit),
        (None, None) => address::formation(&number),
    };
    Ok(Redirect::to(&to).into_response())
}
