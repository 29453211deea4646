//! Braking from forces, in the manner of EN 14531-1: what each brake gives at the rail, how a
//! train stops by it, and which braked weight that comes to. The standard's own text was not at
//! hand; its formulas are from memory, and the frame of the braked weight is that of Regulation
//! (EU) 321/2013, table C.3.

pub mod derived;
pub mod retarding;

use super::disc_brake::DiscBrake;
use super::rigging::Rigging;
use super::tread_brake::TreadBrake;
use crate::configuration::brake_forces::{ActsOn, ActuatorGroup, CylinderPressure};
use crate::units::{GaugePressure, Kilonewtons, Seconds};

use super::stopping_distance::mean_value::BuildUp;

/// Where the formulas come from, as steps say it.
pub const SOURCE: &str = "EN 14531-1, formulas from memory";

/// The cylinder and rigging of each actuator of a group at a pressure.
fn rigging(group: &ActuatorGroup, pressure: &CylinderPressure) -> Rigging {
    Rigging {
        pressure: GaugePressure(f64::from(pressure.pressure_mbar) / 1000.0),
        area_cm2: f64::from(group.piston_area_mm2) / 100.0,
        cylinder_efficiency: group.cylinder_efficiency.real(),
        spring_n: f64::from(group.spring_n),
        ratio: group.ratio.real(),
        adjuster_n: f64::from(group.adjuster_n),
        efficiency: group.efficiency.real(),
    }
}

/// The retarding force at the rail of each actuator of a group, full pressure in its cylinder,
/// on wheels of that diameter in millimetres, above nil.
pub fn force_at_rail(
    group: &ActuatorGroup,
    pressure: &CylinderPressure,
    wheel_mm: u16,
) -> Kilonewtons {
    let rigging = rigging(group, pressure);
    let friction = group.friction.real();
    match group.acts_on {
        ActsOn::Disc { friction_radius_mm } => DiscBrake {
            rigging,
            friction,
            friction_radius_m: f64::from(friction_radius_mm) / 1000.0,
            wheel_radius_m: f64::from(wheel_mm) / 2000.0,
        }
        .force_at_rail(),
        ActsOn::Tread => TreadBrake { rigging, friction }.force_at_rail(),
    }
}

/// The working of [`force_at_rail`], for steps.
pub fn force_working(group: &ActuatorGroup, pressure: &CylinderPressure, wheel_mm: u16) -> String {
    let rigging = rigging(group, pressure);
    let pressing = format!(
        "(({:.2} · {} cm² · 10 · {} − {} N) · {} − {} N) · {} = {:.0} N",
        rigging.pressure,
        rigging.area_cm2,
        rigging.cylinder_efficiency,
        rigging.spring_n,
        rigging.ratio,
        rigging.adjuster_n,
        rigging.efficiency,
        rigging.pressing_force_n()
    );
    let force = force_at_rail(group, pressure, wheel_mm);
    let friction = group.friction;
    match group.acts_on {
        ActsOn::Disc { friction_radius_mm } => format!(
            "each pad presses {pressing}; at the rail 2 · {friction} · {friction_radius_mm} mm / \
             ({wheel_mm} mm / 2) of it = {force:.3}"
        ),
        ActsOn::Tread => {
            format!("the blocks press {pressing}; at the rail {friction} of it = {force:.3}")
        }
    }
}

/// The time after which the full force of a group is taken to act at once.
pub fn equivalent_response(pressure: &CylinderPressure) -> Seconds {
    let seconds = |ms: u32| Seconds(f64::from(ms) / 1000.0);
    let build_up = BuildUp {
        delay: seconds(pressure.delay_ms),
        rise: seconds(pressure.rise_ms),
    };
    build_up.equivalent_response()
}
