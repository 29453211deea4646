//! Plates that components bear.

use super::Dated;
use super::component::read_component;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::configuration::plate::PlateChange;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;

/// Reads a row of `plates`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let plate = cells.need("plate", known);
    let cause = cells.need("cause", known);
    let told = cells.need("reason", words(REASON_MAX_CHARS));
    let at = cells.need("at", |text: &str| options.moment(text));
    told?;
    let fact = Fact::PlateChanged(PlateChange {
        component: component?,
        plate: plate?,
        cause: cause?,
    });
    Ok(vec![Dated { fact, at: at? }])
}
