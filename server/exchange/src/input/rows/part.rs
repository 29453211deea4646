//! Parts.

use super::Dated;
use crate::input::calendar::{Options, design_begins};
use crate::input::cells::{Cells, Refused, known, words};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::configuration::part::Part;
use domain::ledger::fact::Fact;

/// Reads a row of `parts`.
pub(crate) fn read(cells: &mut Cells<'_>, _: &Options) -> Result<Vec<Dated>, Refused> {
    let number = cells.need("part", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let kind = cells.need("kind", known);
    let part = Part {
        number: number?,
        title: title?,
        kind: kind?,
    };
    Ok(vec![Dated {
        fact: Fact::PartDefined(part),
        at: design_begins(),
    }])
}
