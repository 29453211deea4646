//! Trains.

use super::Dated;
use super::order::in_order;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::configuration::car::{Train, Vehicle};
use domain::ledger::fact::Fact;

/// Reads the rows of one train from `trains`.
pub(crate) fn read(rows: &mut [Cells<'_>], options: &Options) -> Result<Dated, Refused> {
    let first = &mut rows[0];
    let id = first.need("train", known);
    let since = first.need("since", |text: &str| options.moment(text));
    let vehicles = in_order(rows, read_vehicle);
    let train = Train {
        id: id?,
        vehicles: vehicles?,
    };
    Ok(Dated {
        fact: Fact::TrainFormed(train),
        at: since?,
    })
}

fn read_vehicle(cells: &mut Cells<'_>) -> Result<Vehicle, Refused> {
    let unit = cells.maybe("unit", known);
    let car = cells.maybe("car", known);
    let orientation = cells.need("orientation", known);
    match (unit?, car?) {
        (Some(unit), None) => Ok(Vehicle::Unit(unit, orientation?)),
        (None, Some(car)) => Ok(Vehicle::Car(car, orientation?)),
        _ => Err(cells.refuse("unit", "either a unit or a car")),
    }
}
