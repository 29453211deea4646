//! The braked-weight relation λ = C/S − D of UIC leaflet 544-1, with constants for each initial
//! speed. It holds on level track, in brake position P, and contains no margin. Without
//! constants for a speed there is no answer; nothing is extrapolated.

use super::{Method, Stop, StoppingDistance};
use crate::units::{Deceleration, Distance, Seconds, Speed};
use crate::worked::{Missing, Step, Worked};

/// The constants for one initial speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// The initial speed.
    pub speed: Speed,
    /// C, in metres times percent.
    pub c: f64,
    /// D, in percent.
    pub d: f64,
}

/// Constants from memory; they reproduce the triples of distance, percentage and deceleration of
/// Regulation (EU) 321/2013, table C.3, within half a percent point.
pub const CONSTANTS: [Constants; 2] = [
    Constants {
        speed: Speed(100.0),
        c: 52_840.0,
        d: 10.0,
    },
    Constants {
        speed: Speed(120.0),
        c: 83_634.0,
        d: 19.0,
    },
];

/// Equivalent response time of Regulation (EU) 321/2013, table C.3, note 2.
pub const RESPONSE: Seconds = Seconds(2.0);

const SOURCE: &str = "UIC 544-1, constants from memory, confirmed by the triples of Regulation (EU) 321/2013, table C.3";

fn constants_at(set: &[Constants], speed: Speed) -> Result<Constants, Missing> {
    let found = set.iter().find(|constants| constants.speed == speed);
    found.copied().ok_or_else(|| {
        let of = format!("braked-weight relation of UIC 544-1 from {speed:.0}");
        Missing::one("constants C and D: no constants", of)
    })
}

/// The distance S = C/(λ + D) for a percentage. No answer for a speed without constants or a
/// percentage that is not above nil.
pub fn stopping_distance(
    set: &[Constants],
    percentage: f64,
    from: Speed,
) -> Result<Worked<StoppingDistance>, Missing> {
    let Constants { c, d, .. } = constants_at(set, from)?;
    if percentage.is_nan() || percentage <= 0.0 {
        let of = "braked-weight relation of UIC 544-1";
        return Err(Missing::one("a brake percentage above nil", of));
    }
    let distance = Distance(c / (percentage + d));
    let working = format!("C/(λ + D) = {c} / ({percentage:.1} + {d}) = {distance}");
    let what = format!("stopping distance from {from:.0}");
    Ok(Worked {
        value: StoppingDistance {
            method: Method::BrakedWeightRelation,
            from,
            stop: Stop::After(distance),
        },
        steps: vec![Step::published(what, working, SOURCE)],
    })
}

/// The percentage λ = C/S − D that a distance proves.
pub fn percentage(
    set: &[Constants],
    distance: Distance,
    from: Speed,
) -> Result<Worked<f64>, Missing> {
    let Constants { c, d, .. } = constants_at(set, from)?;
    if distance.0.is_nan() || distance.0 <= 0.0 {
        let of = "braked-weight relation of UIC 544-1";
        return Err(Missing::one("a distance above nil", of));
    }
    let value = c / distance.0 - d;
    let working = format!("C/S − D = {c} / {distance} − {d} = {value:.1} %");
    Ok(Worked {
        value,
        steps: vec![Step::published("brake percentage", working, SOURCE)],
    })
}

/// The distance of a mean deceleration in the relation's own frame: S = v·te + v²/(2a) with a
/// response of 2 s.
pub fn distance_of_deceleration(from: Speed, deceleration: Deceleration) -> Option<Distance> {
    super::mean_value::distance(from, Speed(0.0), RESPONSE, deceleration)
}
