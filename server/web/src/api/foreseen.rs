//! What an entry would change, for programs: nothing is recorded.

use super::components::ComponentBody;
use super::entries::{EntryRequest, sender};
use super::problem::Problem;
use crate::session::SignedIn;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use axum::http::HeaderMap;
use domain::configuration::component::Subject;
use serde::Serialize;
use store::{DueMoved, Foreseen, Foresight};
use utoipa::ToSchema;

/// What recording a fact would change beyond what it says.
#[derive(Debug, Default, Serialize, ToSchema)]
pub(crate) struct ForeseenBody {
    /// The entry by which the same was recorded before; nothing would change then.
    recorded_before: Option<i64>,
    /// Due work whose date would be another, the earliest first; the first of many.
    due: Vec<MovedBody>,
    /// How many dates would be others in all.
    due_moved: usize,
    /// Decisions about trains that would become void.
    void_decisions: Vec<VoidBody>,
}

/// Due work whose date would be another.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct MovedBody {
    /// The component the work is done on, if it is one.
    component: Option<ComponentBody>,
    /// The car the work is done on, if it is a car as a whole.
    car: Option<String>,
    /// The task.
    task: String,
    /// The date now; none where it has none.
    #[schema(format = Date)]
    before: Option<String>,
    /// The date then; none where it would have none.
    #[schema(format = Date)]
    after: Option<String>,
}

/// A decision that would become void.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VoidBody {
    /// The entry that took it.
    decision: i64,
    /// The train it is about.
    train: String,
}

impl From<&DueMoved> for MovedBody {
    fn from(moved: &DueMoved) -> Self {
        let (component, car) = match &moved.subject {
            Subject::Component(component) => (Some(component.into()), None),
            Subject::Car(car) => (None, Some(car.to_string())),
        };
        Self {
            component,
            car,
            task: moved.task.to_string(),
            before: moved.before.map(|day| day.to_string()),
            after: moved.after.map(|day| day.to_string()),
        }
    }
}

impl From<&Foreseen> for ForeseenBody {
    fn from(foreseen: &Foreseen) -> Self {
        let void = foreseen.void.iter().map(|(decision, train)| VoidBody {
            decision: decision.0,
            train: train.to_string(),
        });
        Self {
            recorded_before: None,
            due: foreseen.due.iter().map(MovedBody::from).collect(),
            due_moved: foreseen.moved,
            void_decisions: void.collect(),
        }
    }
}

/// What recording a fact would change, or why it would be refused. Nothing is recorded.
///
/// Takes what recording takes, corrections and what is told late included.
#[utoipa::path(
    post,
    path = "/api/v1/entries/foreseen",
    operation_id = "foreseeEntry",
    tag = "ledger",
    request_body = EntryRequest,
    responses(
        (status = 200, body = ForeseenBody, description = "What would change"),
        (
            status = 401,
            body = Problem,
            content_type = "application/problem+json",
            description = "Nobody is signed in"
        ),
        (
            status = 403,
            body = Problem,
            content_type = "application/problem+json",
            description = "The roles or the form token do not allow it"
        ),
        (
            status = 409,
            body = Problem,
            content_type = "application/problem+json",
            description = "An entry stands against it"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read, or the register would refuse the fact"
        ),
    )
)]
pub(crate) async fn foresee(
    State(state): State<WebState>,
    signed_in: SignedIn,
    headers: HeaderMap,
    Json(request): Json<EntryRequest>,
) -> Result<Json<ForeseenBody>, Problem> {
    let actor = sender(&signed_in, &headers)?;
    let command = request.command(&state).await?;
    let foreseen = state.store.foresee(&actor, command, state.now()).await?;
    Ok(Json(match foreseen {
        Foresight::Would(foreseen) => ForeseenBody::from(&foreseen),
        Foresight::Recorded(seq) => ForeseenBody {
            recorded_before: Some(seq.0),
            ..ForeseenBody::default()
        },
    }))
}
