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
    let added = add_axle(cells, draft);
    draft.axles_whole &= added.is_ok();
    added
}

fn add_axle(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let bogie = cells.need("bogie", whole(1..=BOGIES_MAX));
    let number = cells.need("axle", whole(1..=AXLES_MAX));
    let along_mm = cells.need("along_mm", whole(0..=ALONG_MAX_MM));
    let (bogie, number) = (bogie?, number?);
    if !draft.axles.insert(number) {
        return Err(cells.refuse("axle", "each axle of a car type once"));
    }
    // Positions may name it wherever it is.
    let bogie = place_of(&mut draft.bogies, bogie);
    let axle = Axle {
        number,
        along_mm: along_mm?,
    };
    draft.check_along(cells, axle.along_mm);
    let mut others = draft.bogies.iter().flat_map(|bogie| &bogie.axles);
    if let Some(expected) = others.find_map(|other| axle.misplaced_by(other)) {
        cells.refuse("along_mm", expected);
    }
    insert(&mut draft.bogies[bogie].axles, axle);
    Ok(())
}

/// The place of a bogie among all, counted from end 1; a new one has no axles yet.
fn place_of(bogies: &mut Vec<Bogie>, number: u8) -> usize {
    let place = bogies.partition_point(|other| other.number < number);
    if bogies.get(place).is_none_or(|other| other.number != number) {
        let axles = Vec::new();
        bogies.insert(place, Bogie { number, axles });
    }
    place
}

/// Puts an axle in its place, counted from end 1.
fn insert(axles: &mut Vec<Axle>, axle: Axle) {
    let place = axles.partition_point(|other| other.number < axle.number);
    axles.insert(place, axle);
}
