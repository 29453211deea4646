//! Locations, and what is said of what is sent away.

use super::Dated;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::configuration::location::{Location, Sent};
use domain::ledger::fact::Fact;

/// Reads a row of `locations`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let name = cells.need("location", known);
    let kind = cells.need("kind", known);
    let at = cells.need("since", |text: &str| options.moment(text));
    let fact = Fact::LocationDefined(Location {
        name: name?,
        kind: kind?,
    });
    Ok(vec![Dated { fact, at: at? }])
}

/// Reads the columns `bound_for` and `expected_on`.
pub(super) fn read_sent(cells: &mut Cells<'_>, options: &Options) -> Result<Sent, Refused> {
    let bound_for = cells.maybe("bound_for", known);
    let expected_on = cells.maybe("expected_on", |text: &str| options.day(text));
    Ok(Sent {
        bound_for: bound_for?,
        expected_on: expected_on?,
    })
}
