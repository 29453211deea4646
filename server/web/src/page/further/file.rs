//! Weak points as a file for a spreadsheet: every single failure, then the pairs.

use super::posed::Posed;
use super::weak_points::{FailureWords, weak_points};
use crate::failure::Failure;
use crate::respond::PageResult;
use axum::http::header;
use axum::response::IntoResponse;
use domain::decision::TrainCar;
use domain::isolation::weak_points::{
    Fails, Failure as Weakness, PAIRS_MAX, WeakPair, WeakPoint, WeakPoints,
};
use domain::units::Kilograms;
use domain::unreadable::Unreadable;
use exchange::output::{Cell, write_csv, write_xlsx};
use std::io::Cursor;

const HEADER: [&str; 14] = [
    "failures",
    "car",
    "position",
    "what it is",
    "state",
    "second car",
    "second position",
    "what it is",
    "state",
    "braked weight lost at once in kg",
    "braked weight lost later in kg",
    "of that beyond each by itself in kg",
    "other functions lost",
    "all places of the pipe that leaks",
];

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Csv,
    Xlsx,
}

/// Answers with the file. Without an answer there is none.
pub(super) async fn send(kind: Kind, title: &str, posed: Posed) -> PageResult {
    let cars = posed.asking.cars.clone();
    let found = weak_points(posed).await?.map_err(|missing| {
        let expected = format!("a train whose facts are known: {missing}");
        Failure::Unreadable(Unreadable::new("question", title, expected))
    })?;
    let rows = rows(&cars, &found);
    let (bytes, extension, media_type) = match kind {
        Kind::Csv => {
            let mut bytes = Vec::new();
            write_csv(&mut bytes, &HEADER, rows)?;
            (bytes, "csv", "text/csv; charset=utf-8")
        }
        Kind::Xlsx => {
            let mut file = Cursor::new(Vec::new());
            write_xlsx(&mut file, "weak points", &HEADER, rows)?;
            let media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
            (file.into_inner(), "xlsx", media_type)
        }
    };
    let name = format!("attachment; filename=\"weak-points.{extension}\"");
    let headers = [
        (header::CONTENT_TYPE, media_type.to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

fn rows(cars: &[TrainCar], found: &WeakPoints) -> Vec<Vec<Cell>> {
    let mut rows: Vec<Vec<Cell>> = found.singles.iter().map(|one| single(cars, one)).collect();
    let pairs = &found.pairs;
    let hidden = pairs
        .hidden
        .iter()
        .filter(|pair| !pairs.worst.contains(pair));
    let both = pairs.worst.iter().chain(hidden);
    rows.extend(both.filter_map(|one| pair(cars, &found.singles, one)));
    if pairs.that_take > PAIRS_MAX {
        let mut line = vec![Cell::Empty; HEADER.len()];
        line[3] = Cell::Text(format!(
            "THE LIST GOES ON: of {} pairs that take braked weight only the {PAIRS_MAX} worst are \
             here, and of {} that take more than each by itself the {PAIRS_MAX} with the most.",
            pairs.that_take, pairs.that_take_beyond_each
        ));
        rows.push(line);
    }
    rows
}

fn single(cars: &[TrainCar], one: &WeakPoint) -> Vec<Cell> {
    let mut cells = vec![Cell::Number(1.0)];
    cells.extend(failure(&FailureWords::of(cars, &one.failure)));
    cells.extend(std::iter::repeat_n(Cell::Empty, 4));
    cells.extend([
        weight(one.losses.at_once),
        weight(one.losses.later),
        Cell::Empty,
    ]);
    cells.push(Cell::Text(super::words::functions(&one.losses).join("; ")));
    cells.push(places(&one.failure));
    cells
}

fn pair(cars: &[TrainCar], singles: &[WeakPoint], pair: &WeakPair) -> Option<Vec<Cell>> {
    let mut cells = vec![Cell::Number(2.0)];
    for at in [pair.one, pair.other] {
        cells.extend(failure(&FailureWords::of(cars, &singles.get(at)?.failure)));
    }
    cells.extend([pair.at_once, pair.later, pair.beyond_each].map(weight));
    cells.extend([Cell::Empty, Cell::Empty]);
    Some(cells)
}

fn failure(words: &FailureWords) -> [Cell; 4] {
    let state = match words.pipe {
        None => words.state.clone(),
        Some(pipe) => format!("{pipe} {}{}", words.state, words.elsewhere),
    };
    let texts = [&words.car, &words.code, &words.title, &state];
    texts.map(|text| Cell::Text(text.clone()))
}

/// Every hose and drain cock of a pipe that leaks.
fn places(failure: &Weakness) -> Cell {
    let Fails::Leaks { likewise, .. } = &failure.how else {
        return Cell::Empty;
    };
    let first = format!("{} {}", failure.car_number, failure.position);
    let others = likewise.iter();
    let others = others.map(|spot| format!("{} {}", spot.car_number, spot.position));
    let all: Vec<String> = std::iter::once(first).chain(others).collect();
    Cell::Text(all.join("; "))
}

fn weight(kilograms: Kilograms) -> Cell {
    Cell::Number(kilograms.0 as f64)
}
