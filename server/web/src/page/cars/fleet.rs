//! A fleet: its depots, and the units and single cars that each keeps.

use crate::address;
use crate::as_at::AsAtQuery;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::identity::{DepotName, FleetName, UnitNumber};
use domain::ledger::dossier::CarRecord;
use domain::time::Day;
use serde::Deserialize;
use std::collections::HashMap;
use store::StoreError;
use store::read::View;
use store::read::cars::{CARS_PAGE, FleetAtDepot, UNIT_CARS_PAGE};
use store::read::due::DueOnUnit;

/// `?depot=…&after=…`
#[derive(Debug, Default, Deserialize)]
pub(crate) struct FleetQuery {
    #[serde(default)]
    depot: String,
    #[serde(default)]
    after: String,
}

#[derive(Template)]
#[template(path = "cars/fleet.html")]
struct FleetPage {
    frame: Frame,
    fleet: FleetName,
    depots: Vec<FleetAtDepot>,
    depot: DepotName,
    units: Vec<UnitCars>,
    single: Vec<CarRecord>,
    /// Whether there are more single cars than are shown.
    more_single: bool,
    /// Where the next page begins.
    next: Option<String>,
    /// The day until which due work is counted.
    until: Day,
}

/// A unit with its cars in order.
struct UnitCars {
    unit: UnitNumber,
    cars: Vec<CarRecord>,
    /// What is due on them.
    due: DueOnUnit,
    /// How many cut-outs are in force on them.
    cut_outs: usize,
}

/// What is expected where another time is asked for.
const OF_NOW: &str = "nothing: the page tells what is due and cut out in the fleet now. The list of \
                      cars tells in which units they were at another time, the page of a unit what \
                      was due on it and cut out";

/// How far ahead the work of a fleet is counted.
const SOON_DAYS: i64 = 30;

/// `GET /fleets/{fleet}`. Six statements. It tells of now alone.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(fleet): Path<String>,
    Query(query): Query<FleetQuery>,
    Query(asked): Query<AsAtQuery>,
) -> PageResult {
    asked.refuse_other_times(OF_NOW)?;
    let fleet: FleetName = fleet.parse()?;
    let mut view = state.store.view().await?;
    let mut depots = view.fleets().await?;
    depots.retain(|row| row.fleet == fleet);
    let not_found = |what, name: &str| Failure::NotFound {
        what,
        name: name.to_owned(),
    };
    let first = depots
        .first()
        .ok_or_else(|| not_found("fleet", fleet.as_str()))?;
    let depot = if query.depot.is_empty() {
        first.depot.clone()
    } else {
        query.depot.parse()?
    };
    let after = (!query.after.is_empty()).then(|| query.after.parse());
    let cars = view
        .cars_in_units(&fleet, &depot, after.transpose()?.as_ref())
        .await?;
    let more = UNIT_CARS_PAGE < cars.len();
    let mut units = by_unit(cars);
    // The last unit of a full page may be cut off; the next page begins with it.
    let next = more.then(|| units.pop()).flatten().and_then(|_| {
        let last = units.last()?;
        let after = address::encoded(last.unit.as_str());
        Some(format!(
            "{}&after={after}",
            address::fleet_at(&fleet, &depot)
        ))
    });
    let mut single = if more {
        Vec::new()
    } else {
        view.cars_without_unit(&fleet, &depot).await?
    };
    let until = state.today().plus_days(SOON_DAYS);
    tell(
        &mut view,
        &mut units,
        (&fleet, &depot),
        (state.today(), until),
    )
    .await?;
    let more_single = CARS_PAGE < single.len();
    single.truncate(CARS_PAGE);
    page(&FleetPage {
        frame: Frame::new(&state, &signed_in),
        fleet,
        depots,
        depot,
        units,
        single,
        more_single,
        next,
        until,
    })
}

/// What is due on units, and what is cut out on them. Two statements.
async fn tell(
    view: &mut View,
    units: &mut [UnitCars],
    place: (&FleetName, &DepotName),
    days: (Day, Day),
) -> Result<(), StoreError> {
    let due = view.due_by_unit(place, days).await?;
    let mut cut_outs: HashMap<UnitNumber, usize> = HashMap::new();
    for cut_out in view.isolations_in_force().await? {
        if let Some(unit) = cut_out.unit {
            *cut_outs.entry(unit).or_default() += 1;
        }
    }
    for row in units {
        row.due = due.get(&row.unit).copied().unwrap_or_default();
        row.cut_outs = cut_outs.get(&row.unit).copied().unwrap_or(0);
    }
    Ok(())
}

/// Cars in the order of their units, put together by unit.
fn by_unit(cars: Vec<CarRecord>) -> Vec<UnitCars> {
    let mut units: Vec<UnitCars> = Vec::new();
    for car in cars {
        let Some(membership) = &car.unit else {
            continue;
        };
        match units.last_mut() {
            Some(last) if last.unit == membership.unit => last.cars.push(car),
            _ => units.push(UnitCars {
                unit: membership.unit.clone(),
                cars: vec![car],
                due: DueOnUnit::default(),
                cut_outs: 0,
            }),
        }
    }
    units
}
