//! Cars and units between two times.

use super::components::ComponentBody;
use super::fields::{named, read};
use super::problem::Problem;
use crate::api::body::Asked;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::compared::Difference;
use domain::configuration::component::ComponentRef;
use domain::identity::{CarNumber, PositionCode, UnitNumber};
use domain::time::Instant;
use serde::{Deserialize, Serialize};
use store::read::AsAt;
use store::read::then::CarBetween;
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

impl TwoTimesParams {
    /// Reads both.
    fn read(&self, state: &WebState) -> Result<(AsAt, AsAt), Problem> {
        let now = state.now();
        let time = |name, text: &Option<String>| -> Result<Instant, Problem> {
            Ok(read(name, text.as_deref())?.unwrap_or(now))
        };
        let before = AsAt {
            effective: time("then", &self.then)?,
            known: time("then_known", &self.then_known)?,
        };
        let after = AsAt {
            effective: time("at", &self.at)?,
            known: time("known", &self.known)?,
        };
        Ok((before, after))
    }
}

/// A car between two times.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarCompared {
    /// The car.
    car: String,
    /// What differs: the baseline revision, then where components are, each told of once, then
    /// their conditions and modification states, then the settings.
    differences: Vec<DifferenceBody>,
}

/// One difference.
#[derive(Debug, Default, Serialize, ToSchema)]
pub(crate) struct DifferenceBody {
    /// In words.
    words: String,
    /// The position where something is otherwise than it was; the new one of what was moved; none
    /// for the car as a whole.
    position: Option<String>,
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
    /// `baseline_revision`, `condition` or `modification_state` where that is otherwise: of the car,
    /// or of the component, which then is there at both times.
    what: Option<&'static str>,
    /// What it was; none where that is not told.
    told_was: Option<String>,
    /// What it is; none where that is not told.
    told_is: Option<String>,
}

impl DifferenceBody {
    /// The same at a position, with what was and is there.
    fn at(
        self,
        position: &PositionCode,
        (was, is): (Option<&ComponentRef>, Option<&ComponentRef>),
    ) -> Self {
        Self {
            position: Some(position.to_string()),
            was: was.map(Into::into),
            is: is.map(Into::into),
            ..self
        }
    }

    fn new(difference: &Difference) -> Self {
        let of_car = Self {
            words: difference.to_string(),
            ..Self::default()
        };
        match difference {
            Difference::Revised { was, is } => Self {
                what: Some("baseline_revision"),
                told_was: Some(was.to_string()),
                told_is: Some(is.to_string()),
                ..of_car
            },
            Difference::Judged {
                position,
                component,
                was,
                is,
            } => Self {
                what: Some("condition"),
                told_was: was.map(|one| one.name().to_owned()),
                told_is: is.map(|one| one.name().to_owned()),
                ..of_car.at(position, (Some(component), Some(component)))
            },
            Difference::Modified {
                position,
                component,
                was,
                is,
            } => Self {
                what: Some("modification_state"),
                told_was: was.as_ref().map(ToString::to_string),
                told_is: is.as_ref().map(ToString::to_string),
                ..of_car.at(position, (Some(component), Some(component)))
            },
            Difference::Moved {
                from,
                to,
                component,
            } => Self {
                moved_from: Some(from.to_string()),
                ..of_car.at(to, (Some(component), Some(component)))
            },
            Difference::Exchanged {
                position,
                gone,
                came,
            } => of_car.at(position, (Some(gone), Some(came))),
            Difference::Filled { position, came } => of_car.at(position, (None, Some(came))),
            Difference::Emptied { position, gone } => of_car.at(position, (Some(gone), None)),
            Difference::Set {
                position,
                setting,
                was,
                is,
            } => Self {
                setting: Some(setting.to_string()),
                set_to_was: was.as_ref().map(ToString::to_string),
                set_to_is: is.as_ref().map(ToString::to_string),
                ..of_car.at(position, (None, None))
            },
        }
    }
}

/// What was exchanged, moved, fitted, taken off, judged, modified and set otherwise between two
/// times, and whether another baseline revision is in force.
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
    Asked(params): Asked<TwoTimesParams>,
) -> Result<Json<CarCompared>, Problem> {
    let number: CarNumber = named("number", &number)?;
    let times = params.read(&state)?;
    let mut view = state.store.view().await?;
    let record = view.car_at_either(&number, times).await?;
    let record = record.ok_or_else(|| Problem::not_found("car", &number))?;
    let between = view.cars_between(&[record], times).await?.pop();
    let between = between.ok_or_else(|| Problem::not_found("car", &number))?;
    Ok(Json((&between).into()))
}

impl From<&CarBetween> for CarCompared {
    fn from(between: &CarBetween) -> Self {
        let differences = between.differences.iter();
        Self {
            car: between.car.to_string(),
            differences: differences.map(DifferenceBody::new).collect(),
        }
    }
}

/// A unit between two times.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct UnitCompared {
    /// The unit.
    unit: String,
    /// What differs in how it is formed, in words.
    formed: Vec<String>,
    /// The cars that are in it in their order, then those that are in it no more, each between the
    /// two times.
    cars: Vec<CarCompared>,
}

/// How a unit was formed otherwise between two times, and what was changed on each of its cars.
#[utoipa::path(
    get,
    path = "/api/v1/units/{unit}/compare",
    operation_id = "compareUnit",
    tag = "cars",
    params(("unit" = String, Path, description = "The unit's number"), TwoTimesParams),
    responses(
        (status = 200, body = UnitCompared, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register, at either time"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn unit(
    State(state): State<WebState>,
    Path(unit): Path<String>,
    Asked(params): Asked<TwoTimesParams>,
) -> Result<Json<UnitCompared>, Problem> {
    let number: UnitNumber = named("unit", &unit)?;
    let times = params.read(&state)?;
    let mut view = state.store.view().await?;
    let between = view.unit_between(&number, times).await?;
    let between = between.ok_or_else(|| Problem::not_found("unit", &number))?;
    Ok(Json(UnitCompared {
        unit: number.to_string(),
        formed: between.formed.iter().map(ToString::to_string).collect(),
        cars: between.cars.iter().map(CarCompared::from).collect(),
    }))
}
