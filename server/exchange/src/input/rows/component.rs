//! Components as they came into the register.

use super::Dated;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::configuration::component::ComponentRef;
use domain::configuration::location::Sent;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::{Brought, Fact, Receipt};

/// Reads a row of `components`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let condition = cells.need("condition", known);
    let location = cells.need("location", known);
    let manufactured_on = cells.aside("manufactured_on", |text: &str| options.day(text));
    let overhauled_on = cells.maybe("overhauled_on", |text: &str| options.day(text));
    let brought = read_used(cells, ["km", "running_hours", "compressor_hours"]);
    let since_overhaul = read_used(cells, SINCE_OVERHAUL);
    let certificate = cells.aside("certificate", words(REASON_MAX_CHARS));
    let modification = cells.maybe("modification_state", known);
    let batch = cells.maybe("batch", known);
    let received_at = cells.need("received_at", |text: &str| options.moment(text));
    let receipt = Receipt {
        component: component?,
        condition: condition?,
        location: location?,
        manufactured_on,
        overhauled_on: overhauled_on?,
        brought: brought?,
        since_overhaul: since_overhaul?,
        certificate,
        modification: modification?,
        batch: batch?,
        release: None,
        sent: Sent::default(),
        alike_seen: None,
    };
    Ok(vec![Dated {
        fact: Fact::ComponentReceived(receipt),
        at: received_at?,
    }])
}

/// Reads the columns `part` and `serial`, of which neither may be empty.
pub(super) fn read_component(cells: &mut Cells<'_>) -> Result<ComponentRef, Refused> {
    let part = cells.need("part", known);
    let serial = cells.need("serial", known);
    Ok(ComponentRef {
        part: part?,
        serial: serial?,
    })
}

const SINCE_OVERHAUL: [&str; 3] = [
    "km_since_overhaul",
    "running_hours_since_overhaul",
    "compressor_hours_since_overhaul",
];

/// Reads use by meter from three columns; what is empty is unknown.
fn read_used(
    cells: &mut Cells<'_>,
    [km, running, compressor]: [&'static str; 3],
) -> Result<Brought, Refused> {
    let odometer = cells.maybe(km, known);
    let running_hours = cells.maybe(running, known);
    let compressor_hours = cells.maybe(compressor, known);
    Ok(Brought {
        odometer: odometer?,
        running_hours: running_hours?,
        compressor_hours: compressor_hours?,
    })
}
