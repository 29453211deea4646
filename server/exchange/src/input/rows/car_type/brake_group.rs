//! Groups of actuators with what their forces are computed from.

use super::Draft;
use crate::input::cells::{Cells, Refused, known, whole};
use domain::configuration::brake_forces::{ActsOn, ActuatorGroup};
use domain::identity::PositionCode;
use domain::units::Thousandths;

const NEWTONS_MAX: u32 = 1_000_000;

/// Adds a row of `brake_groups`.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let added = add_group(cells, draft);
    draft.groups_whole &= added.is_ok();
    added
}

fn add_group(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let name = cells.need("group", known);
    let positions = read_positions(cells, draft);
    let acts_on = read_acts_on(cells);
    let piston_area_mm2 = cells.need("piston_area_mm2", whole(1..=1_000_000));
    let mut part = |column| cells.need(column, whole(1..=1000)).map(Thousandths);
    let cylinder_efficiency = part("cylinder_efficiency_thousandths");
    let efficiency = part("efficiency_thousandths");
    let friction = part("friction_thousandths");
    let spring_n = cells.need("spring_n", whole(0..=NEWTONS_MAX));
    let ratio = cells.need("ratio_thousandths", whole(1..=100_000));
    let adjuster_n = cells.need("adjuster_n", whole(0..=NEWTONS_MAX));
    let stop_energy_max_kj = cells.maybe("stop_energy_max_kj", whole(1..=1_000_000));
    let cylinder_volume_ml = cells.maybe("cylinder_volume_ml", whole(1..=1_000_000));
    let group = ActuatorGroup {
        name: name?,
        positions: positions?,
        acts_on: acts_on?,
        piston_area_mm2: piston_area_mm2?,
        cylinder_efficiency: cylinder_efficiency?,
        spring_n: spring_n?,
        ratio: Thousandths(ratio?),
        adjuster_n: adjuster_n?,
        efficiency: efficiency?,
        friction: friction?,
        stop_energy_max_kj: stop_energy_max_kj?,
        cylinder_volume_ml: cylinder_volume_ml?,
        pressures: Vec::new(),
    };
    if draft.groups.iter().any(|other| other.name == group.name) {
        return Err(cells.refuse("group", "each group of a car type once"));
    }
    draft.groups.push(group);
    Ok(())
}

fn read_positions(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<Vec<PositionCode>, Refused> {
    let positions: Vec<PositionCode> = cells.list("positions", known)?;
    if positions.is_empty() {
        return Err(cells.refuse_other("positions"));
    }
    for position in &positions {
        if !draft.may_have_position(position) {
            let expected = "positions that positions lists for this car type";
            return Err(cells.refuse("positions", expected));
        }
        if !draft.grouped.insert(position.clone()) {
            return Err(cells.refuse("positions", "each position in one group, once"));
        }
    }
    Ok(positions)
}

fn read_acts_on(cells: &mut Cells<'_>) -> Result<ActsOn, Refused> {
    let radius = "friction_radius_mm";
    match cells.text("acts_on") {
        "disc" => {
            let friction_radius_mm = cells.need(radius, whole(1..=1000))?;
            Ok(ActsOn::Disc { friction_radius_mm })
        }
        "tread" if cells.is_filled(radius) => {
            Err(cells.refuse(radius, "nothing unless acts_on is disc"))
        }
        "tread" => Ok(ActsOn::Tread),
        _ => Err(cells.refuse_other("acts_on")),
    }
}
