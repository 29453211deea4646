//! Further questions about a train: the same answers that the pages give, for programs.

mod bodies;
pub(super) mod closing;
pub(super) mod faults;
pub(super) mod path;
pub(super) mod revealed;
pub(super) mod weak_points;

use super::decision::{link, vehicles};
use super::problem::Problem;
use crate::as_at::AsAtQuery;
use crate::failure::Failure;
use crate::page::further::posed::{Extra, Posed, pose, pose_then};
use crate::page::named_place::extra_by_codes;
use crate::state::WebState;
use domain::configuration::component::PositionRef;
use domain::decision::Question;
use domain::unreadable::Unreadable;
use domain::worked::Missing;

type Query = Vec<(String, String)>;

/// Reads the question of an address: a train or a formation, as it stands or stood, or supposed.
async fn posed(state: &WebState, mut query: Query) -> Result<Posed, Problem> {
    let times = AsAtQuery::take(&mut query);
    let speaks = times.read(state)?;
    let day = state.zone.day_of(speaks.times.effective);
    let (mut extra, query) = Extra::split(query);
    let (train, mut question): (Query, Query) =
        query.into_iter().partition(|(name, _)| name == "train");
    let mut view = speaks.view(state).await.map_err(Failure::from)?;
    let link = link(&mut view, &mut question, day).await?.of_times(times);
    let by_codes = extra_by_codes(&mut view, &mut extra, day).await;
    by_codes.map_err(|failure| match failure {
        Failure::Unreadable(why) if why.what == "position" => Problem::unreadable("position", &why),
        Failure::Unreadable(why) => Problem::unreadable("saw", &why),
        other => other.into(),
    })?;
    let vehicles = vehicles(&mut view, &train, (&link, speaks.then())).await?;
    let asked = (link, extra);
    let posed = match speaks.then() {
        None => pose(&mut view, &vehicles, asked, state.when()).await?,
        Some(as_at) => pose_then(&mut view, &vehicles, asked, (as_at, day)).await?,
    };
    if let Some((field, why)) = posed.asking.faults.first() {
        return Err(Problem::unreadable(field.name(), why));
    }
    Ok(posed)
}

/// The question, or why there is none.
fn question(posed: &Posed) -> Result<&Question, Missing> {
    posed.asking.question.as_ref().map_err(Clone::clone)
}

/// The position asked about.
fn position(posed: &Posed) -> Result<PositionRef, Problem> {
    let named = |why: Unreadable| {
        let field = if why.what.contains("car") {
            "car"
        } else {
            "position"
        };
        Problem::unreadable(field, &why)
    };
    let at = posed.extra.position().map_err(named)?;
    at.ok_or_else(|| Problem::bad_field("position", "a car and a position of it".to_owned()))
}
