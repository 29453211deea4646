//! Axles with the bogies that carry them.

use super::Draft;
use crate::input::cells::{Cells, Refused, whole};
use domain::configuration::car_type::{Axle, Bogie};

/// The greatest distance along a car in millimetres.
pub(super) const ALONG_MAX_MM: u32 = 100_000;
/// The greatest numbers of bogies and axles.
pub(super) const BOGIES_MAX: u8 = 20;
pub(super) const AXLES_MAX: u8 = 40;

/// Adds a row of `axles`.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let bogie = cells.need("bogie", whole(1..=BOGIES_MAX));
    let number = cells.need("axle", whole(1..=AXLES_MAX));
    let along_mm = cells.need("along_mm", whole(0..=ALONG_MAX_MM));
    let axle = Axle {
        number: number?,
        along_mm: along_mm?,
    };
    if !draft.axles.insert(axle.number) {
        return Err(cells.refuse("axle", "each axle of a car type once"));
    }
    insert(&mut draft.bogies, bogie?, axle);
    Ok(())
}

/// Puts an axle in its place, counted from end 1.
fn insert(bogies: &mut Vec<Bogie>, number: u8, axle: Axle) {
    let place = bogies.partition_point(|other| other.number < number);
    if bogies.get(place).is_none_or(|other| other.number != number) {
        let axles = Vec::new();
        bogies.insert(place, Bogie { number, axles });
    }
    let axles = &mut bogies[place].axles;
    let place = axles.partition_point(|other| other.number < axle.number);
    axles.insert(place, axle);
}
