//! Visits, as programs get them.

use super::fields::{named, read};
use super::problem::Problem;
use crate::failure::Failure;
use crate::not_there::refuse_not_there;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, Query, State};
use domain::due::visit::VisitRecord;
use domain::identity::{UnitNumber, VisitNumber};
use domain::time::Day;
use serde::{Deserialize, Serialize};
use store::read::not_there::Named;
use store::read::visits::VISITS_PAGE;
use utoipa::{IntoParams, ToSchema};

/// A planned stay of a unit at a depot.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VisitBody {
    /// Its number.
    number: String,
    /// Which unit.
    unit: String,
    /// Where.
    depot: String,
    /// The day on which it comes.
    #[schema(format = Date)]
    from: String,
    /// The day on which it goes.
    #[schema(format = Date)]
    until: String,
    /// Hours of work there are for it.
    hours: u32,
    /// The modifications that are to be embodied during it.
    modifications: Vec<String>,
    /// The entry that planned it so.
    planned_by: i64,
    /// The entry that cancelled it.
    cancelled_by: Option<i64>,
}

impl From<&VisitRecord> for VisitBody {
    fn from(record: &VisitRecord) -> Self {
        let visit = &record.visit;
        let modifications = visit.modifications.iter();
        Self {
            number: visit.number.to_string(),
            unit: visit.unit.to_string(),
            depot: visit.depot.to_string(),
            from: visit.from.to_string(),
            until: visit.until.to_string(),
            hours: visit.hours.into(),
            modifications: modifications.map(ToString::to_string).collect(),
            planned_by: record.by.0,
            cancelled_by: record.cancelled_by.map(|by| by.0),
        }
    }
}

/// Which visits.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct VisitsAsked {
    /// Of this unit.
    #[serde(default)]
    unit: Option<String>,
    /// Those that end on this day or later; without it those that are not over.
    #[serde(default)]
    #[param(format = Date)]
    from: Option<String>,
    /// After this visit, which ends on that day.
    #[serde(default)]
    after: Option<String>,
}

/// A page of visits.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VisitsBody {
    /// By the day on which they end.
    visits: Vec<VisitBody>,
    /// Whether there are more: go on with `from` and `after` of the last.
    more: bool,
}

/// Visits by the day on which they end, cancelled ones among them. One is planned, planned
/// otherwise and cancelled by recording an entry.
#[utoipa::path(
    get,
    path = "/api/v1/visits",
    operation_id = "listVisits",
    tag = "due work",
    params(VisitsAsked),
    responses(
        (status = 200, body = VisitsBody, description = "As asked"),
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
    Query(asked): Query<VisitsAsked>,
) -> Result<Json<VisitsBody>, Problem> {
    let unit: Option<UnitNumber> = read("unit", asked.unit.as_deref())?;
    let from: Option<Day> = read("from", asked.from.as_deref())?;
    let after: Option<VisitNumber> = read("after", asked.after.as_deref())?;
    let from = from.unwrap_or_else(|| state.today());
    let mut view = state.store.view().await?;
    let mut visits = view.visits(unit.as_ref(), (from, after.as_ref())).await?;
    if visits.is_empty() {
        let named = Named {
            unit: unit.as_ref(),
            ..Named::default()
        };
        refuse_not_there(&mut view, named).await?;
    }
    let more = VISITS_PAGE < visits.len();
    visits.truncate(VISITS_PAGE);
    Ok(Json(VisitsBody {
        visits: visits.iter().map(VisitBody::from).collect(),
        more,
    }))
}

/// One visit.
#[utoipa::path(
    get,
    path = "/api/v1/visits/{number}",
    operation_id = "showVisit",
    tag = "due work",
    params(("number" = String, Path, description = "Its number")),
    responses(
        (status = 200, body = VisitBody, description = "As planned last"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(number): Path<String>,
) -> Result<Json<VisitBody>, Problem> {
    let number: VisitNumber = named("number", &number)?;
    let mut view = state.store.view().await?;
    let record = view.visit(&number).await?;
    let record = record.ok_or_else(|| Failure::NotFound {
        what: "visit",
        name: number.to_string(),
    })?;
    Ok(Json((&record).into()))
}
