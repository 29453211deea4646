//! Judged conditions of components.

use super::Dated;
use super::component::read_component;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;

/// Reads a row of `conditions`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let condition = cells.need("condition", known);
    let evidence = cells.need("evidence", words(REASON_MAX_CHARS));
    let at = cells.need("at", |text: &str| options.moment(text));
    let fact = Fact::ConditionJudged {
        component: component?,
        condition: condition?,
        evidence: evidence?,
    };
    Ok(vec![Dated { fact, at: at? }])
}
