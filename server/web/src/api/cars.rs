//! Fleets, cars and units.

use super::fields::{named, read};
use super::problem::Problem;
use crate::api::body::{Asked, Nothing};
use crate::as_at::{AsAtParams, AsAtQuery};
use crate::not_there::refuse_not_there;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::identity::UnitNumber;
use domain::ledger::dossier::{CarRecord, Documents};
use domain::time::Day;
use serde::{Deserialize, Serialize};
use store::read::View;
use store::read::cars::{CARS_PAGE, CarFilter};
use store::read::not_there::Named;
use utoipa::{IntoParams, ToSchema};

/// All fleets.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FleetList {
    /// Each fleet at each depot that keeps cars of it.
    fleets: Vec<FleetBody>,
}

/// A fleet at a depot.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FleetBody {
    /// The fleet.
    fleet: String,
    /// The depot.
    depot: String,
    /// How many of its cars are kept there.
    cars: i64,
}

/// All fleets by depot, with their number of cars.
#[utoipa::path(
    get,
    path = "/api/v1/fleets",
    operation_id = "listFleets",
    tag = "cars",
    responses(
        (status = 200, body = FleetList, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    ),
)]
pub(crate) async fn fleets(
    State(state): State<WebState>,
    Asked(Nothing {}): Asked<Nothing>,
) -> Result<Json<FleetList>, Problem> {
    let fleets = state.store.view().await?.fleets().await?;
    let fleets = fleets.into_iter().map(|row| FleetBody {
        fleet: row.fleet.to_string(),
        depot: row.depot.to_string(),
        cars: row.cars,
    });
    Ok(Json(FleetList {
        fleets: fleets.collect(),
    }))
}

/// Which cars to list.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct CarParams {
    /// Of this fleet.
    fleet: Option<String>,
    /// Kept at this depot.
    depot: Option<String>,
    /// Where the page begins: `next` of the page before.
    after: Option<String>,
    /// The cars that were registered at this time, with its offset from UTC, in the units of then; now
    /// where left out. Otherwise each car as it is registered now, with the revision that was in force
    /// for it then.
    #[serde(default)]
    #[param(format = DateTime)]
    at: String,
    /// As the register knew it at this time, with its offset from UTC; now where left out.
    #[serde(default)]
    #[param(format = DateTime)]
    known: String,
}

/// A page of cars.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarList {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The cars, by number.
    cars: Vec<CarBody>,
    /// Where the next page begins, if there is one.
    next: Option<String>,
}

/// A car.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarBody {
    /// The number painted on it.
    number: String,
    /// Its European Vehicle Number.
    vehicle_number: Option<String>,
    /// Its type.
    car_type: String,
    /// The baseline revision in force for it.
    revision: String,
    /// Its fleet.
    fleet: String,
    /// The depot that keeps it.
    depot: String,
    /// The day from which work on it as a whole counts until it was first done.
    #[schema(format = Date)]
    entered_service_on: Option<String>,
    /// The unit it is in.
    unit: Option<String>,
    /// Its place in the unit, from 1.
    place: Option<u16>,
    /// Which way it stands in the unit: `forward` or `reversed`.
    orientation: Option<&'static str>,
}

impl CarBody {
    /// A car with the revision in force for it on a day.
    pub(crate) fn new(record: &CarRecord, (documents, on): (&Documents, Day)) -> Self {
        let (car, unit) = (&record.car, record.unit.as_ref());
        Self {
            number: car.number.to_string(),
            vehicle_number: car.vehicle_number.map(|number| number.to_string()),
            car_type: car.car_type.to_string(),
            revision: documents.revision(car, on).to_string(),
            fleet: car.fleet.to_string(),
            depot: car.depot.to_string(),
            entered_service_on: car.entered_service_on.map(|day| day.to_string()),
            unit: unit.map(|unit| unit.unit.to_string()),
            place: unit.map(|unit| unit.place),
            orientation: unit.map(|unit| unit.orientation.name()),
        }
    }
}

fn bodies(cars: &[CarRecord], view: &View, on: Day) -> Vec<CarBody> {
    let bodies = cars.iter();
    bodies
        .map(|car| CarBody::new(car, (&view.documents, on)))
        .collect()
}

/// A page of cars by number.
#[utoipa::path(
    get,
    path = "/api/v1/cars",
    operation_id = "listCars",
    tag = "cars",
    params(CarParams),
    responses(
        (status = 200, body = CarList, description = "As asked"),
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
    Asked(params): Asked<CarParams>,
) -> Result<Json<CarList>, Problem> {
    let filter = CarFilter {
        fleet: read("fleet", params.fleet.as_deref())?,
        depot: read("depot", params.depot.as_deref())?,
        after: read("after", params.after.as_deref())?,
    };
    let (at, known) = (params.at, params.known);
    let speaks = AsAtQuery { at, known }.read(&state)?;
    let times = speaks.times;
    let mut view = speaks.view(&state).await?;
    let mut cars = match speaks.then() {
        None => view.cars(&filter).await?,
        Some(as_at) => view.cars_told(&filter, as_at).await?,
    };
    if cars.is_empty() {
        let named = Named {
            fleet: filter.fleet.as_ref(),
            depot: filter.depot.as_ref(),
            ..Named::default()
        };
        refuse_not_there(&mut view, named).await?;
    }
    let more = CARS_PAGE < cars.len();
    cars.truncate(CARS_PAGE);
    let next = cars.last().filter(|_| more);
    Ok(Json(CarList {
        at: times.effective.to_string(),
        known: times.known.to_string(),
        next: next.map(|record| record.car.number.to_string()),
        cars: bodies(&cars, &view, state.zone.day_of(times.effective)),
    }))
}

/// A unit.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct UnitBody {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// Its number.
    number: String,
    /// Its cars from the first to the last.
    cars: Vec<CarBody>,
}

/// A unit with its cars in order, as it was formed at a time; each car as it is registered now, with
/// the revision that was in force for it then.
#[utoipa::path(
    get,
    path = "/api/v1/units/{unit}",
    operation_id = "showUnit",
    tag = "cars",
    params(("unit" = String, Path, description = "The unit's number"), AsAtParams),
    responses(
        (status = 200, body = UnitBody, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register, or not then"
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
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<UnitBody>, Problem> {
    let number: UnitNumber = named("unit", &unit)?;
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let cars = match speaks.then() {
        None => view.unit(&number).await?,
        Some(as_at) => view.unit_told(&number, as_at).await?,
    };
    if cars.is_empty() {
        return Err(Problem::not_found("unit", &number));
    }
    Ok(Json(UnitBody {
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        number: number.to_string(),
        cars: bodies(&cars, &view, state.zone.day_of(speaks.times.effective)),
    }))
}
