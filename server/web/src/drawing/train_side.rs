//! A train from the side: its cars in order and orientation, three to a row, with what brakes,
//! what does not, what drags, and its cocks.

use super::lanes::{Place, count, in_lanes};
use super::outline::{Frame, Outline};
use super::wheels::{CockState, Effects, Wheel, brake, parking, wheel};
use domain::configuration::car_type::CarType;
use domain::decision::TrainCar;
use domain::identity::PositionCode;

/// Width of a row in its own units; a page of 1280 pixels shows it enlarged by a third.
const WIDTH: i32 = 900;
/// The longest row; a longer car gets a row of its own. A shorter row is drawn no larger than
/// as if it were half as long.
const ROW_MM: u32 = 80_000;
const CARS_IN_ROW: usize = 3;
const MARGIN: i32 = 6;
const GAP: i32 = 12;
/// Room for a cock: it is a button, and large enough to be hit with a thumb.
const CELL: (i32, i32) = (32, 32);
/// How far a cock may stand from its place.
const SLACK: i32 = 9;
const HEADING: i32 = 30;
const BODY: i32 = 46;
const GEAR: i32 = 40;
const FOOT: i32 = 58;

/// An axle.
#[derive(Debug)]
pub(crate) struct AxleMark {
    pub(crate) x: i32,
    pub(crate) wheel: Wheel,
    /// Whether its parking brake holds, where it has one.
    pub(crate) parking: Option<Wheel>,
    pub(crate) title: String,
}

/// A cock or another position that stands out.
#[derive(Debug)]
pub(crate) struct CockMark {
    pub(crate) x: i32,
    pub(crate) y: i32,
    pub(crate) state: CockState,
    pub(crate) label: String,
    pub(crate) title: String,
    pub(crate) href: String,
}

/// Lines on a button, at most.
const LABEL_LINES: usize = 3;
/// From one line on a button to the next.
const LABEL_LINE: i32 = 9;

impl CockMark {
    /// Its label in lines, each with its height: a code is longer than a button is wide.
    pub(crate) fn lines(&self) -> Vec<(i32, &str)> {
        let lines: Vec<&str> = self.label.splitn(LABEL_LINES, '-').collect();
        let below = i32::try_from(lines.len()).unwrap_or(1) - 1;
        let first = self.y + if below == 0 { 5 } else { 3 } - below * LABEL_LINE / 2;
        let heights = (0..).map(|line| first + line * LABEL_LINE);
        heights.zip(lines).collect()
    }
}

/// A position to be drawn as a button.
#[derive(Debug)]
pub(crate) struct Cock {
    pub(crate) code: PositionCode,
    pub(crate) along_mm: u32,
    pub(crate) state: CockState,
    pub(crate) label: String,
    pub(crate) title: String,
    pub(crate) href: String,
}

/// A bogie with its count of axles.
#[derive(Debug)]
pub(crate) struct BogieMark {
    pub(crate) x: i32,
    pub(crate) width: i32,
    pub(crate) middle: i32,
    pub(crate) name: String,
    /// How many of its axles brake; nothing where there is no answer.
    pub(crate) works: String,
}

/// A car.
#[derive(Debug)]
pub(crate) struct CarMark {
    pub(crate) number: String,
    pub(crate) car_type: String,
    pub(crate) turned: bool,
    pub(crate) outline: Outline,
    pub(crate) bogies: Vec<BogieMark>,
    pub(crate) axles: Vec<AxleMark>,
    pub(crate) cocks: Vec<CockMark>,
}

/// A row of the drawing.
#[derive(Debug)]
pub(crate) struct Row {
    pub(crate) width: i32,
    pub(crate) height: i32,
    /// Top of the bodies.
    pub(crate) body: i32,
    /// Middle of the wheels.
    pub(crate) wheels: i32,
    /// Where the row stands in the train, in words.
    pub(crate) words: String,
    pub(crate) cars: Vec<CarMark>,
}

/// Draws a train; the cocks of each car in the order of the cars.
pub(crate) fn rows(
    cars: &[TrainCar],
    mut cocks: Vec<Vec<Cock>>,
    effects: Option<Effects<'_>>,
) -> Vec<Row> {
    let mut firsts = vec![0];
    let mut rows = Vec::new();
    while let Some(first) = firsts.last().copied().filter(|first| *first < cars.len()) {
        firsts.push(first + fitting(&cars[first..]));
    }
    let length = |bounds: &[usize]| length_mm(&cars[bounds[0]..bounds[1]]);
    let longest = firsts.windows(2).map(length).max().unwrap_or(ROW_MM);
    for bounds in firsts.windows(2) {
        let (first, upto) = (bounds[0], bounds[1]);
        let of_row: Vec<(usize, &TrainCar, Vec<Cock>)> = (first..upto)
            .map(|place| {
                let cocks = cocks.get_mut(place).map(std::mem::take);
                (place, &cars[place], cocks.unwrap_or_default())
            })
            .collect();
        let mut row = row(of_row, longest.max(ROW_MM / 2), effects);
        row.words = words(first, upto, cars.len());
        rows.push(row);
    }
    rows
}

fn length_mm(cars: &[TrainCar]) -> u32 {
    cars.iter()
        .map(|car| car.circuit.car_type().length_mm)
        .sum()
}

/// How many of the cars fit into one row; at least one.
fn fitting(cars: &[TrainCar]) -> usize {
    let mut length = 0;
    let fits = cars.iter().take(CARS_IN_ROW).take_while(|car| {
        length += car.circuit.car_type().length_mm;
        length <= ROW_MM
    });
    fits.count().max(1)
}

fn words(first: usize, upto: usize, all: usize) -> String {
    let front = if first == 0 {
        "◄ front of the train"
    } else {
        "◄ from the row above"
    };
    let rear = if upto == all {
        "rear of the train"
    } else {
        "continues below ►"
    };
    format!("{front} · cars {} to {upto} of {all} · {rear}", first + 1)
}

fn row(
    cars: Vec<(usize, &TrainCar, Vec<Cock>)>,
    longest_mm: u32,
    effects: Option<Effects<'_>>,
) -> Row {
    let mut left = MARGIN;
    let mut placed = Vec::new();
    for (place, car, cocks) in cars {
        let frame = frame(car, left, longest_mm);
        left += frame.width + GAP;
        let wishes: Vec<i32> = cocks.iter().map(|cock| frame.x(cock.along_mm)).collect();
        let lanes = in_lanes(&within(&wishes, &frame), CELL.0, SLACK);
        placed.push((place, car, cocks, frame, lanes));
    }
    let lanes = placed.iter().map(|(.., lanes)| count(lanes)).max();
    let lanes = i32::try_from(lanes.unwrap_or(0)).unwrap_or(0);
    let body = HEADING + lanes * CELL.1 + 4;
    let cars = placed.into_iter().map(|(place, car, cocks, frame, lanes)| {
        let car_type = car.circuit.car_type();
        CarMark {
            number: car.number.to_string(),
            car_type: format!("{} {}", car_type.name, car_type.revision),
            turned: car.orientation == domain::configuration::car::Orientation::Reversed,
            outline: Outline::of(car_type, &frame),
            bogies: bogies(place, car_type, &frame, effects),
            axles: axles(place, car_type, &frame, effects),
            cocks: marks(cocks, &lanes, body),
        }
    });
    Row {
        width: WIDTH,
        height: body + BODY + GEAR + FOOT,
        body,
        wheels: body + BODY + 20,
        words: String::new(),
        cars: cars.collect(),
    }
}

fn frame(car: &TrainCar, left: i32, longest_mm: u32) -> Frame {
    let length_mm = car.circuit.car_type().length_mm;
    let gaps = i32::try_from(CARS_IN_ROW - 1).unwrap_or(0) * GAP;
    let room = i64::from(WIDTH - 2 * MARGIN - gaps);
    let width = room * i64::from(length_mm) / i64::from(longest_mm);
    Frame {
        left,
        width: i32::try_from(width).unwrap_or(WIDTH),
        length_mm,
        orientation: car.orientation,
    }
}

/// Keeps the middles of buttons so far inside the car that they do not reach over its neighbours.
fn within(wishes: &[i32], frame: &Frame) -> Vec<i32> {
    let half = CELL.0 / 2 + SLACK;
    let (least, most) = (frame.left + half, frame.left + frame.width - half);
    wishes.iter().map(|x| (*x).min(most).max(least)).collect()
}

fn marks(cocks: Vec<Cock>, places: &[Place], body: i32) -> Vec<CockMark> {
    let mark = |(cock, place): (Cock, &Place)| CockMark {
        x: place.x,
        y: body - 4 - CELL.1 / 2 - i32::try_from(place.lane).unwrap_or(0) * CELL.1,
        state: cock.state,
        label: cock.label,
        title: cock.title,
        href: cock.href,
    };
    cocks.into_iter().zip(places).map(mark).collect()
}

fn bogies(
    place: usize,
    car_type: &CarType,
    frame: &Frame,
    effects: Option<Effects<'_>>,
) -> Vec<BogieMark> {
    let outline = Outline::of(car_type, frame);
    let mark = |bogie: super::outline::BogieBox| {
        let axles = car_type
            .axles()
            .filter(|(number, _)| *number == bogie.number);
        let brakes: Vec<Wheel> = axles
            .map(|(_, axle)| brake(place, axle.number, effects))
            .collect();
        let works = brakes
            .iter()
            .filter(|brake| **brake == Wheel::Operative)
            .count();
        let works = effects.map(|_| format!("{works} of {} axles", brakes.len()));
        BogieMark {
            x: bogie.x,
            width: bogie.width,
            middle: bogie.middle,
            name: format!("bogie {}", bogie.number),
            works: works.unwrap_or_default(),
        }
    };
    outline.bogies.into_iter().map(mark).collect()
}

fn axles(
    place: usize,
    car_type: &CarType,
    frame: &Frame,
    effects: Option<Effects<'_>>,
) -> Vec<AxleMark> {
    let mark = |number: u8, along_mm: u32| {
        let wheel = wheel(place, number, effects);
        let parking = effects.and_then(|effects| parking(place, number, effects));
        let brakes = match (wheel, brake(place, number, effects)) {
            (Wheel::Dragging, brake) => format!(" and {}", brake.words()),
            _ => String::new(),
        };
        let held = match parking {
            Some(Wheel::Operative) => "; its parking brake holds",
            Some(_) => "; its parking brake does not hold",
            None => "",
        };
        AxleMark {
            x: frame.x(along_mm),
            wheel,
            parking,
            title: format!("axle {number} {}{brakes}{held}", wheel.words()),
        }
    };
    let axles = car_type.axles();
    axles
        .map(|(_, axle)| mark(axle.number, axle.along_mm))
        .collect()
}
