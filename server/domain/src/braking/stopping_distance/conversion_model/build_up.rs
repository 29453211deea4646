//! Brake build-up times (SUBSET-026-3, A.3.8 and A.3.9): the equivalent time after which the full
//! deceleration is taken to act.

use super::{Brake, Formation, Model, ModelPosition};
use crate::units::Seconds;
use crate::words::word_list;

word_list! {
    /// Down to which speed the train brakes.
    Target, "target of braking" {
        /// To a stand.
        Stand = "stand",
        /// To a lower speed: the time is longer by 16 or 20 %.
        LowerSpeed = "lower_speed",
    }
}

/// Length up to which the times of short trains hold.
const SHORT_MAX_M: f64 = 900.0;
/// The shortest length that some of the formulas count.
const LENGTH_FLOOR_M: f64 = 400.0;

/// The build-up time: a + b·x + c·x² with x = L/100, times 1.16 (freight G) or 1.20 (others)
/// where the train brakes to a lower speed only.
pub fn build_up_time(formation: Formation, brake: Brake, target: Target) -> Seconds {
    let x = counted_length_m(formation, brake) / 100.0;
    let (a, b, c) = coefficients(formation, brake);
    let factor = match (target, formation.position) {
        (Target::Stand, _) => 1.0,
        (Target::LowerSpeed, ModelPosition::FreightG) => 1.16,
        (Target::LowerSpeed, _) => 1.20,
    };
    Seconds(factor * (a + b * x + c * x * x))
}

fn counted_length_m(formation: Formation, brake: Brake) -> f64 {
    use ModelPosition::{FreightG, FreightP, PassengerP};
    match (brake, formation.position) {
        (Brake::Emergency, PassengerP | FreightP) | (Brake::FullService, FreightG) => {
            formation.length.0.max(LENGTH_FLOOR_M)
        }
        (Brake::Emergency, FreightG) | (Brake::FullService, PassengerP | FreightP) => {
            formation.length.0
        }
    }
}

fn coefficients(formation: Formation, brake: Brake) -> (f64, f64, f64) {
    use ModelPosition::{FreightG, FreightP, PassengerP};
    let short = formation.length.0 <= SHORT_MAX_M;
    match (brake, formation.position) {
        (Brake::Emergency, PassengerP) => (2.30, 0.0, 0.17),
        (Brake::Emergency, FreightP) if short => (2.30, 0.0, 0.17),
        (Brake::Emergency, FreightG) if short => (12.00, 0.0, 0.05),
        (Brake::Emergency, FreightP | FreightG) => (-0.40, 1.60, 0.03),
        (Brake::FullService, PassengerP) => (3.00, 1.50, 0.10),
        (Brake::FullService, FreightP | FreightG) if short => (3.00, 2.77, 0.0),
        (Brake::FullService, FreightP | FreightG) => (10.50, 0.32, 0.18),
    }
}

/// The time until the brake begins to act.
pub fn reaction_time(position: ModelPosition, brake: Brake) -> Seconds {
    use ModelPosition::{FreightG, FreightP, PassengerP};
    Seconds(match (brake, position) {
        (Brake::Emergency, PassengerP) => 1.42,
        (Brake::Emergency, FreightP) => 2.99,
        (Brake::Emergency, FreightG) => 9.30,
        (Brake::FullService, PassengerP) => 1.06,
        (Brake::FullService, FreightP) => 2.07,
        (Brake::FullService, FreightG) => 5.70,
    })
}

/// How the effort rises (A.3.12).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EffortTimes {
    /// Until it begins.
    pub begins: Seconds,
    /// Until it is full: twice the build-up time less the reaction time.
    pub full: Seconds,
}

/// When the emergency effort begins and when it is full, down to a stand.
pub fn emergency_effort_times(formation: Formation, model: Model) -> EffortTimes {
    let factor = model.time_factor();
    let build_up = factor * build_up_time(formation, Brake::Emergency, Target::Stand).0;
    let begins = factor * reaction_time(formation.position, Brake::Emergency).0;
    EffortTimes {
        begins: Seconds(begins),
        full: Seconds(2.0 * build_up - begins),
    }
}
