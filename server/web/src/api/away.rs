//! What is away, and when it is expected.

use super::components::ComponentBody;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::AsAtParams;
use crate::page::components::away::{Away, read};
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use serde::Serialize;
use utoipa::ToSchema;

/// What is in transit or with a contractor.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct AwayList {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The day by which it is told what is overdue.
    #[schema(format = Date)]
    as_on: String,
    /// Those first that should have come; those without a day last.
    away: Vec<AwayBody>,
    /// Whether there are more than are listed.
    more: bool,
}

/// A component that is away.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct AwayBody {
    /// Which one.
    component: ComponentBody,
    /// Its condition.
    condition: &'static str,
    /// The location.
    location: String,
    /// `contractor` or `in_transit`.
    kind: &'static str,
    /// Where it is bound for, if it is in transit.
    bound_for: Option<String>,
    /// The day on which it is expected; none where that was not told.
    #[schema(format = Date)]
    expected_on: Option<String>,
    /// The days by which it is overdue, if it is.
    overdue_days: Option<i64>,
    /// Since when it is there.
    #[schema(format = DateTime)]
    since: String,
}

impl From<&Away> for AwayBody {
    fn from(away: &Away) -> Self {
        let sent = &away.kept.sent;
        Self {
            component: (&away.component).into(),
            condition: away.condition.name(),
            location: away.kept.location.to_string(),
            kind: away.kind.name(),
            bound_for: sent.bound_for.as_ref().map(ToString::to_string),
            expected_on: sent.expected_on.map(|day| day.to_string()),
            overdue_days: away.overdue,
            since: away.since.to_string(),
        }
    }
}

/// Components in transit or with a contractor, those first that should have come.
#[utoipa::path(
    get,
    path = "/api/v1/away",
    operation_id = "listAway",
    tag = "components",
    params(AsAtParams),
    responses(
        (status = 200, body = AwayList, description = "As asked"),
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
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<AwayList>, Problem> {
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let (rows, more) = read(&mut view, (&speaks, &state.zone)).await?;
    let at = speaks.times.effective;
    Ok(Json(AwayList {
        at: at.to_string(),
        known: speaks.times.known.to_string(),
        as_on: state.zone.day_of(at).to_string(),
        away: rows.iter().map(AwayBody::from).collect(),
        more,
    }))
}
