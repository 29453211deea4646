//! Components as they came into the register.

use super::Dated;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::configuration::component::ComponentRef;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::{Brought, Fact, Receipt};

/// Reads a row of `components`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let condition = cells.need("condition", known);
    let location = cells.need("location", known);
    let manufactured_on = cells.maybe("manufactured_on", |text: &str| options.day(text));
    let overhauled_on = cells.maybe("overhauled_on", |text: &str| options.day(text));
    let brought = read_brought(cells);
    let certificate = cells.maybe("certificate", words(REASON_MAX_CHARS));
    let received_at = cells.need("received_at", |text: &str| options.moment(text));
    let receipt = Receipt {
        component: component?,
        condition: condition?,
        location: location?,
        manufactured_on: manufactured_on?,
        overhauled_on: overhauled_on?,
        brought: brought?,
        since_overhaul: Brought::default(),
        certificate: certificate?,
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

fn read_brought(cells: &mut Cells<'_>) -> Result<Brought, Refused> {
    let odometer = cells.maybe("km", known);
    let running_hours = cells.maybe("running_hours", known);
    let compressor_hours = cells.maybe("compressor_hours", known);
    Ok(Brought {
        odometer: odometer?,
        running_hours: running_hours?,
        compressor_hours: compressor_hours?,
    })
}
