//! Invented names of places. None of them exists.

use std::fmt::Display;

/// Depots of the invented railway.
const DEPOTS: [&str; 6] = [
    "Tarrenhead",
    "Marrowby",
    "Quendlewick",
    "Skarrowholt",
    "Ossenfold",
    "Pellowmire",
];

/// How many units a depot keeps before the next one opens.
const UNITS_A_DEPOT: u32 = 12;

/// The depot of a unit, by the unit's place in the fleet.
pub(super) fn depot(unit: u32) -> &'static str {
    let depots = u32::try_from(DEPOTS.len()).unwrap_or(1);
    let place = (unit / UNITS_A_DEPOT) % depots;
    usize::try_from(place).map_or(DEPOTS[0], |place| DEPOTS[place])
}

/// Whether a unit is the first of a depot.
pub(super) fn opens_depot(unit: u32) -> bool {
    let depots = u32::try_from(DEPOTS.len()).unwrap_or(1);
    unit.is_multiple_of(UNITS_A_DEPOT) && unit / UNITS_A_DEPOT < depots
}

/// Who overhauls what the workshops do not.
pub(super) const CONTRACTOR: &str = "Wendlebeck overhaul works";

/// What goes between the depots.
pub(super) const IN_TRANSIT: &str = "parts van";

/// Where a depot keeps what may be fitted.
pub(super) fn store(depot: impl Display) -> String {
    format!("{depot} store")
}

/// Where components are repaired and overhauled.
pub(super) fn workshop(depot: impl Display) -> String {
    format!("{depot} workshop")
}

/// Where a depot keeps apart what is in doubt.
pub(super) fn quarantine(depot: impl Display) -> String {
    format!("{depot} quarantine")
}
