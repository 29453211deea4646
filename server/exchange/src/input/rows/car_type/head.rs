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
    let title = cells.need_aside("title", (words(TITLE_MAX_CHARS), "untold"));
    let vehicle_kind = cells.need("vehicle_kind", known);
    let hand_brake = cells.aside("hand_brake", known);
    let load_signal_lost = cells.aside("load_signal_lost", known);
    let usual_brake_position = cells.aside("usual_brake_position", known);
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
        hand_brake,
        load_signal_lost,
        usual_brake_position,
        length_mm: length_mm?,
        speed_max_km_h: speed_max_km_h?,
        daily_km_max: daily_km_max?,
        bogies: Vec::new(),
        masses,
        positions: Vec::new(),
        circuit: Circuit::default(),
        braked_weights: Vec::new(),
        forces,
    })
}

/// What the brakes of the whole car have in common.
fn read_forces(cells: &mut Cells<'_>) -> BrakeForces {
    let rotating_mass = cells.aside("rotating_mass_kg", whole(0..=MASS_MAX_KG));
    let adhesion_max = cells.aside("adhesion_max_thousandths", whole(1..=500));
    BrakeForces {
        rotating_mass: rotating_mass.map(Kilograms),
        wheels: read_wheels(cells),
        adhesion_max: adhesion_max.map(Thousandths),
        demand_sharing: cells.aside("demand_sharing", known),
        main_air_least_mbar: cells.aside("main_air_least_mbar", whole(1..=20_000)),
        groups: Vec::new(),
    }
}

fn read_wheels(cells: &mut Cells<'_>) -> Option<WheelDiameters> {
    const COLUMNS: [&str; 2] = ["wheel_new_mm", "wheel_worn_mm"];
    let [new, worn] = COLUMNS.map(|column| cells.aside(column, whole(100..=3000)));
    let filled = COLUMNS.map(|column| cells.is_filled(column));
    match (new, worn) {
        (Some(new_mm), Some(worn_mm)) if worn_mm <= new_mm => {
            return Some(WheelDiameters { new_mm, worn_mm });
        }
        (Some(_), Some(_)) => cells.refuse_aside("wheel_worn_mm", "no more than wheel_new_mm"),
        _ if filled[0] != filled[1] => {
            cells.refuse_aside("wheel_worn_mm", "both wheel_new_mm and wheel_worn_mm");
        }
        _ => {}
    }
    None
}

/// Reads the masses, of which none is less than that with less load.
fn read_masses(cells: &mut Cells<'_>) -> Vec<CarMass> {
    let mut masses = Vec::with_capacity(MASSES.len());
    let mut before: Option<(&str, Kilograms)> = None;
    for (load, column) in MASSES {
        let Some(mass) = cells.aside(column, whole(0..=MASS_MAX_KG)).map(Kilograms) else {
            continue;
        };
        match before {
            Some((lighter, least)) if mass < least => {
                let expected = format!("at least the {} kg of {lighter}", least.0);
                cells.refuse_aside(column, &expected);
            }
            _ => {
                before = Some((column, mass));
                masses.push(CarMass { load, mass });
            }
        }
    }
    masses
}
