//! The row of a car type in `car_types`.

use crate::input::cells::{Cells, Refused, known, whole, words};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::circuit::Circuit;
use domain::configuration::car_type::{CarMass, CarType, LoadState};
use domain::units::Kilograms;

/// The greatest mass of a car or of what brakes it, in kilograms.
pub(super) const MASS_MAX_KG: i64 = 500_000;

const MASSES: [(LoadState, &str); 3] = [
    (LoadState::Minimum, "mass_minimum_kg"),
    (LoadState::Normal, "mass_normal_kg"),
    (LoadState::Maximum, "mass_maximum_kg"),
];

/// Reads a car type that has nothing but its own row.
pub(super) fn read(cells: &mut Cells<'_>) -> Result<CarType, Refused> {
    let name = cells.need("car_type", known);
    let revision = cells.need("revision", known);
    let fleet = cells.need("fleet", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let vehicle_kind = cells.need("vehicle_kind", known);
    let hand_brake = cells.maybe("hand_brake", known);
    let length_mm = cells.need("length_mm", whole(1..=100_000));
    let speed_max_km_h = cells.need("speed_max_km_h", whole(1..=500));
    let daily_km_max = cells.need("daily_km_max", whole(1..=10_000));
    let masses = read_masses(cells);
    Ok(CarType {
        name: name?,
        revision: revision?,
        fleet: fleet?,
        title: title?,
        vehicle_kind: vehicle_kind?,
        hand_brake: hand_brake?,
        length_mm: length_mm?,
        speed_max_km_h: speed_max_km_h?,
        daily_km_max: daily_km_max?,
        bogies: Vec::new(),
        masses: masses?,
        positions: Vec::new(),
        circuit: Circuit::default(),
        braked_weights: Vec::new(),
    })
}

fn read_masses(cells: &mut Cells<'_>) -> Result<Vec<CarMass>, Refused> {
    let masses = MASSES.map(|(load, column)| {
        let mass = cells.maybe(column, whole(0..=MASS_MAX_KG));
        mass.map(|kilograms| {
            kilograms.map(|kilograms| CarMass {
                load,
                mass: Kilograms(kilograms),
            })
        })
    });
    let masses: Vec<Option<CarMass>> = masses.into_iter().collect::<Result<_, _>>()?;
    Ok(masses.into_iter().flatten().collect())
}
