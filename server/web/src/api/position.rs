//! One position of a car: what belongs there, and what is and was there.

use super::car::SettingBody;
use super::changed::DoubtBody;
use super::component_history::FitmentBody;
use super::components::ComponentBody;
use super::due::{DueBody, bodies};
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::AsAtParams;
use crate::page::named_place;
use crate::page::positions::position::{fitted, found, isolations};
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::setting::SettingAt;
use domain::identity::CarNumber;
use domain::ledger::dossier::{ComponentRecord, Fitment, IsolationRecord};
use domain::unreadable::Unreadable;
use serde::Serialize;
use store::read::settings::settings_at;
use utoipa::ToSchema;

/// A position of a car.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PositionDetail {
    /// The car.
    car: String,
    /// The position, by its full code.
    position: String,
    /// What it is.
    title: String,
    /// Its kind.
    #[schema(example = "isolating_cock")]
    kind: &'static str,
    /// The revision of the baseline in force then.
    revision: String,
    /// The parts approved there.
    approved: Vec<String>,
    /// Its other names.
    aliases: Vec<AliasBody>,
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The condition of what was fitted then; none where the position was empty.
    condition: Option<&'static str>,
    /// Of now only: why what is fitted is to be judged again, if it is.
    judge_again: Vec<DoubtBody>,
    /// All that was fitted there until then, newest first; the first without an end is there.
    fitments: Vec<FitmentAtBody>,
    /// The settings that the baseline asks for, with what is told of them.
    settings: Vec<SettingBody>,
    /// Cut-outs until then by what is known now, newest first.
    isolations: Vec<CutOutBody>,
    /// The due work on what was fitted then.
    due: Vec<DueBody>,
}

/// Another name of a position.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct AliasBody {
    /// The name.
    name: String,
    /// Where it is used.
    source: String,
}

/// A component that was at the position over a period.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FitmentAtBody {
    /// Which.
    component: ComponentBody,
    /// When, and by which entries.
    fitment: FitmentBody,
}

impl From<&Fitment> for FitmentAtBody {
    fn from(fitment: &Fitment) -> Self {
        Self {
            component: (&fitment.component).into(),
            fitment: fitment.into(),
        }
    }
}

/// A cut-out at the position.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CutOutBody {
    /// The entry that recorded it.
    entry: i64,
    /// In which state it was.
    state: &'static str,
    /// Why, or how it was found.
    cause: String,
    /// Since when.
    #[schema(format = DateTime)]
    since: String,
    /// When it ended, or another state of it was told; none while it is in force.
    #[schema(format = DateTime)]
    ended_at: Option<String>,
    /// The entry that ended it, or that told its other state.
    ended_by: Option<i64>,
}

impl From<&IsolationRecord> for CutOutBody {
    fn from(record: &IsolationRecord) -> Self {
        Self {
            entry: record.id.0,
            state: record.cut_out.state.name(),
            cause: record.cut_out.cause.clone(),
            since: record.since.to_string(),
            ended_at: record.ended.map(|(at, _)| at.to_string()),
            ended_by: record.ended.map(|(_, by)| by.0),
        }
    }
}

/// A position of a car at a time, by its code or by any other name that is of it alone.
#[utoipa::path(
    get,
    path = "/api/v1/positions/{car}/{position}",
    operation_id = "showPosition",
    tag = "cars",
    params(
        ("car" = String, Path, description = "The car's number"),
        ("position" = String, Path, description = "The position"),
        AsAtParams
    ),
    responses(
        (status = 200, body = PositionDetail, description = "As asked"),
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
    Path((car, position)): Path<(String, String)>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<PositionDetail>, Problem> {
    let number: CarNumber = named("car", &car)?;
    let speaks = params.read(&state)?;
    let on = state.zone.day_of(speaks.times.effective);
    let mut view = speaks.view(&state).await?;
    let at = named_place::place(&mut view, &number, &position, on).await?;
    let at = at.map_err(|expected| {
        Problem::unreadable(
            "position",
            &Unreadable::new("position", &position, expected),
        )
    })?;
    let (record, _, place) = found(&mut view, &at, (&speaks, &state)).await?;
    let asked = (&record, &[&at.position][..]);
    let mut history = view.history_of_positions(asked, speaks.then()).await?;
    history.reverse();
    let isolations = isolations(&mut view, (&record, &at), &speaks).await?;
    let mut asked = view.documents.places_with_settings(&record.car, on);
    asked.retain(|place| place.code == at.position);
    let set = view
        .places_with_settings(&record, &asked, speaks.times)
        .await?;
    let set: Vec<SettingAt> = settings_at(&asked, &set, speaks.times.effective);
    let open = history.iter().find(|one| one.end.is_none()).cloned();
    let (now, due) = fitted(&mut view, open, (&speaks, &state)).await?;
    let judge_again = match &now {
        None => Vec::new(),
        Some((fitment, _)) => DoubtBody::of(&mut view, &fitment.component, &speaks).await?,
    };
    let component: Option<ComponentRecord> = now.and_then(|(_, component)| component);
    let position = place.position;
    let aliases = position.aliases.iter().map(|alias| AliasBody {
        name: alias.name.clone(),
        source: alias.source.clone(),
    });
    Ok(Json(PositionDetail {
        car: at.car.to_string(),
        position: at.position.to_string(),
        title: position.title.clone(),
        kind: position.kind.name(),
        revision: view.documents.revision(&record.car, on).to_string(),
        approved: position.approved.iter().map(ToString::to_string).collect(),
        aliases: aliases.collect(),
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        condition: component.map(|component| component.condition.name()),
        judge_again,
        fitments: history.iter().map(FitmentAtBody::from).collect(),
        settings: set.iter().map(SettingBody::new).collect(),
        isolations: isolations.iter().map(CutOutBody::from).collect(),
        due: bodies(&due, &view.documents, &state),
    }))
}
