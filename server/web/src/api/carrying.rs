//! Which cars carry a part, or serial numbers of it, as at a time and as known at one.

use super::components::ComponentBody;
use super::fields::{named, read};
use super::problem::Problem;
use crate::limits::SEARCH_CHARS_MAX;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::configuration::component::PositionRef;
use serde::{Deserialize, Serialize};
use store::read::AsAt;
use store::read::carrying::{CARRYING_PAGE, Carrying, CarryingFilter};
use utoipa::{IntoParams, ToSchema};

/// What is looked for, and of which times it is told; now where left out.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct CarryingParams {
    /// The part.
    part: String,
    /// How the serial number begins; any where left out.
    serial: Option<String>,
    /// How it was in the world at this time, with its offset from UTC.
    #[param(format = DateTime)]
    at: Option<String>,
    /// As the register knew it at this time, with its offset from UTC.
    #[param(format = DateTime)]
    known: Option<String>,
    /// The car after which a page begins.
    after_car: Option<String>,
    /// The position of that car after which it begins.
    after_position: Option<String>,
}

/// A page of cars that carry it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarryingList {
    /// The time in the world that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// As the register knew it at this time.
    #[schema(format = DateTime)]
    known: String,
    /// On how many cars it was.
    cars: i64,
    /// How many of it.
    components: i64,
    /// By car and position.
    carried: Vec<CarriedBody>,
    /// The place after which the next page begins, if there is one.
    next: Option<NextBody>,
}

/// The place after which a page begins.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct NextBody {
    /// To be given as `after_car`.
    after_car: String,
    /// To be given as `after_position`.
    after_position: String,
}

/// A component on a car.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarriedBody {
    /// The car.
    car: String,
    /// Its unit now.
    unit: Option<String>,
    /// Its fleet now.
    fleet: String,
    /// Its depot now.
    depot: String,
    /// Where on the car.
    position: String,
    /// What.
    component: ComponentBody,
    /// Since when.
    #[schema(format = DateTime)]
    since: String,
    /// The entry that fitted it.
    entry: i64,
}

impl From<&Carrying> for CarriedBody {
    fn from(row: &Carrying) -> Self {
        let fitment = &row.fitment;
        Self {
            car: fitment.at.car.to_string(),
            unit: row.unit.as_ref().map(ToString::to_string),
            fleet: row.fleet.to_string(),
            depot: row.depot.to_string(),
            position: fitment.at.position.to_string(),
            component: (&fitment.component).into(),
            since: fitment.from.to_string(),
            entry: fitment.fitted_by.0,
        }
    }
}

/// The cars that carry a part, or serial numbers of it that begin alike, also inside assemblies.
/// What lies in a store is not among them.
#[utoipa::path(
    get,
    path = "/api/v1/carrying",
    operation_id = "listCarrying",
    tag = "cars",
    params(CarryingParams),
    responses(
        (status = 200, body = CarryingList, description = "As asked"),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Query(params): Query<CarryingParams>,
) -> Result<Json<CarryingList>, Problem> {
    let now = state.now();
    let as_at = AsAt {
        effective: read("at", params.at.as_deref())?.unwrap_or(now),
        known: read("known", params.known.as_deref())?.unwrap_or(now),
    };
    let car = read("after_car", params.after_car.as_deref())?;
    let position = read("after_position", params.after_position.as_deref())?;
    let serial = params.serial.unwrap_or_default();
    let filter = CarryingFilter {
        part: named("part", &params.part)?,
        serial: serial.trim().chars().take(SEARCH_CHARS_MAX).collect(),
        as_at,
        after: car
            .zip(position)
            .map(|(car, position)| PositionRef { car, position }),
        rows: CARRYING_PAGE,
    };
    let mut view = state.store.view().await?;
    let (cars, components) = view.carrying_count(&filter).await?;
    let mut rows = view.carrying(&filter).await?;
    let more = CARRYING_PAGE < rows.len();
    rows.truncate(CARRYING_PAGE);
    let next = rows.last().filter(|_| more).map(|row| NextBody {
        after_car: row.fitment.at.car.to_string(),
        after_position: row.fitment.at.position.to_string(),
    });
    Ok(Json(CarryingList {
        at: as_at.effective.to_string(),
        known: as_at.known.to_string(),
        cars,
        components,
        carried: rows.iter().map(CarriedBody::from).collect(),
        next,
    }))
}
