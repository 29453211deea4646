//! What an entry would change, for programs: nothing is recorded.

use super::body::Body;
use super::changed::ChangedBody;
use super::entries::{EntryRequest, sender};
use super::problem::Problem;
use crate::session::SignedIn;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use axum::http::HeaderMap;
use domain::refusal::Refusal;
use serde::Serialize;
use store::{Foresight, StoreError};
use utoipa::ToSchema;

/// What recording a fact would change beyond what it says.
#[derive(Debug, Default, Serialize, ToSchema)]
pub(crate) struct ForeseenBody {
    /// The entry by which the same was recorded before; nothing would change then.
    recorded_before: Option<i64>,
    /// What would change.
    #[serde(flatten)]
    changed: ChangedBody,
}

/// What recording a fact would change, or why it would be refused. Nothing is recorded.
///
/// Takes what recording takes, corrections and what is told late included. What the roles of whoever asks
/// do not allow is kept as a refused attempt; what is refused for another reason is not.
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
    Body(request): Body<EntryRequest>,
) -> Result<Json<ForeseenBody>, Problem> {
    let actor = sender(&signed_in, &headers)?;
    let command = request.command(&state).await?;
    let now = state.now();
    let foreseen = state.store.foresee(&actor, command.clone(), now).await;
    if let Err(StoreError::Refused(refusal @ Refusal::NotPermitted { .. })) = &foreseen {
        let asked = (&actor, &command);
        state.store.note_trial(asked, refusal, now).await?;
    }
    Ok(Json(match foreseen? {
        Foresight::Would(told) => ForeseenBody {
            recorded_before: None,
            changed: ChangedBody::from(&*told),
        },
        Foresight::Recorded(seq) => ForeseenBody {
            recorded_before: Some(seq.0),
            ..ForeseenBody::default()
        },
    }))
}
