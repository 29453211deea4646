//! A unit: its cars in order, from the side, with what stands out and what is due next.

use super::positions::{CarPositions, DueSummary};
use crate::address;
use crate::drawing::car_side::Drawn;
use crate::drawing::unit_row::{DrawnCar, UnitRow};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use domain::configuration::car::{Orientation, Vehicle};
use domain::configuration::car_type::CarType;
use domain::due::state::State as DueState;
use domain::identity::UnitNumber;
use domain::ledger::dossier::{CarRecord, IsolationRecord};
use std::sync::Arc;
use store::read::due::DueOnCar;
use store::read::formations::CarInTrain;

#[derive(Template)]
#[template(path = "cars/unit.html")]
struct UnitPage {
    frame: Frame,
    unit: UnitNumber,
    fleet: String,
    fleet_href: String,
    drawing: UnitRow,
    cars: Vec<CarRow>,
    cut_outs: Vec<IsolationRecord>,
    holds: Vec<HoldNote>,
    zone: domain::time::Zone,
}

/// A car of the unit.
struct CarRow {
    car: CarRecord,
    orientation: Orientation,
    title: String,
    due: Option<DueSummary>,
    overdue: usize,
    empty: usize,
    cut_out: usize,
}

/// `GET /units/{unit}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(unit): Path<String>,
) -> PageResult {
    let unit: UnitNumber = unit.parse()?;
    let not_found = || Failure::NotFound {
        what: "unit",
        name: unit.to_string(),
    };
    let mut view = state.store.view().await?;
    let vehicle = [Vehicle::Unit(unit.clone(), Orientation::Forward)];
    let cars = view.formation(&vehicle).await?.map_err(|_| not_found())?;
    let records: Vec<&CarRecord> = cars.iter().map(|car| &car.record).collect();
    let due = view.due_on(&records, state.today()).await?;
    let fleet = cars.first().ok_or_else(not_found)?.record.car.fleet.clone();
    let mut rows = Vec::with_capacity(cars.len());
    let mut drawn = Vec::with_capacity(cars.len());
    let today = state.today();
    let types: Vec<Option<Arc<CarType>>> = cars
        .iter()
        .map(|car| view.documents.car_type(&car.record.car, today).cloned())
        .collect();
    for (car, car_type) in cars.iter().zip(&types) {
        let (row, positions) = standing_of(car, car_type.as_deref(), &due);
        rows.push(row);
        drawn.extend(car_type.as_deref().map(|car_type| DrawnCar {
            car_type,
            orientation: car.place.orientation,
            number: car.place.car.to_string(),
            href: address::car(&car.place.car),
            positions,
        }));
    }
    page(&UnitPage {
        frame: Frame::new(&state, &signed_in),
        unit,
        fleet_href: address::fleet(&fleet),
        fleet: fleet.to_string(),
        drawing: UnitRow::new(drawn),
        holds: HoldNote::all(
            rows.iter()
                .flat_map(|row| view.holds.on_car(&row.car.car.number)),
            &state.zone,
        ),
        cars: rows,
        cut_outs: cars.into_iter().flat_map(|car| car.isolations).collect(),
        zone: state.zone.clone(),
    })
}

/// A car's row, and its positions that stand out.
fn standing_of(
    car: &CarInTrain,
    car_type: Option<&CarType>,
    due: &[DueOnCar],
) -> (CarRow, Vec<Drawn>) {
    let number = &car.record.car.number;
    let due: Vec<&DueOnCar> = due.iter().filter(|item| item.car == *number).collect();
    let overdue = due.iter().filter(|item| item.state == DueState::Overdue);
    let mut row = CarRow {
        car: car.record.clone(),
        orientation: car.place.orientation,
        title: car_type.map_or_else(String::new, |known| known.title.clone()),
        due: DueSummary::of(due.iter().copied()),
        overdue: overdue.count(),
        empty: 0,
        cut_out: car.isolations.len(),
    };
    let Some(car_type) = car_type else {
        return (row, Vec::new());
    };
    let positions = CarPositions {
        car_type,
        filled: car.filled.iter().collect(),
        in_force: car.isolations.iter().collect(),
        due,
    };
    let standings = positions.standings();
    row.empty = standings.iter().filter(|standing| !standing.fitted).count();
    let stands_out = standings
        .iter()
        .filter(|standing| standing.standing().stands_out());
    let drawn = stands_out.map(|standing| standing.drawn(number)).collect();
    (row, drawn)
}
