//! What is known of a car type's brakes as forces: what a calculation in the manner of
//! EN 14531-1 takes in. All of it may be unknown; whatever needs an unknown fact gets no answer.

use super::car_type::{BrakePosition, LoadState};
use crate::identity::{ActuatorGroupName, PositionCode};
use crate::units::{Kilograms, Thousandths};
use crate::words::word_list;
use serde::{Deserialize, Serialize};

word_list! {
    /// What the brakes that are left do when others are cut out.
    DemandSharing, "sharing of the demand" {
        /// Each brakes as it did before.
        NotShared = "not_shared",
        /// The brake control asks the brakes of the whole train for what the others no longer
        /// give.
        OverTheTrain = "over_the_train",
    }
}

/// Diameters of the wheels in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct WheelDiameters {
    /// New: discs then brake least.
    pub new_mm: u16,
    /// Worn to the limit: discs then ask most of adhesion.
    pub worn_mm: u16,
}

/// What the brake acts on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ActsOn {
    /// A disc, two pads pressing on it with the force of the rigging each.
    Disc {
        /// The radius at which the pads act, in millimetres.
        friction_radius_mm: u16,
    },
    /// The tread of a wheel, the rigging's force being that of all blocks together.
    Tread,
}

impl ActsOn {
    /// The name in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Disc { .. } => "disc",
            Self::Tread => "tread",
        }
    }
}

/// The cylinder pressure of a group in one case, and how it rises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CylinderPressure {
    /// The brake position it holds for.
    pub brake_position: BrakePosition,
    /// The load state it holds for.
    pub load: LoadState,
    /// The full pressure of an emergency application, in thousandths of a bar above the
    /// surrounding air.
    pub pressure_mbar: u32,
    /// From the command until it begins to rise, in milliseconds.
    pub delay_ms: u32,
    /// From then until it is full, in milliseconds.
    pub rise_ms: u32,
}

/// Actuators that are built alike and get the same pressure, each with a cylinder of its own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ActuatorGroup {
    /// Its name, unique within the car type.
    pub name: ActuatorGroupName,
    /// The actuators.
    pub positions: Vec<PositionCode>,
    /// What they act on.
    pub acts_on: ActsOn,
    /// Area of the piston in square millimetres.
    pub piston_area_mm2: u32,
    /// Efficiency of the cylinder.
    pub cylinder_efficiency: Thousandths,
    /// Force of the return spring in newtons.
    pub spring_n: u32,
    /// Ratio of the rigging: force at each pad of a disc, or at all blocks together, by the
    /// force of the cylinder.
    pub ratio: Thousandths,
    /// What the slack adjuster takes off behind the ratio, in newtons.
    pub adjuster_n: u32,
    /// Efficiency of the rigging.
    pub efficiency: Thousandths,
    /// Mean coefficient of friction over a stop.
    pub friction: Thousandths,
    /// The most energy that one stop may put into each disc or wheel, in kilojoules.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop_energy_max_kj: Option<u32>,
    /// The volume of each cylinder with its pipe, piston out, in millilitres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cylinder_volume_ml: Option<u32>,
    /// Its cylinder pressures; a case that is not listed is unknown.
    pub pressures: Vec<CylinderPressure>,
}

impl ActuatorGroup {
    /// The pressure in a case, if known.
    pub fn pressure(&self, position: BrakePosition, load: LoadState) -> Option<&CylinderPressure> {
        let mut all = self.pressures.iter();
        all.find(|pressure| pressure.brake_position == position && pressure.load == load)
    }
}

/// A car type's brakes as forces.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct BrakeForces {
    /// What the rotating parts add to the mass of a car.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rotating_mass: Option<Kilograms>,
    /// The wheels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wheels: Option<WheelDiameters>,
    /// The most adhesion that each braked axle may use.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adhesion_max: Option<Thousandths>,
    /// What the brakes that are left do when others are cut out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub demand_sharing: Option<DemandSharing>,
    /// The least pressure that its main air is kept at while a compressor works, in thousandths
    /// of a bar above the surrounding air.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub main_air_least_mbar: Option<u32>,
    /// The actuators, group by group.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub groups: Vec<ActuatorGroup>,
}

impl BrakeForces {
    /// Whether a cylinder pressure can be relied on: where the least pressure of the main air is
    /// stated, which feeds all cylinders, not beyond that. Else what would be allowed.
    pub fn supplies(&self, pressure_mbar: u32) -> Result<(), String> {
        match self.main_air_least_mbar {
            Some(least) if least < pressure_mbar => Err(format!(
                "at most {least} mbar, the least pressure of the main air of this car type"
            )),
            _ => Ok(()),
        }
    }

    /// Whether nothing at all is known.
    pub fn is_unknown(&self) -> bool {
        *self == Self::default()
    }
}
