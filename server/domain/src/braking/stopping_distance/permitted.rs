//! From which speed a train still stops within a distance, whatever the method.

use super::Stop;
use crate::units::{Distance, Speed};

/// The steps in which speeds are tried, in km/h.
pub const SPEED_STEP_KM_H: u32 = 5;

/// The highest speed, in steps of 5 km/h up to `most`, from which and from each step below which
/// the train stops within a distance; none when it does not even from 5 km/h.
///
/// Speeds are tried upward and the first that is too fast ends the search, so that a stop that
/// were shorter from a higher speed would not be taken for a permission. Computes at most one
/// stop for each step: 40 up to 200 km/h.
pub fn highest_speed_within(
    limit: Distance,
    most: Speed,
    stop: impl Fn(Speed) -> Stop,
) -> Option<Speed> {
    highest_speed_from(None, (limit, most), stop)
}

/// The same where it is known to stop from one of these speeds, and from each step below it: only
/// higher ones are tried. What stops on a fall stops sooner where the track falls less.
pub fn highest_speed_from(
    known: Option<Speed>,
    (limit, most): (Distance, Speed),
    stop: impl Fn(Speed) -> Stop,
) -> Option<Speed> {
    let begun = known.map_or(0.0, |known| known.0);
    let speed = |n: u32| Speed(begun + f64::from(n * SPEED_STEP_KM_H));
    let speeds = (1..).map(speed);
    let higher = speeds.take_while(|speed| *speed <= most && stop(*speed).is_within(limit));
    higher.last().or(known)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stop_that_is_shorter_from_a_higher_speed_permits_nothing_above_the_gap() {
        let stop = |speed: Speed| match speed.0 {
            60.0 => Stop::After(Distance(1500.0)),
            100.0 => Stop::Never,
            kmh => Stop::After(Distance(10.0 * kmh)),
        };
        let within = |limit, most| highest_speed_within(Distance(limit), Speed(most), stop);
        assert_eq!(within(1000.0, 160.0), Some(Speed(55.0)));
        assert_eq!(within(2000.0, 160.0), Some(Speed(95.0)));
        assert_eq!(within(2000.0, 83.0), Some(Speed(80.0)));
        assert_eq!(within(49.0, 160.0), None);
        assert_eq!(within(2000.0, f64::NAN), None);
    }
}
