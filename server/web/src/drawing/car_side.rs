//! A car from the side with all its positions: those of the left side above, those of the right
//! side below, each within half a metre of its place.

use super::WIDTH;
use super::lanes::{Place, count, in_lanes};
use super::outline::{Frame, Outline};
use super::symbol::{Standing, Symbol};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{CarType, PositionKind, Side};

/// A position to be drawn.
#[derive(Debug)]
pub(crate) struct Drawn {
    pub(crate) kind: PositionKind,
    pub(crate) side: Option<Side>,
    pub(crate) along_mm: u32,
    pub(crate) standing: Standing,
    /// What stands under the symbol.
    pub(crate) label: String,
    /// Everything in words.
    pub(crate) title: String,
    pub(crate) href: String,
}

/// A symbol on the drawing.
#[derive(Debug)]
pub(crate) struct Mark {
    pub(crate) x: i32,
    pub(crate) y: i32,
    pub(crate) symbol: &'static str,
    pub(crate) class: String,
    pub(crate) sign: &'static str,
    pub(crate) cut_out: bool,
    pub(crate) label: String,
    pub(crate) title: String,
    pub(crate) href: String,
}

/// A whole number of metres from end 1.
#[derive(Debug)]
pub(crate) struct Tick {
    pub(crate) x: i32,
    pub(crate) metres: u32,
}

/// The drawing.
#[derive(Debug)]
pub(crate) struct CarSide {
    pub(crate) height: i32,
    pub(crate) outline: Outline,
    /// Top of the body.
    pub(crate) body: i32,
    /// The rail.
    pub(crate) rail: i32,
    /// Top of what lies below the car.
    pub(crate) below: i32,
    pub(crate) ticks: Vec<Tick>,
    pub(crate) marks: Vec<Mark>,
    /// The symbols that occur, for the legend.
    pub(crate) legend: Vec<Symbol>,
}

/// Room for a symbol with its label.
const CELL: (i32, i32) = (54, 42);
const MARGIN: i32 = 52;
const HEADING: i32 = 22;
const BODY: i32 = 62;
const RUNNING_GEAR: i32 = 26;
const RULER: i32 = 24;
/// How far a symbol may stand from its place.
const SLACK_MM: u32 = 500;
const TICK_METRES: u32 = 5;

impl CarSide {
    /// Draws a car of a type with its positions.
    pub(crate) fn new(car_type: &CarType, positions: Vec<Drawn>) -> Self {
        let frame = Frame {
            left: MARGIN,
            width: WIDTH - 2 * MARGIN,
            length_mm: car_type.length_mm,
            orientation: Orientation::Forward,
        };
        let mut legend: Vec<Symbol> = positions.iter().map(|p| Symbol::of(p.kind)).collect();
        legend.sort_unstable();
        legend.dedup();
        let (above, below): (Vec<Drawn>, Vec<Drawn>) = positions
            .into_iter()
            .partition(|position| position.side == Some(Side::Left));
        let (places_above, places_below) = (placed(&above, &frame), placed(&below, &frame));
        let body = HEADING + rows(&places_above) * CELL.1 + 6;
        let rail = body + BODY + RUNNING_GEAR;
        let top_below = rail + RULER;
        let first_below = top_below + HEADING;
        let upward = |lane: i32| body - 6 - lane * CELL.1 - CELL.1 / 2;
        let downward = |lane: i32| first_below + lane * CELL.1 + CELL.1 / 2;
        let mut marks = marks(above, &places_above, upward);
        marks.extend(self::marks(below, &places_below, downward));
        Self {
            height: first_below + rows(&places_below) * CELL.1 + 6,
            outline: Outline::of(car_type, &frame),
            body,
            rail,
            below: top_below,
            ticks: ticks(car_type.length_mm, &frame),
            marks,
            legend,
        }
    }
}

fn placed(positions: &[Drawn], frame: &Frame) -> Vec<Place> {
    let wishes: Vec<i32> = positions.iter().map(|p| frame.x(p.along_mm)).collect();
    in_lanes(&wishes, CELL.0, frame.span(SLACK_MM))
}

fn rows(places: &[Place]) -> i32 {
    i32::try_from(count(places)).unwrap_or(i32::MAX / CELL.1)
}

fn marks(positions: Vec<Drawn>, places: &[Place], y: impl Fn(i32) -> i32) -> Vec<Mark> {
    let mark = |(position, place): (Drawn, &Place)| Mark {
        x: place.x,
        y: y(i32::try_from(place.lane).unwrap_or(0)),
        symbol: Symbol::of(position.kind).id(),
        class: position.standing.class(),
        sign: position.standing.mark(),
        cut_out: position.standing.cut_out,
        label: position.label,
        title: position.title,
        href: position.href,
    };
    positions.into_iter().zip(places).map(mark).collect()
}

fn ticks(length_mm: u32, frame: &Frame) -> Vec<Tick> {
    (0..=length_mm / 1000)
        .step_by(TICK_METRES as usize)
        .map(|metres| Tick {
            x: frame.x(metres * 1000),
            metres,
        })
        .collect()
}
