//! Planned visits.

use super::Dated;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::due::visit::Visit;
use domain::ledger::fact::Fact;

/// Reads a row of `visits`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let number = cells.need("visit", known);
    let unit = cells.need("unit", known);
    let depot = cells.need("depot", known);
    let from = cells.need("from", |text: &str| options.day(text));
    let until = cells.need("until", |text: &str| options.day(text));
    let until = until.and_then(|until| match from {
        Ok(from) => Visit::stays(from, until).map_err(|expected| cells.refuse("until", expected)),
        Err(_) => Ok(until),
    });
    let hours = cells.need("hours", known);
    let modifications = cells.list("modifications", known);
    let at = cells.need("since", |text: &str| options.moment(text));
    let fact = Fact::VisitPlanned(Box::new(Visit {
        number: number?,
        unit: unit?,
        depot: depot?,
        from: from?,
        until: until?,
        hours: hours?,
        modifications: modifications?.into_iter().collect(),
        in_place_of: None,
    }));
    Ok(vec![Dated { fact, at: at? }])
}
