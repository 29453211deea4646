//! What goes wrong in a generated fleet, in fixed proportions: the troubles of real life that a
//! register must show rather than smooth over. The proportions are invented.

/// A trouble that strikes every so many cars or units of a fleet, counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Every {
    cars_or_units: u32,
    beginning_with: u32,
}

const fn every(cars_or_units: u32, beginning_with: u32) -> Every {
    Every {
        cars_or_units,
        beginning_with,
    }
}

impl Every {
    /// Whether it strikes the car or unit at this place in the fleet.
    pub(super) fn strikes(self, place: u32) -> bool {
        place % self.cars_or_units == self.beginning_with
    }
}

/// Of cars: no reading of any meter was ever taken.
pub(super) const NO_READINGS: Every = every(80, 23);
/// Of cars: no readings for half a year.
pub(super) const READING_GAP: Every = every(20, 7);
/// Of cars: the odometer was replaced.
pub(super) const METER_REPLACED: Every = every(25, 11);
/// Of cars: two components of a part were recorded at each other's position and corrected when
/// their serial numbers were read.
pub(super) const SWAPPED: Every = every(30, 4);
/// Of cars: a component was taken off and fitted to another car months later, with nothing
/// known in between.
pub(super) const GAP_IN_HISTORY: Every = every(40, 2);
/// Of cars: a component was robbed for another car and its position is empty.
pub(super) const ROBBED: Every = every(120, 5);
/// Of cars: a component was suspected, taken off, found good and fitted again.
pub(super) const SUSPECTED: Every = every(6, 3);
/// Of cars: a setting is not as wanted.
pub(super) const SET_OTHERWISE: Every = every(70, 2);
/// Of cars: a setting was found outside what is allowed.
pub(super) const FOUND_OUTSIDE: Every = every(70, 40);
/// Of cars: a substitute is fitted under a concession.
pub(super) const SUBSTITUTED: Every = every(36, 9);
/// Of units: it stands in the yard and is in no train. None of them has a cut-out in force.
pub(super) const IN_YARD: Every = every(6, 5);
/// Of units: a cut-out is in force.
pub(super) const CUT_OUT: Every = every(3, 1);
/// Of units: a second one.
pub(super) const SECOND_CUT_OUT: Every = every(6, 1);
/// Of units: an isolation ended, with the test that proves it.
pub(super) const ENDED_ISOLATION: Every = every(6, 2);

/// Of worn components that wait: with a contractor.
pub(super) const AT_CONTRACTOR: Every = every(8, 3);
/// Of worn components that wait: on the way to another workshop.
pub(super) const IN_TRANSIT: Every = every(24, 5);

/// Of a thousand components: overhaul or life limit overdue.
pub(super) const OVERDUE: i64 = 12;
/// Of a thousand components: overhaul or life limit soon due.
pub(super) const SOON_DUE: i64 = 30;
/// Of a thousand tasks of a car, or of a part on a car: overdue.
pub(super) const TASK_OVERDUE: i64 = 15;
/// Of a thousand components that are tested: worn beyond a limit at the last test.
pub(super) const WORN_OUT: i64 = 40;
/// Of a thousand tests of cars: a value was beyond its limit, until the car was repaired.
pub(super) const TEST_FAILED: i64 = 60;
/// Of a thousand tests: the instrument's calibration had lapsed.
pub(super) const NOT_CALIBRATED: i64 = 12;
/// Of a thousand tests: a value was not taken.
pub(super) const TEST_INCOMPLETE: i64 = 12;
/// Of a thousand components that came off worn of late: overhauled, or scrapped at the end of
/// their life. The others wait.
pub(super) const WORKED_ON: i64 = 850;
/// Of a thousand positions: the component failed within the history and was replaced.
pub(super) const FAILED: i64 = 40;
/// Of a thousand components: neither made nor overhauled on a known day.
pub(super) const DATES_UNKNOWN: i64 = 4;
/// Of a thousand components: what they had run when they came is not known.
pub(super) const USE_UNKNOWN: i64 = 6;
/// Spare components to a thousand positions.
pub(super) const SPARES: i64 = 25;
