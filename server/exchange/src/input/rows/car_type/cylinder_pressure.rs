//! Cylinder pressures of groups of actuators.

use super::Draft;
use crate::input::cells::{Cells, Refused, known, whole};
use domain::configuration::brake_forces::CylinderPressure;
use domain::identity::ActuatorGroupName;

const MILLISECONDS_MAX: u32 = 60_000;

/// Adds a row of `cylinder_pressures`.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let name: Result<ActuatorGroupName, Refused> = cells.need("group", known);
    let brake_position = cells.need("brake_position", known);
    let load = cells.need("load", known);
    let pressure_mbar = cells.need("pressure_mbar", whole(0..=20_000));
    let delay_ms = cells.need("delay_ms", whole(0..=MILLISECONDS_MAX));
    let rise_ms = cells.need("rise_ms", whole(0..=MILLISECONDS_MAX));
    let name = name?;
    let pressure = CylinderPressure {
        brake_position: brake_position?,
        load: load?,
        pressure_mbar: pressure_mbar?,
        delay_ms: delay_ms?,
        rise_ms: rise_ms?,
    };
    let supplied = draft.head.as_ref();
    let supplied = supplied.map(|(head, _)| head.forces.supplies(pressure.pressure_mbar));
    if let Ok(Err(expected)) = supplied {
        return Err(cells.refuse("pressure_mbar", expected));
    }
    let mut groups = draft.groups.iter_mut();
    let group = groups.find(|group| group.name == name);
    if group.is_none() && !draft.groups_whole {
        // Its group was told to be wrong.
        return Ok(());
    }
    let Some(group) = group else {
        let expected = "a group that brake_groups lists for this car type";
        return Err(cells.refuse("group", expected));
    };
    let (brake_position, load) = (pressure.brake_position, pressure.load);
    if group.pressure(brake_position, load).is_some() {
        return Err(cells.refuse("load", "each group once for a brake position and load"));
    }
    group.pressures.push(pressure);
    Ok(())
}
