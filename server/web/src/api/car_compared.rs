//! A car between two times.

use super::components::ComponentBody;
use super::fields::{named, read};
use super::problem::Problem;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, Query, State};
use domain::configuration::compared::{Difference, differences, setting_differences};
use domain::configuration::component::ComponentRef;
use domain::identity::{CarNumber, PositionCode};
use domain::time::Instant;
use serde::{Deserialize, Serialize};
use store::read::AsAt;
use store::read::settings::settings_told;
use utoipa::{IntoParams, ToSchema};

/// The two times between which a car is compared, each as it was in the world and as it was known.
/// All with their offset from UTC; now where left out.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct TwoTimesParams {
    /// From how it was in the world at this time.
    #[param(format = DateTime)]
    then: Option<String>,
    /// As the register knew it at this time.
    #[param(format = DateTime)]
    then_known: Option<String>,
    /// To how it was in the world at this time.
    #[param(format = DateTime)]
    at: Option<String>,
    /// As the register knew it at this time.
    #[param(format = DateTime)]
    known: Option<String>,
}

/// A car between two times.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarCompared {
    /// The car.
    car: String,
    /// What differs; each component is told of once, and after them the settings.
    differences: Vec<DifferenceBody>,
}

/// One difference.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DifferenceBody {
    /// In words.
    words: String,
    /// The position where something is otherwise than it was; the new one of what was moved.
    position: String,
    /// The position that it was at, if it was moved within the car.
    moved_from: Option<String>,
    /// What was there; none where the position was empty.
    was: Option<ComponentBody>,
    /// What is there; none where the position is empty.
    is: Option<ComponentBody>,
    /// The setting that is otherwise, where it is one.
    setting: Option<String>,
    /// What it was set to; none where that is not told.
    set_to_was: Option<String>,
    /// What it is set to; none where that is not told.
    set_to_is: Option<String>,
}

impl DifferenceBody {
    fn new(difference: &Difference) -> Self {
        let body =
            |position: &PositionCode, was: Option<&ComponentRef>, is: Option<&ComponentRef>| Self {
                words: difference.to_string(),
                position: position.to_string(),
                moved_from: None,
                was: was.map(Into::into),
                is: is.map(Into::into),
                setting: None,
                set_to_was: None,
                set_to_is: None,
            };
        match difference {
            Difference::Moved {
                from,
                to,
                component,
            } => Self {
                moved_from: Some(from.to_string()),
                ..body(to, Some(component), Some(component))
            },
            Difference::Exchanged {
                position,
                gone,
                came,
            } => body(position, Some(gone), Some(came)),
            Difference::Filled { position, came } => body(position, None, Some(came)),
            Difference::Emptied { position, gone } => body(position, Some(gone), None),
            Difference::Set {
                position,
                setting,
                was,
                is,
            } => Self {
                setting: Some(setting.to_string()),
                set_to_was: was.as_ref().map(ToString::to_string),
                set_to_is: is.as_ref().map(ToString::to_string),
                ..body(position, None, None)
            },
        }
    }
}

/// What was exchanged, moved, fitted, taken off and set otherwise between two times.
#[utoipa::path(
    get,
    path = "/api/v1/cars/{number}/compare",
    operation_id = "compareCar",
    tag = "cars",
    params(("number" = String, Path, description = "The car's number"), TwoTimesParams),
    responses(
        (status = 200, body = CarCompared, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(number): Path<String>,
    Query(params): Query<TwoTimesParams>,
) -> Result<Json<CarCompared>, Problem> {
    let number: CarNumber = named("number", &number)?;
    let now = state.now();
    let time = |name, text: &Option<String>| -> Result<Instant, Problem> {
        Ok(read(name, text.as_deref())?.unwrap_or(now))
    };
    let before = AsAt {
        effective: time("then", &params.then)?,
        known: time("then_known", &params.then_known)?,
    };
    let after = AsAt {
        effective: time("at", &params.at)?,
        known: time("known", &params.known)?,
    };
    let mut view = state.store.view().await?;
    let record = view.car(&number).await?;
    let record = record.ok_or_else(|| Problem::not_found("car", &number))?;
    let was = view.filled(&record, before).await?;
    let is = view.filled(&record, after).await?;
    let mut all = differences(&was, &is);
    let was = view.places_ever_set(&record, before).await?;
    let was = settings_told(&was, before.effective);
    let is = view.places_ever_set(&record, after).await?;
    let is = settings_told(&is, after.effective);
    all.extend(setting_differences(&was, &is));
    Ok(Json(CarCompared {
        car: number.to_string(),
        differences: all.iter().map(DifferenceBody::new).collect(),
    }))
}
