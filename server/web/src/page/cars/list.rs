//! All cars, by number.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::ledger::dossier::CarRecord;
use serde::Deserialize;
use store::read::cars::{CARS_PAGE, CarFilter, FleetAtDepot};

/// `?fleet=…&depot=…&after=…&at=…&known=…`
#[derive(Debug, Default, Deserialize)]
pub(crate) struct CarsQuery {
    #[serde(default)]
    fleet: String,
    #[serde(default)]
    depot: String,
    #[serde(default)]
    after: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

#[derive(Template)]
#[template(path = "cars/list.html")]
struct CarsPage {
    frame: Frame,
    speaks: PageSpeaks,
    query: CarsQuery,
    fleets: Vec<String>,
    depots: Vec<String>,
    cars: Vec<CarRecord>,
    /// Where the next page begins.
    next: Option<String>,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "in which units cars were, and which baseline was in force for them",
    "Cars that were not registered then are not here. Their fleets and depots are told as they are registered now.",
);

/// `GET /cars`. Two statements; of a past time three more.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<CarsQuery>,
) -> PageResult {
    let filter = CarFilter {
        fleet: given(&query.fleet)?,
        depot: given(&query.depot)?,
        after: given(&query.after)?,
    };
    let times = AsAtQuery {
        at: query.at.clone(),
        known: query.known.clone(),
    };
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let everywhere = view.fleets().await?;
    let mut cars = match speaks.then() {
        None => view.cars(&filter).await?,
        Some(as_at) => view.cars_told(&filter, as_at).await?,
    };
    let on = state.zone.day_of(speaks.times.effective);
    for car in &mut cars {
        view.documents.as_on(&mut car.car, on);
    }
    let next = (CARS_PAGE < cars.len()).then(|| {
        cars.truncate(CARS_PAGE);
        next_page(&query, cars.last())
    });
    page(&CarsPage {
        frame: Frame::new(&state, &signed_in),
        speaks: PageSpeaks::new((&times, &speaks), "/cars".to_owned(), WHAT),
        fleets: distinct(&everywhere, |row| row.fleet.to_string()),
        depots: distinct(&everywhere, |row| row.depot.to_string()),
        query,
        cars,
        next,
    })
}

/// A value of a query, unless it is empty.
fn given<T: std::str::FromStr>(text: &str) -> Result<Option<T>, T::Err> {
    if text.is_empty() {
        return Ok(None);
    }
    text.parse().map(Some)
}

fn next_page(query: &CarsQuery, last: Option<&CarRecord>) -> String {
    let after = last.map_or("", |record| record.car.number.as_str());
    let fields = [
        ("fleet", query.fleet.as_str()),
        ("depot", &query.depot),
        ("after", after),
        ("at", &query.at),
        ("known", &query.known),
    ];
    address::with_query("/cars", fields)
}

fn distinct(rows: &[FleetAtDepot], of: impl Fn(&FleetAtDepot) -> String) -> Vec<String> {
    let mut names: Vec<String> = rows.iter().map(of).collect();
    names.sort_unstable();
    names.dedup();
    names
}
