//! What a text names.

use super::problem::Problem;
use crate::api::body::Asked;
use crate::limits::SEARCH_CHARS_MAX;
use crate::page::find::{Found, look_up};
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// What is looked for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct FindParams {
    /// A number or name as typed or scanned: of a car, a unit, a train, a serial number, a batch, a part,
    /// a concession, a modification, a test record, a location or a decision's check code; of a position after its car, as `4101 B1`.
    q: String,
}

/// All that a text names.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FoundList {
    /// What it names; empty where it names nothing.
    found: Vec<FoundBody>,
    /// Whether they were found only by taking O for 0 and I for 1: to be read again on the plate.
    misread: bool,
}

/// A thing that a text names.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FoundBody {
    /// What it is.
    #[schema(example = "component")]
    kind: &'static str,
    /// Its name.
    name: String,
    /// The path of its page.
    page: String,
    /// What tells it from others of that name: of a component what it is, its condition and where it
    /// is; may be empty.
    beside: String,
}

impl From<Found> for FoundBody {
    fn from(found: Found) -> Self {
        Self {
            kind: found.kind,
            name: found.name,
            page: found.href,
            beside: found.beside,
        }
    }
}

/// All things that a text names, as the field on every page finds them.
#[utoipa::path(
    get,
    path = "/api/v1/find",
    operation_id = "find",
    tag = "components",
    params(FindParams),
    responses((status = 200, body = FoundList, description = "As asked")),
)]
pub(crate) async fn find(
    State(state): State<WebState>,
    Asked(FindParams { q }): Asked<FindParams>,
) -> Result<Json<FoundList>, Problem> {
    let typed: String = q.trim().chars().take(SEARCH_CHARS_MAX).collect();
    let mut view = state.store.view().await?;
    let looked_up = look_up(&mut view, &typed, state.today()).await?;
    Ok(Json(FoundList {
        found: looked_up.found.into_iter().map(FoundBody::from).collect(),
        misread: looked_up.misread,
    }))
}
