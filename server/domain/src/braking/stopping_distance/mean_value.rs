//! Mean-value mechanics in the manner of EN 14531-1: uniform deceleration after an equivalent
//! response time. The first formula is confirmed by Regulation (EU) 321/2013, table C.3; the
//! standard's own text was not at hand.

use super::{Method, Stop, StoppingDistance};
use crate::units::{Deceleration, Distance, Seconds, Speed};
use crate::worked::{Missing, Step, Worked};

/// The distance from one speed to a lower one: s = v0·te + (v0² − v1²)/(2a). `None` without a
/// deceleration above nil or with `to` above `from`.
pub fn distance(
    from: Speed,
    to: Speed,
    response: Seconds,
    deceleration: Deceleration,
) -> Option<Distance> {
    let (v0, v1) = (from.metres_per_second(), to.metres_per_second());
    (deceleration.0 > 0.0 && v1 <= v0)
        .then(|| Distance(v0 * response.0 + (v0 * v0 - v1 * v1) / (2.0 * deceleration.0)))
}

/// The stopping distance with its working.
pub fn stopping_distance(
    from: Speed,
    response: Seconds,
    deceleration: Deceleration,
) -> Result<Worked<StoppingDistance>, Missing> {
    let found = distance(from, Speed(0.0), response, deceleration);
    let missing = || Missing::one("a mean deceleration above nil", "stopping distance");
    let distance = found.ok_or_else(missing)?;
    let v = from.metres_per_second();
    let working = format!(
        "v·te + v²/2a = {v:.3} · {} + {v:.3}² / (2 · {}) = {distance}",
        response.0, deceleration.0
    );
    let what = format!("stopping distance from {from:.0}");
    let source = "EN 14531-1, mean values, as in Regulation (EU) 321/2013, table C.3, note 2";
    Ok(Worked {
        value: StoppingDistance {
            method: Method::MeanValue,
            from,
            stop: Stop::After(distance),
        },
        steps: vec![Step::published(what, working, source)],
    })
}

/// How the deceleration rises: nothing during the delay, then evenly to its full value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BuildUp {
    /// Time until it begins.
    pub delay: Seconds,
    /// Time from its beginning to its full value.
    pub rise: Seconds,
}

impl BuildUp {
    /// The equivalent response time: the delay and half the rise. With it the step model is
    /// longer than the exact ramp by a·t²/24, so on the safe side.
    pub fn equivalent_response(self) -> Seconds {
        Seconds(self.delay.0 + self.rise.0 / 2.0)
    }

    /// The exact stopping distance while the train still moves at the end of the rise:
    /// v·td + v·tb − a·tb²/6 + (v − a·tb/2)²/(2a). `None` where it stops before.
    pub fn exact_distance(self, from: Speed, deceleration: Deceleration) -> Option<Distance> {
        let (v, a, rise) = (from.metres_per_second(), deceleration.0, self.rise.0);
        let speed_after = v - a * rise / 2.0;
        let before = v * (self.delay.0 + rise) - a * rise * rise / 6.0;
        (a > 0.0 && speed_after >= 0.0)
            .then(|| Distance(before + speed_after * speed_after / (2.0 * a)))
    }
}

/// The mean deceleration that a distance without response proves: a = v²/(2s).
pub fn deceleration_over(from: Speed, distance: Distance) -> Option<Deceleration> {
    let v = from.metres_per_second();
    (distance.0 > 0.0).then(|| Deceleration(v * v / (2.0 * distance.0)))
}

/// The mean deceleration that a stopping time proves: a = v/t.
pub fn deceleration_in(from: Speed, time: Seconds) -> Option<Deceleration> {
    (time.0 > 0.0).then(|| Deceleration(from.metres_per_second() / time.0))
}

/// The time of a stop: t = v/a.
pub fn stopping_time(from: Speed, deceleration: Deceleration) -> Option<Seconds> {
    (deceleration.0 > 0.0).then(|| Seconds(from.metres_per_second() / deceleration.0))
}

/// The distance run while the speed changes evenly in a time: s = (v0 + v1)·t/2.
pub fn distance_in(from: Speed, to: Speed, time: Seconds) -> Distance {
    Distance((from.metres_per_second() + to.metres_per_second()) * time.0 / 2.0)
}

/// The time in which the speed changes evenly over a distance: t = 2s/(v0 + v1). `None` at a
/// stand.
pub fn time_over(from: Speed, to: Speed, distance: Distance) -> Option<Seconds> {
    let sum = from.metres_per_second() + to.metres_per_second();
    (sum > 0.0).then(|| Seconds(2.0 * distance.0 / sum))
}
