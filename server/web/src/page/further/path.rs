//! The path of air and demand to a position.

use super::head::Head;
use super::posed::Posed;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use askama::Template;
use domain::circuit::{Mode, Place};
use domain::decision::TrainCar;
use domain::isolation::cause::CauseKind;
use domain::isolation::path::{Delivers, Leg, Path, Reached, Stop};

#[derive(Template)]
#[template(path = "further/path.html")]
struct PathPage {
    frame: Frame,
    head: Head,
    car: String,
    position: String,
    mode: Mode,
    modes: &'static [Mode],
    found: Option<Found>,
}

struct Found {
    reached: &'static str,
    /// The class by which that is shown.
    class: &'static str,
    legs: Vec<LegRow>,
}

struct LegRow {
    title: String,
    stops: Vec<StopRow>,
}

struct StopRow {
    car: String,
    place: String,
    title: String,
    /// Whether the car is another than that of the stop before.
    enters_car: bool,
    delivers: bool,
    matter: Vec<String>,
}

pub(super) fn show(head: Head, posed: &Posed) -> PageResult {
    let at = posed.extra.position()?;
    let mode = posed.extra.read("mode")?.unwrap_or(Mode::Service);
    let mut shown = PathPage {
        frame: head.frame.clone(),
        head,
        car: posed.extra.text("car").to_owned(),
        position: posed.extra.text("position").to_owned(),
        mode,
        modes: Mode::ALL,
        found: None,
    };
    if let (Some(at), Ok(question)) = (at, &posed.asking.question) {
        match question.path(&at, mode) {
            Ok(path) => shown.found = Some(Found::new(&posed.asking.cars, &path)),
            Err(missing) => shown.head = shown.head.lacking(missing),
        }
    }
    page(&shown)
}

impl Found {
    fn new(cars: &[TrainCar], path: &Path) -> Self {
        let (reached, class) = match path.reached {
            Reached::FromSource => ("A source feeds it.", "done"),
            Reached::FromStoredAir => (
                "No source feeds it: it lives on stored air, as long as that lasts.",
                "caution",
            ),
            Reached::Interrupted => (
                "Nothing reaches it. This is the path of the sound train, with what is the matter.",
                "refusal",
            ),
            Reached::Never => (
                "Nothing reaches it in this mode, even in the sound train.",
                "missing",
            ),
        };
        Self {
            reached,
            class,
            legs: path.legs.iter().map(|leg| leg_row(cars, leg)).collect(),
        }
    }
}

fn leg_row(cars: &[TrainCar], leg: &Leg) -> LegRow {
    let medium = leg
        .medium
        .map_or("the source".to_owned(), |medium| medium.to_string());
    let end = leg
        .stops
        .last()
        .map_or(String::new(), |stop| stop.place.to_string());
    let title = match &leg.input {
        Some(input) => format!(
            "{medium} to the input “{}” of {end}",
            input.replace('_', " ")
        ),
        None => format!("{medium} to {end}"),
    };
    let mut before = None;
    let stops = leg.stops.iter().map(|stop| {
        let row = stop_row(cars, stop, before);
        before = Some(stop.car);
        row
    });
    LegRow {
        stops: stops.collect(),
        title,
    }
}

fn stop_row(cars: &[TrainCar], stop: &Stop, before: Option<usize>) -> StopRow {
    let title = match &stop.place {
        Place::Position(code) => {
            let car = cars.get(stop.car);
            let position = car.and_then(|car| car.circuit.car_type().position(code));
            position.map_or(String::new(), |position| position.title.clone())
        }
        Place::Port { end, pipe } => format!("{end}, {}", pipe.replace('_', " ")),
    };
    let matter = stop.matter.iter().map(|cause| match cause.kind {
        CauseKind::CutOut(state) => state.to_string(),
        CauseKind::Vacant => "no component is fitted".to_owned(),
        CauseKind::Incomplete => "something it needs is missing inside".to_owned(),
        CauseKind::OpenEnd => format!("emptied: nothing is fitted at {}", cause.position),
        CauseKind::NotCounted => "its stored air is not counted".to_owned(),
        CauseKind::NothingFeedsIt
        | CauseKind::NothingComesInBy(_)
        | CauseKind::AirKeepsItReleased => "not fed".to_owned(),
    });
    StopRow {
        car: stop.car_number.to_string(),
        place: match &stop.place {
            Place::Position(code) => code.to_string(),
            Place::Port { .. } => String::new(),
        },
        title,
        enters_car: before != Some(stop.car),
        delivers: stop.delivers == Delivers::Yes,
        matter: matter.collect(),
    }
}
