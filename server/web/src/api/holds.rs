//! Evidence holds in force, now or at a time.

use super::body::Asked;
use super::components::ComponentBody;
use super::problem::Problem;
use crate::as_at::AsAtParams;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use domain::configuration::held::Held;
use domain::ledger::dossier::{HeldNow, HoldRecord};
use serde::Serialize;
use utoipa::ToSchema;

/// An evidence hold: what it holds is neither moved, opened, tested, scrapped nor amended until
/// whoever set it lifts it, or two people do.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct HoldBody {
    /// The entry that set it, by which it is lifted.
    number: i64,
    /// The component held, if it is one.
    component: Option<ComponentBody>,
    /// The car held, if it is one.
    car: Option<String>,
    /// The entry of the ledger held, if it is one.
    entry: Option<i64>,
    /// The car that a held component is on.
    on_car: Option<String>,
    /// The position that a held component is at on that car.
    position: Option<String>,
    /// What is inside the held component and held with it.
    inside: Vec<ComponentBody>,
    /// What is investigated, and for whom.
    investigation: String,
    /// Who set it and alone can lift it.
    set_by: String,
    /// Since when.
    #[schema(format = DateTime)]
    since: String,
}

impl From<&HeldNow> for HoldBody {
    fn from(HeldNow { hold, inside }: &HeldNow) -> Self {
        let HoldRecord { held, on_car, .. } = hold;
        let (component, car, entry) = match held {
            Held::Component(component) => (Some(component.into()), None, None),
            Held::Car(car) => (None, Some(car.to_string()), None),
            Held::Entry(seq) => (None, None, Some(seq.0)),
        };
        Self {
            number: hold.id.0,
            component,
            car,
            entry,
            on_car: on_car.as_ref().map(|at| at.car.to_string()),
            position: on_car.as_ref().map(|at| at.position.to_string()),
            inside: inside.iter().map(ComponentBody::from).collect(),
            investigation: hold.investigation.clone(),
            set_by: hold.by.to_string(),
            since: hold.since.to_string(),
        }
    }
}

/// The evidence holds in force, oldest first, now or as at a time. One is set and lifted by recording an
/// entry.
#[utoipa::path(
    get,
    path = "/api/v1/holds",
    operation_id = "listHolds",
    tag = "components",
    params(AsAtParams),
    responses(
        (status = 200, body = Vec<HoldBody>, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(times): Asked<AsAtParams>,
) -> Result<Json<Vec<HoldBody>>, Problem> {
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let held = match speaks.then() {
        None => view.holds.holds.clone(),
        Some(as_at) => view.held_at(as_at).await?,
    };
    Ok(Json(held.iter().map(HoldBody::from).collect()))
}
