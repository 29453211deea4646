//! Cars.

use super::Dated;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::configuration::car::Car;
use domain::ledger::fact::Fact;

/// Reads a row of `cars`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let number = cells.need("car", known);
    let vehicle_number = cells.aside("vehicle_number", known);
    let car_type = cells.need("car_type", known);
    let revision = cells.need("revision", known);
    let fleet = cells.need("fleet", known);
    let depot = cells.need_aside("depot", (known, "untold"));
    let entered_service_on = cells.aside("entered_service_on", |text: &str| options.day(text));
    let since = cells.need("since", |text: &str| options.moment(text));
    let car = Car {
        number: number?,
        vehicle_number,
        car_type: car_type?,
        revision: revision?,
        fleet: fleet?,
        depot: depot?,
        entered_service_on,
    };
    Ok(vec![Dated {
        fact: Fact::CarRegistered(car),
        at: since?,
    }])
}
