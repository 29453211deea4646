//! A unit: its cars in order, from the side, with what stands out and what is due next.

use super::car::on_car;
use super::positions::{CarPositions, DueSummary};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::campaigns::CampaignNote;
use crate::drawing::car_side::Drawn;
use crate::drawing::unit_row::{DrawnCar, UnitRow};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::car::{Orientation, Vehicle};
use domain::configuration::car_type::CarType;
use domain::due::state::State as DueState;
use domain::identity::UnitNumber;
use domain::ledger::dossier::{CarRecord, IsolationRecord};
use domain::ledger::entry::Seq;
use std::sync::Arc;
use store::read::View;
use store::read::campaigns::OnCars;
use store::read::due::DueOnCar;
use store::read::formations::CarInTrain;

#[derive(Template)]
#[template(path = "cars/unit.html")]
struct UnitPage {
    frame: Frame,
    speaks: PageSpeaks,
    unit: UnitNumber,
    fleet: String,
    fleet_href: String,
    drawing: UnitRow,
    cars: Vec<CarRow>,
    cut_outs: Vec<IsolationRecord>,
    holds: Vec<HoldNote>,
    /// The modifications that still concern its cars or anything on them; of a past time none.
    campaigns: Vec<CampaignNote>,
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

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "what was fitted to its cars, cut out, held and due on them",
    "Fleet and depot of its cars are those of now.",
);

/// `GET /units/{unit}?at=…&known=…`. Of a past time at most eighteen statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(unit): Path<String>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let unit: UnitNumber = unit.parse()?;
    let speaks = query.read(&state)?;
    let not_found = || Failure::NotFound {
        what: "unit",
        name: unit.to_string(),
    };
    let mut view = speaks.view(&state).await?;
    let vehicles = vehicles(&mut view, &unit, &speaks).await?;
    let mut cars = view
        .formation(&vehicles, None)
        .await?
        .map_err(|_| not_found())?;
    let due = due(&mut view, &mut cars, (&speaks, &state)).await?;
    let fleet = cars.first().ok_or_else(not_found)?.record.car.fleet.clone();
    let mut rows = Vec::with_capacity(cars.len());
    let mut drawn = Vec::with_capacity(cars.len());
    let today = state.zone.day_of(speaks.times.effective);
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
    let holds = holds(&mut view, &rows, (&speaks, &state)).await?;
    let on_cars = OnCars::Unit(&unit);
    let campaigns = CampaignNote::on(&mut view, on_cars, (&speaks, &state.zone)).await?;
    page(&UnitPage {
        frame: Frame::new(&state, &signed_in),
        fleet_href: address::fleet(&fleet),
        fleet: fleet.to_string(),
        drawing: UnitRow::new(drawn),
        holds,
        campaigns,
        speaks: PageSpeaks::new((&query, &speaks), address::unit(&unit), WHAT),
        unit,
        cars: rows,
        cut_outs: cars.into_iter().flat_map(|car| car.isolations).collect(),
        zone: state.zone.clone(),
    })
}

/// The unit, or its cars of then one by one.
async fn vehicles(
    view: &mut View,
    unit: &UnitNumber,
    speaks: &Speaks,
) -> Result<Vec<Vehicle>, Failure> {
    let Some(as_at) = speaks.then() else {
        return Ok(vec![Vehicle::Unit(unit.clone(), Orientation::Forward)]);
    };
    let cars = view.unit_told(unit, as_at).await?;
    let in_order = cars.into_iter().map(|car| {
        let stood = car.unit.map(|place| place.orientation);
        Vehicle::Car(car.car.number, stood.unwrap_or(Orientation::Forward))
    });
    Ok(in_order.collect())
}

/// What is due on the cars. Of a past time they are given what was fitted and cut out on them then.
async fn due(
    view: &mut View,
    cars: &mut [CarInTrain],
    (speaks, state): (&Speaks, &WebState),
) -> Result<Vec<DueOnCar>, Failure> {
    let records: Vec<CarRecord> = cars.iter().map(|car| car.record.clone()).collect();
    let records: Vec<&CarRecord> = records.iter().collect();
    let Some(as_at) = speaks.then() else {
        return Ok(view.due_on(&records, state.today()).await?);
    };
    let told = view.cars_then(&records, as_at).await?;
    for car in cars {
        let number = &car.record.car.number;
        car.filled = told.filled(number);
        car.isolations = told.then.cut_outs_in_force(number);
    }
    let due = records.iter().flat_map(|car| {
        let number = &car.car.number;
        let due = told.due_on(car, (&state.zone, as_at.effective)).into_iter();
        due.map(|item| on_car(item, number)).collect::<Vec<_>>()
    });
    Ok(due.collect())
}

/// The holds on the cars and on what is on them, now or as at a time.
async fn holds(
    view: &mut View,
    rows: &[CarRow],
    (speaks, state): (&Speaks, &WebState),
) -> Result<Vec<HoldNote>, Failure> {
    let Some(as_at) = speaks.then() else {
        let now = rows
            .iter()
            .flat_map(|row| view.holds.on_car(&row.car.car.number));
        return Ok(HoldNote::all(now, &state.zone));
    };
    let cars: Vec<Seq> = rows.iter().map(|row| row.car.id).collect();
    let then = view.holds_on_cars_at(&cars, as_at).await?;
    Ok(HoldNote::all(&then, &state.zone))
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
        filled: car.filled.codes().collect(),
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
