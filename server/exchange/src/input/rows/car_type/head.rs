//! The row of a car type in `car_types`.

use crate::input::cells::{Cells, Refused, known, whole, words};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::circuit::Circuit;
use domain::configuration::brake_forces::{BrakeForces, WheelDiameters};
use domain::configuration::car_type::{CarMass, CarType, LoadState};
use domain::units::{Kilograms, Thousandths};

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
    let load_signal_lost = cells.maybe("load_signal_lost", known);
    let length_mm = cells.need("length_mm", whole(1..=100_000));
    let speed_max_km_h = cells.need("speed_max_km_h", whole(1..=500));
    let daily_km_max = cells.need("daily_km_max", whole(1..=10_000));
    let masses = read_masses(cells);
    let forces = read_forces(cells);
    Ok(CarType {
        name: name?,
        revision: revision?,
        fleet: fleet?,
        title: title?,
        vehicle_kind: vehicle_kind?,
        hand_brake: hand_brake?,
        load_signal_lost: load_signal_lost?,
        length_mm: length_mm?,
        speed_max_km_h: speed_max_km_h?,
        daily_km_max: daily_km_max?,
        bogies: Vec::new(),
        masses: masses?,
        positions: Vec::new(),
        circuit: Circuit::default(),
        braked_weights: Vec::new(),
        forces: forces?,
    })
}

/// What the brakes of the whole car have in common.
fn read_forces(cells: &mut Cells<'_>) -> Result<BrakeForces, Refused> {
    let rotating = cells.maybe("rotating_mass_kg", whole(0..=MASS_MAX_KG));
    let new = cells.maybe("wheel_new_mm", whole(100..=3000));
    let worn = cells.maybe("wheel_worn_mm", whole(100..=3000));
    let adhesion = cells.maybe("adhesion_max_thousandths", whole(1..=500));
    let demand_sharing = cells.maybe("demand_sharing", known);
    let main_air = cells.maybe("main_air_least_mbar", whole(1..=20_000));
    let wheels = match (new?, worn?) {
        (Some(new_mm), Some(worn_mm)) if worn_mm <= new_mm => {
            Some(WheelDiameters { new_mm, worn_mm })
        }
        (Some(_), Some(_)) => {
            return Err(cells.refuse("wheel_worn_mm", "no more than wheel_new_mm"));
        }
        (None, None) => None,
        _ => return Err(cells.refuse("wheel_worn_mm", "both wheel_new_mm and wheel_worn_mm")),
    };
    Ok(BrakeForces {
        rotating_mass: rotating?.map(Kilograms),
        wheels,
        adhesion_max: adhesion?.map(Thousandths),
        demand_sharing: demand_sharing?,
        main_air_least_mbar: main_air?,
        groups: Vec::new(),
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
