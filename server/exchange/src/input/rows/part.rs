//! Parts, gathered from their two tables.

use super::Dated;
use super::draft::{self, AddRow, Finished};
use crate::columns::{self, Table};
use crate::input::calendar::design_begins;
use crate::input::cells::{Cells, Refused, known, words};
use crate::input::error::{InputError, Location};
use crate::input::limits::TITLE_MAX_CHARS;
use crate::input::source::Source;
use crate::input::{Item, located, reason};
use domain::configuration::part::{InnerPosition, Part, Vacancy};
use domain::ledger::fact::Fact;

/// A part as far as it is read.
struct Draft {
    location: Location,
    /// Its row in `parts`.
    head: Result<(Part, String), Refused>,
    positions: Vec<InnerPosition>,
    errors: Vec<InputError>,
}

const ADDING: [(&Table, AddRow<Draft>); 1] = [(&columns::PART_POSITIONS, add)];

/// Reads all parts of an input, in the order of `parts`.
pub(crate) fn gather(source: &mut Source) -> Vec<Item> {
    draft::gather(source, &columns::PARTS, &ADDING)
}

impl draft::Draft for Draft {
    const KEY: &'static [&'static str] = &["part"];
    const ONCE: &'static str = "each part once";
    const LISTED: &'static str = "a part that parts lists";

    fn begin(cells: &mut Cells<'_>) -> Self {
        let part = read_head(cells);
        let reason = reason(cells);
        Self {
            location: cells.location(),
            head: part.and_then(|part| Ok((part, reason?))),
            positions: Vec::new(),
            errors: Vec::new(),
        }
    }

    fn errors(&mut self) -> &mut Vec<InputError> {
        &mut self.errors
    }

    fn finish(self) -> Finished {
        let (Ok((head, reason)), true) = (self.head, self.errors.is_empty()) else {
            return Err(self.errors);
        };
        let positions = self.positions;
        let fact = Fact::PartDefined(Part { positions, ..head });
        let at = design_begins();
        Ok(located(self.location, Dated { fact, at }, reason))
    }
}

/// Reads a part that has no positions yet.
fn read_head(cells: &mut Cells<'_>) -> Result<Part, Refused> {
    let number = cells.need("part", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let kind = cells.need("kind", known);
    let modification_states = cells.list("modification_states", known);
    let replaces = cells.list("replaces", known);
    Ok(Part {
        number: number?,
        title: title?,
        kind: kind?,
        positions: Vec::new(),
        modification_states: modification_states?,
        replaces: replaces?,
    })
}

/// Adds a row of `part_positions`.
fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let code = cells.need("position", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let kind = cells.need("kind", known);
    let approved = cells.list("approved_parts", known);
    let states = cells.list("approved_states", known);
    let vacancy = cells.maybe("vacancy", known);
    draft.positions.push(InnerPosition {
        code: code?,
        title: title?,
        kind: kind?,
        approved: approved?,
        states: states?,
        vacancy: vacancy?.unwrap_or(Vacancy::Finding),
    });
    Ok(())
}
