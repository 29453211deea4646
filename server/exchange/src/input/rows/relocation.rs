//! Relocations of components that are not fitted.

use super::Dated;
use super::component::read_component;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::ledger::fact::Fact;

/// Reads a row of `relocations`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let to = cells.need("to", known);
    let at = cells.need("at", |text: &str| options.moment(text));
    let fact = Fact::Relocated {
        component: component?,
        to: to?,
    };
    Ok(vec![Dated { fact, at: at? }])
}
