//! Units.

use super::Dated;
use super::order::in_order;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::configuration::car::{OrderedCar, Unit};
use domain::ledger::fact::Fact;

/// Reads the rows of one unit from `units`.
pub(crate) fn read(rows: &mut [Cells<'_>], options: &Options) -> Result<Dated, Refused> {
    let first = &mut rows[0];
    let number = first.need("unit", known);
    let since = first.need("since", |text: &str| options.moment(text));
    let cars = in_order(rows, |cells| {
        let car = cells.need("car", known);
        let orientation = cells.need("orientation", known);
        Ok(OrderedCar {
            car: car?,
            orientation: orientation?,
        })
    });
    let unit = Unit {
        number: number?,
        cars: cars?,
    };
    Ok(Dated {
        fact: Fact::UnitFormed(unit),
        at: since?,
    })
}
