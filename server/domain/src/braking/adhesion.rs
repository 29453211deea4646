//! Limits of the adhesion that brakes may count on: Regulation (EU) 1302/2014 (LOC&PAS TSI),
//! 4.2.4.6.1 and 4.2.4.6.2.

use crate::configuration::car_type::LoadState;
use crate::units::Speed;
use crate::words::word_list;

/// The limit for the parking brake.
pub const PARKING_LIMIT: f64 = 0.12;

word_list! {
    /// How the unit is operated.
    UnitKind, "unit kind" {
        /// In fixed or predefined formation.
        FixedFormation = "fixed_formation",
        /// In general operation.
        GeneralOperation = "general_operation",
    }
}

word_list! {
    /// Whether the wheel-slide protection was tested at minimum load.
    SlideProtectionTest, "slide protection test" {
        /// Tested at minimum load and passed.
        PassedAtMinimumLoad = "passed_at_minimum_load",
        /// Not tested so.
        NotMade = "not_made",
    }
}

/// What the limit depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AdhesionCase {
    /// How the unit is operated.
    pub unit: UnitKind,
    /// Its axles.
    pub axles: u32,
    /// How it is loaded.
    pub load: LoadState,
    /// Whether its slide protection passed the test at minimum load.
    pub slide_protection_test: SlideProtectionTest,
}

/// The greatest adhesion a wheelset may use for braking at that speed. `None` where the clause
/// sets none: up to 30 and above 350 km/h.
///
/// Between 250 and 350 km/h every limit falls evenly by 0.05 in all.
pub fn limit(case: AdhesionCase, speed: Speed) -> Option<f64> {
    let above_250 = (speed.0 - 250.0).max(0.0);
    (speed.0 > 30.0 && speed.0 <= 350.0).then(|| limit_to_250_km_h(case) - 0.05 * above_250 / 100.0)
}

fn limit_to_250_km_h(case: AdhesionCase) -> f64 {
    let axles_for_more = match case.slide_protection_test {
        SlideProtectionTest::PassedAtMinimumLoad => 16,
        SlideProtectionTest::NotMade => 20,
    };
    if case.unit == UnitKind::FixedFormation && case.axles <= 7 {
        0.13
    } else if case.load == LoadState::Minimum && case.axles >= axles_for_more {
        0.17
    } else {
        0.15
    }
}

word_list! {
    /// What the friction brake acts on.
    FrictionBrake, "friction brake" {
        /// Blocks on the wheel's tread.
        Tread = "tread",
        /// Discs.
        Disc = "disc",
    }
}

/// Whether wheel-slide protection is required: above 150 km/h design speed, or where the
/// calculated adhesion exceeds 0.12 with tread brakes or 0.11 with others.
pub fn slide_protection_required(design: Speed, brake: FrictionBrake, adhesion: f64) -> bool {
    let without = match brake {
        FrictionBrake::Tread => 0.12,
        FrictionBrake::Disc => 0.11,
    };
    design.0 > 150.0 || adhesion > without
}
