//! What reveals it: which test shows a cock in a wrong state, and the cocks that no test shows.

use super::head::Head;
use super::posed::Posed;
use super::words::SpotWords;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use askama::Template;
use domain::decision::TrainCar;
use domain::isolation::reveal::{Detection, Reveal, Test, TrainTest};
use domain::test_record::procedure::Procedure;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "further/revealed.html")]
struct RevealedPage {
    frame: Frame,
    head: Head,
    tests: Vec<(&'static str, &'static str)>,
    found: Option<Found>,
}

struct Found {
    hidden: Vec<Row>,
    revealed: Vec<Row>,
    not_counted: Vec<String>,
}

struct Row {
    at: SpotWords,
    state: String,
    revealed_by: Vec<String>,
    perhaps_by: Vec<String>,
}

pub(super) fn show(head: Head, posed: &Posed) -> PageResult {
    let mut shown = RevealedPage {
        frame: head.frame.clone(),
        head,
        tests: TrainTest::ALL.iter().map(|test| told(*test)).collect(),
        found: None,
    };
    if let Ok(question) = &posed.asking.question {
        let procedures: Vec<Arc<Procedure>> = posed.documents.newest_procedures();
        let procedures: Vec<&Procedure> = procedures.iter().map(|one| &**one).collect();
        match question.reveal(&procedures) {
            Ok(reveal) => shown.found = Some(Found::new(&posed.asking.cars, &reveal)),
            Err(missing) => shown.head = shown.head.lacking(missing),
        }
    }
    page(&shown)
}

impl Found {
    fn new(cars: &[TrainCar], reveal: &Reveal) -> Self {
        let rows = |hidden: bool| {
            let detections = reveal.detections.iter();
            detections
                .filter(|one| one.is_hidden() == hidden)
                .map(|one| row(cars, one))
                .collect()
        };
        Self {
            hidden: rows(true),
            revealed: rows(false),
            not_counted: reveal.not_counted.iter().map(test_words).collect(),
        }
    }
}

fn row(cars: &[TrainCar], detection: &Detection) -> Row {
    Row {
        at: SpotWords::of(cars, &detection.at),
        state: detection.state.to_string(),
        revealed_by: detection.revealed_by.iter().map(test_words).collect(),
        perhaps_by: detection.perhaps_by.iter().map(test_words).collect(),
    }
}

fn test_words(test: &Test) -> String {
    match test {
        Test::OfTheTrain(test) => told(*test).0.to_owned(),
        Test::OfACar {
            procedure,
            revision,
            measurand,
        } => format!("{procedure} revision {revision}: {measurand}"),
    }
}

/// A test of a train: its name, and what is done.
const fn told(test: TrainTest) -> (&'static str, &'static str) {
    match test {
        TrainTest::Continuity => (
            "continuity test",
            "the brakes of the last car apply and release on demand from the front",
        ),
        TrainTest::BrakeTest => (
            "brake test",
            "each brake is seen to apply in service and to release",
        ),
        TrainTest::EmergencyTest => ("emergency test", "each brake is seen to apply in emergency"),
        TrainTest::ParkingTest => (
            "parking brake test",
            "each parking brake is seen to hold and to release",
        ),
        TrainTest::BrakeTestFromEmpty => (
            "brake test from empty",
            "the brake test once more, with all reservoirs emptied and charged anew before",
        ),
    }
}
