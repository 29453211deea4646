//! Car types: which there are, and the circuit of one as text.

use super::body::Asked;
use super::fields::named;
use super::problem::Problem;
use crate::as_at::AsAtParams;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::circuit::check::check;
use domain::circuit::compiled::CompiledCircuit;
use domain::identity::{CarTypeName, Revision};
use serde::Serialize;
use utoipa::ToSchema;

/// A revision of a car type.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DesignBody {
    /// Its name.
    car_type: String,
    /// The revision of its baseline.
    revision: String,
    /// What it is.
    title: String,
    /// The fleet it belongs to.
    fleet: String,
    /// How many positions it has.
    positions: usize,
    /// The entry that defined it.
    defined_by: i64,
}

/// The circuit of a car type.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CircuitBody {
    /// The car type.
    car_type: String,
    /// The revision of its baseline.
    revision: String,
    /// Its circuit as text: a line for what each position does, and one for what leads where.
    circuit: String,
    /// What is doubtful in it though it can be worked with.
    remarks: Vec<String>,
}

/// All car types by name and revision that were known at a time.
#[utoipa::path(
    get,
    path = "/api/v1/car-types",
    operation_id = "listCarTypes",
    tag = "cars",
    params(AsAtParams),
    responses(
        (status = 200, body = Vec<DesignBody>, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    ),
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<Vec<DesignBody>>, Problem> {
    let view = params.read(&state)?.view(&state).await?;
    let mut types: Vec<_> = view.documents.car_types.iter().collect();
    types.sort_by_key(|(key, _)| *key);
    let body = types.into_iter().map(|(_, found)| DesignBody {
        car_type: found.document.name.to_string(),
        revision: found.document.revision.to_string(),
        title: found.document.title.clone(),
        fleet: found.document.fleet.to_string(),
        positions: found.document.positions.len(),
        defined_by: found.by.0,
    });
    Ok(Json(body.collect()))
}

/// The circuit of a car type as text, with what is doubtful in it, as it was known at a time. What is
/// defined is never changed, so that the time of which it is told makes no difference.
#[utoipa::path(
    get,
    path = "/api/v1/car-types/{name}/{revision}/circuit",
    operation_id = "showCircuit",
    tag = "cars",
    params(
        ("name" = String, Path, description = "The car type's name"),
        ("revision" = String, Path, description = "The revision of its baseline"),
        AsAtParams,
    ),
    responses(
        (status = 200, body = CircuitBody, description = "As asked"),
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
pub(crate) async fn circuit(
    State(state): State<WebState>,
    Path((name, revision)): Path<(String, String)>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<CircuitBody>, Problem> {
    let key: (CarTypeName, Revision) = (named("name", &name)?, named("revision", &revision)?);
    let view = params.read(&state)?.view(&state).await?;
    let found = view.documents.car_types.get(&key);
    let not_found = || Problem::not_found("car type", &format!("{name} revision {revision}"));
    let design = &found.ok_or_else(not_found)?.document;
    // What is in the register was checked when it was defined.
    let remarks = CompiledCircuit::new(design).map_or_else(|_| Vec::new(), |sound| check(&sound));
    Ok(Json(CircuitBody {
        car_type: name,
        revision,
        circuit: design.circuit.to_text(),
        remarks: remarks.iter().map(ToString::to_string).collect(),
    }))
}
