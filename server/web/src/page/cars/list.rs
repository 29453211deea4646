//! All cars, by number.

use crate::address;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::ledger::dossier::CarRecord;
use serde::Deserialize;
use store::read::cars::{CARS_PAGE, CarFilter, FleetAtDepot};

/// `?fleet=…&depot=…&after=…`
#[derive(Debug, Default, Deserialize)]
pub(crate) struct CarsQuery {
    #[serde(default)]
    fleet: String,
    #[serde(default)]
    depot: String,
    #[serde(default)]
    after: String,
}

#[derive(Template)]
#[template(path = "cars/list.html")]
struct CarsPage {
    frame: Frame,
    query: CarsQuery,
    fleets: Vec<String>,
    depots: Vec<String>,
    cars: Vec<CarRecord>,
    /// Where the next page begins.
    next: Option<String>,
}

/// `GET /cars`
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
    let mut view = state.store.view().await?;
    let everywhere = view.fleets().await?;
    let mut cars = view.cars(&filter).await?;
    for car in &mut cars {
        view.documents.as_on(&mut car.car, state.today());
    }
    let next = (CARS_PAGE < cars.len()).then(|| {
        cars.truncate(CARS_PAGE);
        next_page(&query, cars.last())
    });
    page(&CarsPage {
        frame: Frame::new(&state, &signed_in),
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
    format!(
        "/cars?fleet={}&depot={}&after={}",
        address::encoded(&query.fleet),
        address::encoded(&query.depot),
        address::encoded(after)
    )
}

fn distinct(rows: &[FleetAtDepot], of: impl Fn(&FleetAtDepot) -> String) -> Vec<String> {
    let mut names: Vec<String> = rows.iter().map(of).collect();
    names.sort_unstable();
    names.dedup();
    names
}
