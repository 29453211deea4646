//! Assessed braked weights.

use super::Draft;
use super::head::MASS_MAX_KG;
use crate::input::cells::{Cells, Refused, known, whole};
use domain::configuration::car_type::AssessedBrakedWeight;
use domain::units::Kilograms;

/// Adds a row of `braked_weights`.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let position = cells.need("position", known);
    let brake_position = cells.need("brake_position", known);
    let load = cells.need("load", known);
    let braked_weight = cells.need("braked_weight_kg", whole(0..=MASS_MAX_KG));
    let weight = AssessedBrakedWeight {
        position: position?,
        brake_position: brake_position?,
        load: load?,
        braked_weight: Kilograms(braked_weight?),
    };
    if !draft.may_have_position(&weight.position) {
        let expected = "a position that positions lists for this car type";
        return Err(cells.refuse("position", expected));
    }
    let state = (weight.position.clone(), weight.brake_position, weight.load);
    if !draft.assessed.insert(state) {
        return Err(cells.refuse("load", "each position once for a brake position and load"));
    }
    let position = weight.position.clone();
    draft.rows.braked_weights.insert(position, cells.location());
    draft.braked_weights.push(weight);
    Ok(())
}
