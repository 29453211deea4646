//! What Regulation (EU) 1302/2014 (LOC&PAS TSI), 4.2.4.5, asks of how a unit in fixed or
//! predefined formation brakes with everything in order.

use crate::units::{Deceleration, Distance, Seconds, Speed};
use std::fmt;

/// How great a figure may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AtMost<T> {
    /// Less than this.
    Below(T),
    /// This and less.
    UpTo(T),
}

impl<T: PartialOrd + Copy> AtMost<T> {
    /// Whether a figure keeps to it. One that is not a number does not.
    pub fn allows(self, found: T) -> bool {
        match self {
            Self::Below(limit) => found < limit,
            Self::UpTo(limit) => found <= limit,
        }
    }
}

impl<T: fmt::Display> fmt::Display for AtMost<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (words, limit) = match self {
            Self::Below(limit) => ("below ", limit),
            Self::UpTo(limit) => ("at most ", limit),
        };
        f.write_str(words)?;
        limit.fmt(f)
    }
}

/// From this design speed on a formation has limits of its own, in km/h.
const FAST: Speed = Speed(250.0);

/// The equivalent response time of emergency braking, by design speed: 4.2.4.5.2(1).
pub fn response(design: Speed) -> AtMost<Seconds> {
    let seconds = if design >= FAST { 3.0 } else { 5.0 };
    AtMost::Below(Seconds(seconds))
}

/// The delay time of emergency braking: 4.2.4.5.2(1).
pub const DELAY: AtMost<Seconds> = AtMost::Below(Seconds(2.0));

/// The greatest mean deceleration with all brakes in use: 4.2.4.5.1.
pub const DECELERATION: AtMost<Deceleration> = AtMost::Below(Deceleration(2.5));

/// How far a formation made for 250 km/h or more may run to a stand on the level under normal
/// payload, from each speed up to its design speed, the highest first: 4.2.4.5.2(9). None for
/// slower ones.
pub fn stops(design: Speed) -> impl Iterator<Item = (Speed, AtMost<Distance>)> {
    let published = [
        (350.0, 5360.0),
        (300.0, 3650.0),
        (250.0, 2430.0),
        (200.0, 1500.0),
    ];
    published
        .into_iter()
        .map(|(from, within)| (Speed(from), AtMost::UpTo(Distance(within))))
        .filter(move |(from, _)| design >= FAST && *from <= design)
}
