//! The life of a component from its making to now, with its gaps.

use super::component_history::CertifiedBody;
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::AsAtParams;
use crate::not_there::no_component;
use crate::page::components::life::{lacking, read};
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::component::ComponentRef;
use domain::ledger::entry::Entry;
use domain::ledger::fact::Fact;
use domain::ledger::life::Line;
use domain::time::Instant;
use serde::Serialize;
use utoipa::ToSchema;

/// The life of a component.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LifeBody {
    /// What entries say, and the gaps, in the order of time.
    lines: Vec<LineBody>,
    /// What certificates say is left, of each task and clock what was said last.
    certified: Vec<CertifiedBody>,
    /// Whether older entries are left out.
    cut: bool,
}

/// One line of a life: an entry, the end that it tells of the fitment that it began, or a gap.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LineBody {
    /// The entry, if it is one.
    entry: Option<LifeEntry>,
    /// The gap, if it is one.
    gap: Option<GapBody>,
}

/// An entry as a line of a life.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LifeEntry {
    /// Its number.
    number: i64,
    /// When it became true.
    #[schema(format = DateTime)]
    effective_at: String,
    /// When it was recorded.
    #[schema(format = DateTime)]
    recorded_at: String,
    /// Who recorded it.
    actor: String,
    /// Why.
    reason: String,
    /// The fact as in the ledger. Where the entry told both ends of a fitment, its end is a line of
    /// its own, as the fact of a removal.
    #[schema(value_type = Object)]
    fact: serde_json::Value,
}

/// A stretch of which something is not known.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct GapBody {
    /// From which day; none where that is not known.
    #[schema(format = Date)]
    from: Option<String>,
    /// Until which day; none where it goes on.
    #[schema(format = Date)]
    until: Option<String>,
    /// What is not known, in words.
    lacking: String,
}

impl LineBody {
    /// What an entry tells to have become true at a time.
    fn told(entry: &Entry, at: Instant, fact: &Fact) -> Self {
        Self {
            entry: Some(LifeEntry {
                number: entry.seq.0,
                effective_at: at.to_string(),
                recorded_at: entry.recorded_at.to_string(),
                actor: entry.actor.to_string(),
                reason: entry.reason.clone(),
                fact: serde_json::to_value(fact).unwrap_or_default(),
            }),
            gap: None,
        }
    }
}

impl From<&Line> for LineBody {
    fn from(line: &Line) -> Self {
        match line {
            Line::Entry(entry) => Self::told(entry, entry.effective_at, &entry.fact),
            Line::CameOff(off) => Self::told(&off.entry, off.at, &off.removed),
            Line::Gap(gap) => Self {
                entry: None,
                gap: Some(GapBody {
                    from: gap.from.map(|day| day.to_string()),
                    until: gap.until.map(|day| day.to_string()),
                    lacking: lacking(gap),
                }),
            },
        }
    }
}

/// The life of a component from its making to now: every entry that says something of it and
/// still holds, and the gaps.
#[utoipa::path(
    get,
    path = "/api/v1/components/{part}/{serial}/life",
    operation_id = "showLife",
    tag = "components",
    params(
        ("part" = String, Path, description = "The part number, percent-encoded"),
        ("serial" = String, Path, description = "The serial number, percent-encoded"),
        AsAtParams,
    ),
    responses(
        (status = 200, body = LifeBody, description = "As asked"),
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
    Path((part, serial)): Path<(String, String)>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<LifeBody>, Problem> {
    let component = ComponentRef {
        part: named("part", &part)?,
        serial: named("serial", &serial)?,
    };
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let life = read(&mut view, &component, (&speaks, &state)).await?;
    let Some(life) = life else {
        return Err(no_component(&mut view, &component).await?.into());
    };
    Ok(Json(LifeBody {
        lines: life.lines.iter().map(LineBody::from).collect(),
        certified: life.certified.iter().map(CertifiedBody::from).collect(),
        cut: life.cut,
    }))
}
