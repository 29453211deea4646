//! Lines of the circuit.

use super::Draft;
use crate::input::cells::{Cells, Refused, known};
use domain::circuit::{Line, Place};

/// The longest name of an input.
const INPUT_MAX_CHARS: usize = 40;

/// Adds a row of `lines`.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let from = read_place(cells, draft, "from");
    let to = read_place(cells, draft, "to");
    let input = cells.need("input", input_name);
    let medium = cells.need("medium", known);
    let modes = cells.list("modes", known);
    let line = Line {
        from: from?,
        to: to?,
        input: input?,
        medium: medium?,
        modes: modes?,
    };
    let ends = |line: &Line| {
        (
            line.from.clone(),
            line.to.clone(),
            line.input.clone(),
            line.medium,
        )
    };
    if !draft.lines.insert(ends(&line)) {
        let once = "each line once for a medium, with all its modes in one row";
        return Err(cells.refuse("to", once));
    }
    draft.circuit.lines.push(line);
    draft.rows.lines.push(cells.location());
    Ok(())
}

/// Reads a port, or a position that the car type has.
fn read_place(cells: &mut Cells<'_>, draft: &Draft, column: &str) -> Result<Place, Refused> {
    let place = cells.need(column, known)?;
    match &place {
        Place::Position(code) if !draft.may_have_position(code) => {
            Err(cells.refuse(column, "a position that positions lists for this car type"))
        }
        _ => Ok(place),
    }
}

fn input_name(text: &str) -> Result<String, String> {
    let short = text.len() <= INPUT_MAX_CHARS;
    let lower = text.bytes().all(|b| b.is_ascii_lowercase() || b == b'_');
    (short && lower)
        .then(|| text.to_owned())
        .ok_or_else(|| "lower case letters and underscores, as pilot".to_owned())
}
