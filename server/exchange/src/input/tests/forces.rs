//! What rows say of a car type's brakes as forces.

use super::facts::{only, sample_car_type};
use domain::configuration::brake_forces::{ActsOn, DemandSharing, WheelDiameters};
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::units::{Kilograms, Thousandths};

#[test]
fn a_car_type_keeps_what_its_forces_are_computed_from() {
    let forces = sample_car_type().forces;
    assert_eq!(forces.rotating_mass, Some(Kilograms(1900)));
    assert_eq!(forces.adhesion_max, Some(Thousandths(150)));
    assert_eq!(forces.main_air_least_mbar, Some(7800));
    assert_eq!(forces.groups[0].cylinder_volume_ml, Some(900));
    assert_eq!(forces.demand_sharing, Some(DemandSharing::NotShared));
    let wheels = WheelDiameters {
        new_mm: 920,
        worn_mm: 870,
    };
    assert_eq!(forces.wheels, Some(wheels));
    let group = only(forces.groups.into_iter());
    let friction_radius_mm = 247;
    assert_eq!(group.acts_on, ActsOn::Disc { friction_radius_mm });
    assert_eq!((group.spring_n, group.ratio), (450, Thousandths(2450)));
    let pressure = group.pressure(BrakePosition::R, LoadState::Minimum);
    let pressure = pressure.expect("a pressure");
    assert_eq!((pressure.pressure_mbar, pressure.rise_ms), (3000, 3600));
    assert_eq!(group.pressure(BrakePosition::P, LoadState::Minimum), None);
}
