//! Positions with their behaviour in the circuit.

use super::Draft;
use super::axle::{ALONG_MAX_MM, AXLES_MAX, BOGIES_MAX};
use crate::input::cells::{Cells, Refused, known, whole, words, yes_or_no};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::circuit::{Behaviour, Node};
use domain::configuration::car_type::{Alias, Position};
use domain::identity::PositionCode;
use std::collections::hash_map::Entry;

/// Adds a row of `positions`. Its code is known to the tables that follow even where the rest
/// of the row cannot be read.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let code = read_code(cells, draft);
    let position = read_position(cells, code);
    let behaviour = read_behaviour(cells);
    check_place(cells, draft);
    if let Ok(position) = &position {
        draft.check_along(cells, position.along_mm);
    }
    let (position, behaviour) = (position?, behaviour?);
    let code = position.code.clone();
    let node = behaviour.map(|behaviour| Node {
        position: code,
        behaviour,
    });
    draft.circuit.nodes.extend(node);
    draft.positions.push(position);
    Ok(())
}

fn read_code(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<PositionCode, Refused> {
    let code: Result<PositionCode, Refused> = cells.need("position", known);
    draft.positions_whole &= code.is_ok();
    let code = code?;
    match draft.rows.positions.entry(code.clone()) {
        Entry::Occupied(_) => Err(cells.refuse("position", "each position of a car type once")),
        Entry::Vacant(place) => {
            place.insert(cells.location());
            Ok(code)
        }
    }
}

fn read_position(
    cells: &mut Cells<'_>,
    code: Result<PositionCode, Refused>,
) -> Result<Position, Refused> {
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let kind = cells.need("kind", known);
    let bogie = cells.maybe("bogie", whole(1..=BOGIES_MAX));
    let axle = cells.maybe("axle", whole(1..=AXLES_MAX));
    let end = cells.maybe("end", known);
    let side = cells.maybe("side", known);
    let along_mm = cells.need("along_mm", whole(0..=ALONG_MAX_MM));
    let approved = cells.list("approved_parts", known);
    let states = cells.list("approved_states", known);
    let settings = cells.list("settings", known);
    let aliases = cells.list("aliases", alias);
    Ok(Position {
        code: code?,
        title: title?,
        kind: kind?,
        bogie: bogie?,
        axle: axle?,
        end: end?,
        side: side?,
        along_mm: along_mm?,
        approved: approved?,
        states: states?,
        settings: settings?,
        aliases: aliases?,
    })
}

fn alias(text: &str) -> Result<Alias, String> {
    match text.split_once('@') {
        Some((name, source)) if !name.trim().is_empty() && !source.trim().is_empty() => Ok(Alias {
            name: name.trim().to_owned(),
            source: source.trim().to_owned(),
        }),
        _ => Err("a name and its source, as 7@car label".to_owned()),
    }
}

/// Checks that the bogie and axle of a position are those of its car type, where all were read.
fn check_place(cells: &mut Cells<'_>, draft: &Draft) {
    if !draft.axles_whole {
        return;
    }
    let bogie = cells.text("bogie").parse();
    if bogie.is_ok_and(|number: u8| !draft.bogies.iter().any(|b| b.number == number)) {
        cells.refuse("bogie", "a bogie that axles lists for this car type");
    }
    let axle = cells.text("axle").parse();
    if axle.is_ok_and(|number| !draft.axles.contains(&number)) {
        cells.refuse("axle", "an axle that axles lists for this car type");
    }
}

/// The columns that belong to one behaviour each.
const OWN_COLUMNS: [(&str, &str); 4] = [
    ("source", "modes"),
    ("cock", "venting"),
    ("reservoir", "volume_l"),
    ("spring_applied", "holding_force_n"),
];

/// Reads when a position delivers; `None` is a position outside the circuit.
fn read_behaviour(cells: &mut Cells<'_>) -> Result<Option<Behaviour>, Refused> {
    let name = cells.maybe("behaviour", |text: &str| Ok(text.to_owned()))?;
    let behaviour = match name.as_deref() {
        None => Ok(None),
        Some("source") => read_modes(cells).map(Some),
        Some("pass") => Ok(Some(Behaviour::Pass)),
        Some("cock") => {
            let venting = cells.need("venting", yes_or_no);
            venting.map(|venting| Some(Behaviour::Cock { venting }))
        }
        Some("reservoir") => {
            let volume_l = cells.need("volume_l", whole(1..=10_000));
            volume_l.map(|volume_l| Some(Behaviour::Reservoir { volume_l }))
        }
        Some("all_of") => Ok(Some(Behaviour::AllOf)),
        Some("any_of") => Ok(Some(Behaviour::AnyOf)),
        Some("air_applied") => Ok(Some(Behaviour::AirApplied)),
        Some("spring_applied") => {
            let force = cells.need("holding_force_n", whole(1..=1_000_000));
            force.map(|holding_force_n| Some(Behaviour::SpringApplied { holding_force_n }))
        }
        Some(_) => return Err(cells.refuse_other("behaviour")),
    };
    refuse_columns_of_others(cells, name.as_deref())?;
    behaviour
}

fn refuse_columns_of_others(cells: &mut Cells<'_>, name: Option<&str>) -> Result<(), Refused> {
    let mut result = Ok(());
    for (behaviour, column) in OWN_COLUMNS {
        if name != Some(behaviour) && cells.is_filled(column) {
            let expected = format!("nothing unless the behaviour is {behaviour}");
            result = Err(cells.refuse(column, expected));
        }
    }
    result
}

fn read_modes(cells: &mut Cells<'_>) -> Result<Behaviour, Refused> {
    match cells.list("modes", known)? {
        modes if modes.is_empty() => Err(cells.refuse_other("modes")),
        modes => Ok(Behaviour::Source { modes }),
    }
}
