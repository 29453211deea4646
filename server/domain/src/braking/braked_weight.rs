//! Braked weight where it is not marked on the vehicle, and what a train's formation takes off
//! it. The figures of one railway are parameters.

use crate::units::{Distance, Kilograms};

/// The most that an unmarked hand brake may count (Bavarian EBOA, annex 22, part I,
/// paragraph 2).
pub const UNMARKED_HAND_BRAKE_MAX: Kilograms = Kilograms(26_000);

/// The braked weight of a hand brake that bears no mark: the share of the vehicle's mass that
/// rests on two axles, at most 26 t, rounded down (Bavarian EBOA, annex 22, part I,
/// paragraph 2). `None` without axles.
pub fn unmarked_hand_brake(mass: Kilograms, axles: u32) -> Option<Kilograms> {
    let share = mass.0.checked_mul(2)?.checked_div(i64::from(axles))?;
    Some(Kilograms(share).min(UNMARKED_HAND_BRAKE_MAX))
}

/// A traction unit that is to move vehicles whose brakes do not work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TractionUnit {
    /// Its working braked weight.
    pub braked: Kilograms,
    /// Its mass.
    pub mass: Kilograms,
}

/// How many unbraked axles the unit may move where `required_percent` is required and each axle
/// carries `axle_load`: (100·B − b·G) / (b·G axle), rounded down (Bavarian EBOA, annex 22,
/// part I, paragraph 3). `None` where nothing is required or an axle carries nothing.
pub fn unbraked_axles(
    unit: TractionUnit,
    required_percent: u32,
    axle_load: Kilograms,
) -> Option<u32> {
    let required = i128::from(required_percent);
    let spare = 100 * i128::from(unit.braked.0) - required * i128::from(unit.mass.0);
    let an_axle = required * i128::from(axle_load.0);
    let axles = spare.max(0).checked_div(an_axle)?;
    u32::try_from(axles).ok()
}

/// What one railway takes off the braked weight of goods trains run in position P.
#[derive(Debug, Clone, PartialEq)]
pub struct FormationDeductions {
    /// How much of its braked weight a vehicle standing in G counts, in percent.
    pub vehicle_in_g_percent: u32,
    /// Deductions by length, shortest first: longer than, and percent taken off.
    pub by_length: Vec<(Distance, u32)>,
}

impl FormationDeductions {
    /// The braked weight that a vehicle standing in G counts, rounded down.
    pub fn vehicle_in_g(&self, braked: Kilograms) -> Kilograms {
        Kilograms(
            braked
                .0
                .saturating_mul(i64::from(self.vehicle_in_g_percent))
                / 100,
        )
    }

    /// The percent taken off a set of wagons of that length.
    pub fn for_length(&self, length: Distance) -> u32 {
        self.by_length
            .iter()
            .rev()
            .find(|(longer_than, _)| length > *longer_than)
            .map_or(0, |(_, percent)| *percent)
    }
}
