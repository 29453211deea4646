//! May this train run? The same answer that the page gives, for programs.

use super::decided::DecisionBody;
use super::problem::Problem;
use crate::as_at::AsAtQuery;
use crate::failure::Failure;
use crate::page::decision::answered::answered;
use crate::page::decision::link::QuestionLink;
use crate::page::decision::then::answered_then;
use crate::page::named_place::by_codes;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::configuration::car::Vehicle;
use domain::decision::formation::FormationText;
use domain::identity::TrainId;
use domain::time::Day;
use domain::unreadable::Unreadable;
use store::read::{AsAt, View};
use utoipa::IntoParams;

/// What is asked. Fields that are left out are assumed where that is usual, and the answer says
/// which; a field that is sent empty is not known.
#[derive(IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "described here, read as the page reads them")]
pub(crate) struct DecisionParams {
    /// A train; or else a formation.
    train: Option<String>,
    /// Units and cars from the front, as `TM3-001,TM3-002r,4107`; or else a train.
    formation: Option<String>,
    /// Positions supposed to be in a state, as `4101:=BS1-QM1:closed_vented`, or `…:open`; a
    /// position by its code or by any other of its names. With any, the answer is a what-if and no
    /// decision.
    close: Option<Vec<String>>,
    /// Methods of the speeds over distance and by gradient, as `forces`; all where none is given.
    method: Option<Vec<String>>,
    /// `minimum`, `normal` or `maximum`.
    load: Option<String>,
    /// `P`, `R`, `G` or `EP`.
    brake_position: Option<String>,
    /// The speed to stop from, in km/h.
    speed: Option<f64>,
    /// The steepest gradient in the direction of travel in per mille; negative where it falls.
    gradient: Option<f64>,
    /// The shortest distance in which the train must stop, in metres.
    signalling_distance: Option<f64>,
    /// How far it is to where the train is meant to go, in kilometres.
    distance_to_go: Option<f64>,
    /// `leaving_depot`, `leaving_elsewhere` or `on_the_road`.
    whereabouts: Option<String>,
    /// `commuter`, `short_distance`, `long_distance` or `freight`.
    train_kind: Option<String>,
    /// `in_service`, `for_repair` or `for_scrap_or_sale`.
    movement: Option<String>,
    /// The route it runs on: one that a rule in force names, in any case, or `another`; anything where
    /// no rule names any.
    route: Option<String>,
    /// The most adhesion that a holding axle is taken to use, with at most three decimals, as `0.12`.
    holding_adhesion: Option<f64>,
    /// As it was in the world at this time, with its offset from UTC; then the rules of that time are
    /// asked, and the answer is no decision.
    #[param(format = DateTime)]
    at: Option<String>,
    /// As the register knew it at this time, with its offset from UTC.
    #[param(format = DateTime)]
    known: Option<String>,
}

/// May this train run? A verdict for each rule set in force, with everything that leads to it; now, or as
/// at a time.
#[utoipa::path(
    get,
    path = "/api/v1/decision",
    tag = "trains",
    operation_id = "decide",
    params(DecisionParams),
    responses(
        (status = 200, description = "What is lost, what is left, and the verdicts.", body = DecisionBody),
        (status = 404, description = "A train, unit or car is not in the register.", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The question cannot be read.", body = Problem, content_type = "application/problem+json"),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Query(mut query): Query<Vec<(String, String)>>,
) -> Result<Json<DecisionBody>, Problem> {
    let times = AsAtQuery::take(&mut query);
    let speaks = times.read(&state)?;
    let day = state.zone.day_of(speaks.times.effective);
    let (train, mut question): (Vec<_>, Vec<_>) =
        query.into_iter().partition(|(name, _)| name == "train");
    let mut view = speaks.view(&state).await.map_err(Failure::from)?;
    let link = link(&mut view, &mut question, day).await?.of_times(times);
    let vehicles = vehicles(&mut view, &train, (&link, speaks.then())).await?;
    let answered = match speaks.then() {
        None => answered(&mut view, &vehicles, &link, state.when()).await?,
        Some(as_at) => answered_then(&mut view, (&vehicles, &link), (as_at, day)).await?,
    };
    if let Some((field, why)) = answered.answer.faults.first() {
        return Err(Problem::unreadable(field.name(), why));
    }
    let mut body = DecisionBody::new(&answered, &link);
    if let [(_, train)] = train.as_slice() {
        body.formed_later = formed_later(&mut view, train, speaks.then()).await?;
    }
    Ok(Json(body))
}

/// The trains formed after one that cars of it are in, or were in then.
async fn formed_later(
    view: &mut View,
    train: &str,
    then: Option<AsAt>,
) -> Result<Vec<String>, Problem> {
    let id: TrainId = super::fields::named("train", train)?;
    let found = match then {
        None => view.train(&id).await,
        Some(as_at) => view.train_told(&id, as_at).await,
    };
    let Some(train) = found.map_err(Failure::from)? else {
        return Ok(Vec::new());
    };
    let later = match then {
        None => view.formed_later(&train).await,
        Some(as_at) => view.formed_later_told(&train, as_at).await,
    };
    let later = later.map_err(Failure::from)?;
    Ok(later.iter().map(ToString::to_string).collect())
}

/// What an address asks, by codes where it calls positions otherwise on a day.
pub(super) async fn link(
    view: &mut View,
    question: &mut [(String, String)],
    on: Day,
) -> Result<QuestionLink, Problem> {
    let told = |why: Unreadable| Problem::unreadable(field(&why), &why);
    match by_codes(view, question, on).await {
        Ok(()) => QuestionLink::read(String::new(), question).map_err(told),
        Err(Failure::Unreadable(why)) => Err(told(why)),
        Err(other) => Err(other.into()),
    }
}

/// The vehicles of the train or formation that an address names, as it is formed now or was then.
pub(super) async fn vehicles(
    view: &mut View,
    train: &[(String, String)],
    (link, then): (&QuestionLink, Option<AsAt>),
) -> Result<Vec<Vehicle>, Problem> {
    match (train, link.formation()) {
        ([(_, train)], None) => {
            let id: TrainId = super::fields::named("train", train)?;
            let found = match then {
                None => view.train(&id).await,
                Some(as_at) => view.train_told(&id, as_at).await,
            };
            let found = found.map_err(Failure::from)?;
            let found = found.ok_or_else(|| Problem::not_found("train", &id))?;
            Ok(found.formation.vehicles)
        }
        ([], Some(formation)) => {
            let formation: FormationText = super::fields::named("formation", formation)?;
            let found = view.vehicles(&formation).await.map_err(Failure::from)?;
            Ok(found.map_err(Failure::from)?)
        }
        _ => {
            let expected = "either a train or a formation".to_owned();
            Err(Problem::bad_field("train", expected))
        }
    }
}

/// The field that something unreadable in a question is of.
pub(super) fn field(why: &Unreadable) -> &'static str {
    match why.what {
        "supposition" => "close",
        other => other,
    }
}
