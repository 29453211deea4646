//! Which cars carry what is looked for, as at a time and as known at one.

use super::car::SettingBody;
use super::components::ComponentBody;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::carrying::{CarryingQuery, is_known};
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use serde::Serialize;
use store::read::carrying::{CARRYING_PAGE, Carried, Carrying, CarryingCount};
use utoipa::ToSchema;

/// A page of cars that carry it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarryingList {
    /// The time in the world that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// As the register knew it at this time.
    #[schema(format = DateTime)]
    known: String,
    /// How much was found.
    found: CarryingCountBody,
    /// Of how much it is not told whether it is what is looked for; it is listed with `standing`
    /// of `not_told`.
    not_told: CarryingCountBody,
    /// By car and position.
    carried: Vec<CarriedBody>,
    /// The place after which the next page begins, if there is one.
    next: Option<CarryingAfterBody>,
}

/// The place after which a page begins.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarryingAfterBody {
    /// To be given as `after_car`.
    after_car: String,
    /// To be given as `after_position`.
    after_position: String,
}

/// How much was found.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarryingCountBody {
    /// On so many cars.
    cars: i64,
    /// At so many places.
    places: i64,
}

impl From<CarryingCount> for CarryingCountBody {
    fn from(CarryingCount { cars, places }: CarryingCount) -> Self {
        Self { cars, places }
    }
}

/// What was looked for, on a car.
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
    /// The component, where a part was asked for.
    component: Option<ComponentBody>,
    /// The setting, where one was asked for.
    setting: Option<SettingBody>,
    /// Since when the component is there.
    #[schema(format = DateTime)]
    since: Option<String>,
    /// The entry that fitted it.
    entry: Option<i64>,
}

impl From<&Carrying> for CarriedBody {
    fn from(row: &Carrying) -> Self {
        let (component, setting) = match &row.carried {
            Carried::Component(fitment) => (Some(fitment), None),
            Carried::Setting(one) => (None, Some(SettingBody::new(one))),
        };
        Self {
            car: row.at.car.to_string(),
            unit: row.unit.as_ref().map(ToString::to_string),
            fleet: row.fleet.to_string(),
            depot: row.depot.to_string(),
            position: row.at.position.to_string(),
            component: component.map(|fitment| (&fitment.component).into()),
            setting,
            since: component.map(|fitment| fitment.from.to_string()),
            entry: component.map(|fitment| fitment.fitted_by.0),
        }
    }
}

/// The cars that carry a part or serial numbers of it that begin alike, components of a batch or in a
/// modification state, also inside assemblies, or positions that are set in a way. What lies in a
/// store is not among them.
#[utoipa::path(
    get,
    path = "/api/v1/carrying",
    operation_id = "listCarrying",
    tag = "cars",
    params(CarryingQuery),
    responses(
        (status = 200, body = CarryingList, description = "As asked"),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read, or nothing in the register ever was what is asked for: no part, no state of it, no component of that batch, no setting that a design asks for. Or no car was in the register at that time"
        ),
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(asked): Asked<CarryingQuery>,
) -> Result<Json<CarryingList>, Problem> {
    let filter = asked.filter(&state)?;
    let (filter, speaks) = filter.ok_or_else(|| {
        let nothing = "nothing is asked for: a part, or a setting".to_owned();
        Problem::bad_field("part", nothing)
    })?;
    let mut view = speaks.view(&state).await?;
    is_known(&mut view, (&asked, &filter)).await?;
    let mut found = view.carrying_found(&filter).await?;
    let more = CARRYING_PAGE < found.rows.len();
    found.rows.truncate(CARRYING_PAGE);
    let next = found
        .rows
        .last()
        .filter(|_| more)
        .map(|row| CarryingAfterBody {
            after_car: row.at.car.to_string(),
            after_position: row.at.position.to_string(),
        });
    Ok(Json(CarryingList {
        at: filter.as_at.effective.to_string(),
        known: filter.as_at.known.to_string(),
        found: found.count.into(),
        not_told: found.untold.into(),
        carried: found.rows.iter().map(CarriedBody::from).collect(),
        next,
    }))
}
