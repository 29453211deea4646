//! Tasks that were done.

use super::Dated;
use super::component::read_component;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::configuration::component::Subject;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;

/// Reads a row of `tasks_done`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let task = cells.need("task", known);
    let subject = read_subject(cells);
    let at = cells.need("at", |text: &str| options.moment(text));
    let evidence = cells.need("evidence", words(REASON_MAX_CHARS));
    let fact = Fact::TaskDone {
        subject: subject?,
        task: task?,
        evidence: evidence?,
        release: None,
    };
    Ok(vec![Dated { fact, at: at? }])
}

/// Reads the columns `part` and `serial`, or `car`.
pub(super) fn read_subject(cells: &mut Cells<'_>) -> Result<Subject, Refused> {
    let of_component = cells.is_filled("part") || cells.is_filled("serial");
    match (of_component, cells.is_filled("car")) {
        (true, false) => read_component(cells).map(Subject::Component),
        (false, true) => cells.need("car", known).map(Subject::Car),
        _ => Err(cells.refuse("car", "either a component, in part and serial, or a car")),
    }
}
