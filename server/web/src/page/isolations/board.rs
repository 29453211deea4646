//! The board: every cut-out in force, by train, with what each rule set in force says of that
//! train. The verdicts are worked out for all of them, from one read of all their cars, so that the
//! strictest stand on the first page; most boards have no other. A train on which the last cut-out ended
//! stays for a day where its decision became void by that, and while a failed test speaks against the end.

use super::places::{Group, Known, Place, Telling, groups, with_ended};
use crate::as_at::AsAtQuery;
use crate::frame::Frame;
use crate::page::decision::answered::rule_sets;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::configuration::car::Vehicle;
use domain::identity::{CarNumber, TrainId};
use domain::ledger::entry::Seq;
use domain::people::ISOLATES;
use domain::time::Day;
use serde::Deserialize;
use std::collections::{BTreeSet, HashMap};
use store::read::board::BOARD_MAX;

/// For how many days a train is told of after its last decision became void, with no cut-out in force.
pub(crate) const ENDED_DAYS: i64 = 1;

/// Trains, units and single cars with cut-outs on one page.
const PLACES_PAGE: usize = 60;

#[derive(Template)]
#[template(path = "isolations/board.html")]
struct BoardPage {
    frame: Frame,
    places: Vec<Place>,
    cut_outs: usize,
    more_than_shown: bool,
    pages: Vec<usize>,
    shown_page: usize,
    may_record: bool,
    last_change: i64,
    last_change_at: Option<String>,
    today: Day,
    /// When the first of what is told here changes by the clock alone; empty where nothing does.
    until: String,
}

/// Which page of the board. It tells of now only.
#[derive(Debug, Deserialize)]
pub(crate) struct BoardQuery {
    #[serde(default)]
    page: usize,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

const OF_NOW: &str = "nothing: the board tells what is cut out now. What was cut out on a car at \
                      another time stands on the page of the car";

/// `GET /isolations?page=…`. Ten statements whatever the number of trains, and three more where a test
/// was failed; the time grows with all trains that have cut-outs, of which there are at most
/// [`BOARD_MAX`].
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<BoardQuery>,
) -> PageResult {
    let BoardQuery {
        page: wanted,
        at,
        known,
    } = query;
    AsAtQuery { at, known }.refuse_other_times(OF_NOW)?;
    let mut view = state.store.view().await?;
    let mut board = view.isolations_in_force().await?;
    let more_than_shown = BOARD_MAX < board.len();
    board.truncate(BOARD_MAX);
    let cut_outs = board.len();
    let mut all = groups(board);
    // Of what is not shown cut-outs may be in force.
    if !more_than_shown {
        let since = state.now().earlier_by_days(ENDED_DAYS);
        all = with_ended(all, view.ended_since(since).await?.into_keys());
    }
    let pages = all.len().div_ceil(PLACES_PAGE).max(1);
    let shown_page = wanted.clamp(1, pages);
    let names = all.iter().filter_map(|(key, _)| key.train().cloned());
    let names: Vec<TrainId> = names.collect();
    let trains = view.trains_named(&names).await?;
    let vehicles: Vec<Vec<Vehicle>> = all.iter().map(|(key, _)| key.vehicles(&trains)).collect();
    let vehicles: Vec<&[Vehicle]> = vehicles.iter().map(Vec::as_slice).collect();
    let formations = view.formations(&vehicles, Some(state.today())).await?;
    let about = view.decisions_about(&names, &cars_of(&all)).await?;
    let telling = Telling {
        documents: &view.documents,
        rule_sets: rule_sets(&view.documents, state.today()),
        state: &state,
    };
    let formed: HashMap<&TrainId, Seq> = trains
        .iter()
        .map(|train| (&train.formation.id, train.by))
        .collect();
    let places = all.into_iter().zip(formations).map(|(group, cars)| {
        let known = Known {
            cars,
            formed_by: group.0.train().and_then(|id| formed.get(id).copied()),
            decisions: &about.decisions,
            told: &about.told,
        };
        telling.place(group, known)
    });
    let mut places: Vec<Place> = places.collect();
    places.sort_by_key(Place::urgency);
    let places = places.into_iter().skip((shown_page - 1) * PLACES_PAGE);
    let places: Vec<Place> = places.take(PLACES_PAGE).collect();
    let frame = Frame::new(&state, &signed_in);
    page(&BoardPage {
        until: until(&places),
        last_change: view.last_change,
        last_change_at: view.last_change_at.map(|at| state.zone.show(at)),
        today: state.today(),
        may_record: frame.holds(ISOLATES),
        frame,
        places,
        cut_outs,
        more_than_shown,
        pages: (1..=pages).collect(),
        shown_page,
    })
}

/// The cars with cut-outs, each once.
fn cars_of(all: &[Group]) -> Vec<CarNumber> {
    let cut_outs = all.iter().flat_map(|(_, cut_outs)| cut_outs.iter());
    let cars: BTreeSet<CarNumber> = cut_outs
        .map(|cut_out| cut_out.isolation.cut_out.at.car.clone())
        .collect();
    cars.into_iter().collect()
}

/// When the first of what is said of some places changes by the clock alone.
fn until(places: &[Place]) -> String {
    let until = places.iter().filter_map(Place::counted_until).min();
    until.map_or(String::new(), |until| until.to_string())
}
