//! The lines of a due list for a spreadsheet, on the page and on the command line alike.

use super::words;
use domain::configuration::component::Subject;
use domain::ledger::dossier::Documents;
use domain::time::Zone;
use domain::units::Amount;
use exchange::output::Cell;
use store::read::due::{DueItem, MeterLimit};

/// What is said of a date that rests on use of which no reading tells.
pub const ESTIMATED: &str = "estimated";

/// What its columns are called.
pub const HEADER: [&str; 24] = [
    "due on",
    "early",
    "late",
    "window opens",
    "latest",
    "state",
    "task",
    "title",
    "set by",
    "limit",
    "limit at",
    "last reading",
    "read on",
    "unit of limit",
    "part",
    "serial",
    "car",
    "unit",
    "position",
    "location",
    "depot",
    "not known",
    "at once",
    "estimated",
];

/// Why work is due at once, in words; none where it is not.
pub fn at_once(item: &DueItem) -> Option<String> {
    item.forecast.at_once.as_ref().map(words::at_once)
}

/// The cells of a row, in the order of [`HEADER`].
pub fn cells(item: &DueItem, documents: &Documents, zone: &Zone) -> Vec<Cell> {
    let text = |value: Option<String>| value.map_or(Cell::Empty, Cell::Text);
    let number =
        |amount: Option<Amount>| amount.map_or(Cell::Empty, |amount| Cell::Number(amount.units()));
    let forecast = &item.forecast;
    let days = [
        forecast.on,
        forecast.early,
        forecast.late,
        forecast.opens,
        words::latest(forecast),
    ];
    let (part, serial) = match &item.subject {
        Subject::Component(component) => (
            Some(component.part.to_string()),
            Some(component.serial.to_string()),
        ),
        Subject::Car(_) => (None, None),
    };
    let limit = item.limit.as_ref();
    let last = limit.and_then(|limit| limit.last);
    let words = words::limit(item, documents, zone);
    let mut cells: Vec<Cell> = days.map(|day| day.map_or(Cell::Empty, Cell::Day)).into();
    cells.extend([
        Cell::Text(item.state.to_string()),
        Cell::Text(item.task.to_string()),
        Cell::Text(words::title(item, documents).to_owned()),
        text(Some(words::set_by(forecast)).filter(|words| !words.is_empty())),
        text(words.map(|words| words.limit)),
        number(limit.and_then(MeterLimit::shown)),
        number(last.map(|(_, shown)| shown)),
        last.map_or(Cell::Empty, |(at, _)| Cell::Day(zone.day_of(at))),
        text(limit.map(|limit| limit.meter.unit().to_owned())),
        text(part),
        text(serial),
        text(item.car.as_ref().map(ToString::to_string)),
        text(item.unit.as_ref().map(ToString::to_string)),
        text(item.position.as_ref().map(ToString::to_string)),
        text(item.location.as_ref().map(ToString::to_string)),
        text(item.depot.as_ref().map(ToString::to_string)),
        text(forecast.lacking.in_words()),
        text(at_once(item)),
        text(item.estimated.then(|| ESTIMATED.to_owned())),
    ]);
    cells
}
