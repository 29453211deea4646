//! Relocations of components that are not fitted.

use super::Dated;
use super::component::read_component;
use super::location::read_sent;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::ledger::fact::{Fact, Relocation};

/// Reads a row of `relocations`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let to = cells.need("to", known);
    let sent = read_sent(cells, options);
    let at = cells.need("at", |text: &str| options.moment(text));
    let fact = Fact::Relocated(Relocation {
        component: component?,
        to: to?,
        sent: sent?,
    });
    Ok(vec![Dated { fact, at: at? }])
}
