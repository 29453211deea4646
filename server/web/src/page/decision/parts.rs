//! What each brake must show with nothing commanded: applied, released, isolated, or not known.

use domain::decision::Decision;
use domain::isolation::part_state::{NotReleased, PartState};

/// Brakes of a bogie that must show the same, and not that they are released.
#[derive(Debug)]
pub(crate) struct PartRow {
    pub(crate) car: String,
    pub(crate) part: String,
    pub(crate) state: &'static str,
    pub(crate) brakes: Vec<String>,
}

/// Every brake that is not released, by car and bogie.
pub(crate) fn rows(decision: &Decision) -> Vec<PartRow> {
    decision.not_released().iter().map(row).collect()
}

fn row(group: &NotReleased) -> PartRow {
    let function = group.function;
    PartRow {
        car: group.car_number.to_string(),
        part: match group.bogie {
            Some(bogie) => format!("bogie {bogie}, {function}"),
            None => format!("{function}"),
        },
        state: words(group.state),
        brakes: group.positions.iter().map(ToString::to_string).collect(),
    }
}

const fn words(state: PartState) -> &'static str {
    match state {
        PartState::Applied => "▲ applied",
        PartState::Released => "released",
        PartState::Isolated => "✕ isolated",
        PartState::Unknown => "? not known: see for yourself, it counts as not released",
    }
}
