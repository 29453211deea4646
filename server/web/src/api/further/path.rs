//! The path of air and demand, for programs.

use super::{posed, position, question};
use crate::api::decided::MissingBody;
use crate::api::problem::Problem;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::circuit::Mode;
use domain::isolation::path::{Delivers, Leg, Stop};
use serde::Serialize;
use utoipa::ToSchema;

/// The path to a position.
#[derive(Debug, Serialize, ToSchema)]
pub(in crate::api) struct PathBody {
    /// What is lacking where there is no answer.
    missing: Vec<MissingBody>,
    /// `from_source`, `from_stored_air`, `interrupted` or `never`.
    reached: Option<&'static str>,
    /// The parts of the path, each after those that feed it.
    legs: Vec<LegBody>,
}

/// A part of a path without a valve that needs more than one input.
#[derive(Debug, Serialize, ToSchema)]
struct LegBody {
    /// What flows into its last stop.
    #[schema(example = "main_air")]
    medium: Option<&'static str>,
    /// The input of the valve that it ends at.
    input: Option<String>,
    /// From a source, a reservoir or a valve to a valve or the position asked for.
    stops: Vec<StopBody>,
}

/// A place on a path.
#[derive(Debug, Serialize, ToSchema)]
struct StopBody {
    /// The car.
    car: String,
    /// The position, or the pipe at an end of the car.
    place: String,
    /// Whether it delivers as the train is.
    delivers: bool,
}

/// The positions that air and demand pass, in order, from their source to a position.
#[utoipa::path(
    get,
    path = "/api/v1/path",
    tag = "trains",
    operation_id = "path",
    params(
        crate::api::decision::DecisionParams,
        ("car" = String, Query, description = "The car."),
        ("position" = String, Query, description = "The position on it, by its code or by any other of its names."),
        ("mode" = Option<String>, Query, description = "`service`, `emergency` or `holding`."),
    ),
    responses(
        (status = 200, description = "The path, part by part.", body = PathBody),
        (status = 404, description = "A train, unit or car is not in the register.", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The question cannot be read.", body = Problem, content_type = "application/problem+json"),
    )
)]
pub(in crate::api) async fn show_path(
    State(state): State<WebState>,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Json<PathBody>, Problem> {
    let posed = posed(&state, query).await?;
    let at = position(&posed)?;
    let mode = posed.extra.read("mode");
    let mode = mode.map_err(|why| Problem::unreadable("mode", &why))?;
    let mode = mode.unwrap_or(Mode::Service);
    let found = question(&posed).and_then(|question| question.path(&at, mode));
    Ok(Json(match found {
        Ok(path) => PathBody {
            missing: Vec::new(),
            reached: Some(path.reached.name()),
            legs: path.legs.iter().map(leg_body).collect(),
        },
        Err(missing) => PathBody {
            missing: MissingBody::all(&missing),
            reached: None,
            legs: Vec::new(),
        },
    }))
}

fn leg_body(leg: &Leg) -> LegBody {
    let stop = |stop: &Stop| StopBody {
        car: stop.car_number.to_string(),
        place: stop.place.to_string(),
        delivers: stop.delivers == Delivers::Yes,
    };
    LegBody {
        medium: leg.medium.map(domain::circuit::Medium::name),
        input: leg.input.clone(),
        stops: leg.stops.iter().map(stop).collect(),
    }
}
