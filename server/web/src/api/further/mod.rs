//! Further questions about a train: the same answers that the pages give, for programs.

mod bodies;
pub(super) mod closing;
pub(super) mod faults;
pub(super) mod path;
pub(super) mod revealed;
pub(super) mod weak_points;

use super::decision::{link, vehicles};
use super::problem::Problem;
use crate::failure::Failure;
use crate::page::further::posed::{Extra, Posed, pose};
use crate::page::named_place::extra_by_codes;
use crate::state::WebState;
use domain::configuration::component::PositionRef;
use domain::decision::Question;
use domain::unreadable::Unreadable;
use domain::worked::Missing;

type Query = Vec<(String, String)>;

/// Reads the question of an address: a train or a formation, as it stands or supposed.
async fn posed(state: &WebState, query: Query) -> Result<Posed, Problem> {
    let (mut extra, query) = Extra::split(query);
    let (train, mut question): (Query, Query) =
        query.into_iter().partition(|(name, _)| name == "train");
    let mut view = state.store.view().await.map_err(Failure::from)?;
    let link = link(&mut view, &mut question, state.today()).await?;
    let by_codes = extra_by_codes(&mut view, &mut extra, state.today()).await;
    by_codes.map_err(|failure| match failure {
        Failure::Unreadable(why) if why.what == "position" => Problem::unreadable("position", &why),
        Failure::Unreadable(why) => Problem::unreadable("saw", &why),
        other => other.into(),
    })?;
    let vehicles = vehicles(&mut view, &train, &link).await?;
    let posed = pose(&mut view, &vehicles, (link, extra), state.when()).await?;
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
