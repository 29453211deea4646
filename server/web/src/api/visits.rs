//! Visits, as programs get them.

use super::fields::{named, read};
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::{AsAtParams, AsAtQuery};
use crate::failure::Failure;
use crate::not_there::refuse_not_there;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
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
    /// As it was in the world at this time, with its offset from UTC.
    #[serde(default)]
    #[param(format = DateTime)]
    at: String,
    /// As the register knew it at this time, with its offset from UTC.
    #[serde(default)]
    #[param(format = DateTime)]
    known: String,
}

/// A page of visits.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VisitsBody {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
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
    Asked(asked): Asked<VisitsAsked>,
) -> Result<Json<VisitsBody>, Problem> {
    let unit: Option<UnitNumber> = read("unit", asked.unit.as_deref())?;
    let from: Option<Day> = read("from", asked.from.as_deref())?;
    let after: Option<VisitNumber> = read("after", asked.after.as_deref())?;
    let (at, known) = (asked.at, asked.known);
    let speaks = AsAtQuery { at, known }.read(&state)?;
    let from = from.unwrap_or_else(|| state.zone.day_of(speaks.times.effective));
    let mut view = speaks.view(&state).await?;
    let page = (from, after.as_ref());
    let mut visits = match speaks.then() {
        None => view.visits(unit.as_ref(), page).await?,
        Some(as_at) => view.visits_then(unit.as_ref(), page, as_at).await?,
    };
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
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
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
    params(("number" = String, Path, description = "Its number"), AsAtParams),
    responses(
        (status = 200, body = VisitBody, description = "As planned last until the time told of"),
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
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(number): Path<String>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<VisitBody>, Problem> {
    let number: VisitNumber = named("number", &number)?;
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let record = match speaks.then() {
        None => view.visit(&number).await?,
        Some(as_at) => view.visits_told(as_at).await?.remove(&number),
    };
    let record = record.ok_or_else(|| Failure::NotFound {
        what: "visit",
        name: number.to_string(),
    })?;
    Ok(Json((&record).into()))
}
