//! What each brake must show with nothing commanded: applied, released, isolated, or not known.

use domain::decision::Decision;
use domain::isolation::part_state::{PartReport, PartState};
use std::collections::BTreeMap;

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
    let all = decision.part_states();
    let mut groups: BTreeMap<_, Vec<&PartReport>> = BTreeMap::new();
    for part in all.iter().filter(|part| part.state != PartState::Released) {
        let key = (part.car, part.bogie, part.function, part.state);
        groups.entry(key).or_default().push(part);
    }
    let row = |((_, bogie, function, state), parts): (_, Vec<&PartReport>)| PartRow {
        car: parts[0].car_number.to_string(),
        part: match bogie {
            Some(bogie) => format!("bogie {bogie}, {function}"),
            None => format!("{function}"),
        },
        state: words(state),
        brakes: parts.iter().map(|part| part.position.to_string()).collect(),
    };
    groups.into_iter().map(row).collect()
}

const fn words(state: PartState) -> &'static str {
    match state {
        PartState::Applied => "▲ applied",
        PartState::Released => "released",
        PartState::Isolated => "✕ isolated",
        PartState::Unknown => "? not known: see for yourself, it counts as not released",
    }
}
