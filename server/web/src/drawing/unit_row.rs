//! The cars of a unit from the side, one behind the other as they stand, with what stands out
//! on each.

use super::WIDTH;
use super::car_side::Drawn;
use super::lanes::{count, in_lanes};
use super::outline::{Frame, Outline};
use super::symbol::Symbol;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::CarType;

/// A car to be drawn.
#[derive(Debug)]
pub(crate) struct DrawnCar<'a> {
    pub(crate) car_type: &'a CarType,
    pub(crate) orientation: Orientation,
    pub(crate) number: String,
    pub(crate) href: String,
    /// Its positions that stand out.
    pub(crate) positions: Vec<Drawn>,
}

/// A symbol above a car.
#[derive(Debug)]
pub(crate) struct SmallMark {
    pub(crate) x: i32,
    pub(crate) y: i32,
    pub(crate) symbol: &'static str,
    pub(crate) class: String,
    pub(crate) sign: &'static str,
    pub(crate) cut_out: bool,
    pub(crate) title: String,
    pub(crate) href: String,
}

/// A car of the row.
#[derive(Debug)]
pub(crate) struct RowCar {
    pub(crate) outline: Outline,
    pub(crate) number: String,
    pub(crate) title: String,
    pub(crate) href: String,
    pub(crate) marks: Vec<SmallMark>,
}

/// The row.
#[derive(Debug)]
pub(crate) struct UnitRow {
    pub(crate) height: i32,
    /// Top of the bodies.
    pub(crate) body: i32,
    pub(crate) rail: i32,
    pub(crate) cars: Vec<RowCar>,
    pub(crate) legend: Vec<Symbol>,
}

const MARGIN: i32 = 16;
/// Between the cars.
const GAP: i32 = 8;
/// Room for a symbol.
const CELL: (i32, i32) = (30, 28);
const SLACK: i32 = 15;
const BODY: i32 = 48;
const RUNNING_GEAR: i32 = 20;

impl UnitRow {
    /// Draws the cars at one scale.
    pub(crate) fn new(cars: Vec<DrawnCar<'_>>) -> Self {
        let total_mm: i64 = cars
            .iter()
            .map(|car| i64::from(car.car_type.length_mm))
            .sum();
        let gaps = GAP * i32::try_from(cars.len().saturating_sub(1)).unwrap_or(0);
        let room = i64::from(WIDTH - 2 * MARGIN - gaps);
        let mut legend: Vec<Symbol> = cars
            .iter()
            .flat_map(|car| car.positions.iter().map(|p| Symbol::of(p.kind)))
            .collect();
        legend.sort_unstable();
        legend.dedup();
        let mut left = MARGIN;
        let mut framed = Vec::with_capacity(cars.len());
        for car in cars {
            let length = i64::from(car.car_type.length_mm);
            let width = i32::try_from(room * length / total_mm.max(1)).unwrap_or(WIDTH);
            let frame = Frame {
                left,
                width,
                length_mm: car.car_type.length_mm,
                orientation: car.orientation,
            };
            left += width + GAP;
            let wishes: Vec<i32> = car.positions.iter().map(|p| over(&frame, p)).collect();
            let places = in_lanes(&wishes, CELL.0, SLACK);
            framed.push((car, frame, places));
        }
        let rows = framed.iter().map(|(.., places)| count(places)).max();
        let rows = i32::try_from(rows.unwrap_or(0)).unwrap_or(0);
        let body = 8 + rows * CELL.1;
        let row_car = |(car, frame, places): (DrawnCar<'_>, Frame, Vec<_>)| RowCar {
            outline: Outline::of(car.car_type, &frame),
            title: format!("car {}, {}", car.number, car.car_type.title),
            number: car.number,
            href: car.href,
            marks: car
                .positions
                .into_iter()
                .zip(places)
                .map(|(position, place)| small(position, place, body))
                .collect(),
        };
        Self {
            height: body + BODY + RUNNING_GEAR + 10,
            body,
            rail: body + BODY + RUNNING_GEAR,
            cars: framed.into_iter().map(row_car).collect(),
            legend,
        }
    }
}

/// Where a symbol belongs, so that even moved aside it stands above its own car.
fn over(frame: &Frame, position: &Drawn) -> i32 {
    let room = CELL.0 / 2 + SLACK;
    let (first, last) = (frame.left + room, frame.left + frame.width - room);
    frame.x(position.along_mm).min(last).max(first)
}

fn small(position: Drawn, place: super::lanes::Place, body: i32) -> SmallMark {
    let lane = i32::try_from(place.lane).unwrap_or(0);
    SmallMark {
        x: place.x,
        y: body - 4 - lane * CELL.1 - CELL.1 / 2,
        symbol: Symbol::of(position.kind).id(),
        class: position.standing.class(),
        sign: position.standing.mark(),
        cut_out: position.standing.cut_out,
        title: position.title,
        href: position.href,
    }
}
