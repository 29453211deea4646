//! What must be known of a car or component, and of its host's meters, to tell when work on
//! it is due.
//!
//! Use is counted on one scale for each meter: what the register has counted for the subject
//! since it received it, or since the last stretch of its life of which its use is unknown (see
//! [`crate::usage::carried::KnownSince`]). What happened before its receipt lies below nought on
//! the scale, and what happened before such a stretch not on it at all. So a component whose
//! earlier life is unknown still has its intervals counted from work that was done since. For a
//! car the scale is its own use.

use crate::due::at_once::AtOnce;
use crate::due::task::Task;
use crate::time::Day;
use crate::units::{Amount, ByMeter};
use crate::usage::rate::DailyRate;

/// When a component first stood on a car at or after some moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FirstFitting {
    /// It has been in store or workshop ever since.
    NotYet,
    /// On this day; the day of the moment itself where it was on a car then.
    On(Day),
    /// Not known.
    Unknown {
        /// It was on a car on this day at the latest, where it is known to have been on one since.
        at_the_latest: Option<Day>,
    },
}

impl FirstFitting {
    /// Nothing is known of it.
    pub const UNKNOWN: FirstFitting = FirstFitting::Unknown {
        at_the_latest: None,
    };

    /// On this day or before it.
    pub const fn unknown_until(day: Day) -> Self {
        Self::Unknown {
            at_the_latest: Some(day),
        }
    }
}

/// A moment in the life of a car or component that an interval may count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// Its day, if known.
    pub on: Option<Day>,
    /// When the component first stood on a car at or after it. For a car: the day itself.
    pub fitted: FirstFitting,
    /// The counted use at that moment, if known.
    pub counted: ByMeter<Option<Amount>>,
}

impl Moment {
    /// The making of a component that brought that much use with it when it was received: on
    /// the scale of counted use, its life began so much below nought.
    pub fn made(
        on: Option<Day>,
        fitted: FirstFitting,
        brought_in: &ByMeter<Option<Amount>>,
    ) -> Self {
        let counted = ByMeter::from_fn(|meter| brought_in[meter].map(|used| Amount(0) - used));
        Self {
            on,
            fitted,
            counted,
        }
    }
}

/// A task done once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Done<'a> {
    /// When, and the counted use then.
    pub moment: Moment,
    /// The task as it was in force then: its tolerances decide what the next interval counts
    /// from.
    pub task: &'a Task,
}

/// What work is done on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SubjectKind {
    /// A component: its life begins when it is made.
    Component,
    /// A car as a whole: its intervals begin when it enters service.
    Car,
}

/// The scale on which the use of a subject is counted by one meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// How far the use of the host car is ahead of the counted use. It stays the same for as long
    /// as the fitment lasts: a point of the subject's use is reached when the car's reaches the
    /// point plus this. Nought for a car and for a component in store.
    pub ahead: Amount,
    /// Where it begins.
    pub begins: ScaleBegins,
}

impl Scale {
    /// The subject's own use is what its host shows.
    pub const OWN: Scale = Scale {
        ahead: Amount(0),
        begins: ScaleBegins::WithItsLife,
    };
}

/// Where a scale of use begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleBegins {
    /// With the life of the subject here: all that it has run since is known.
    WithItsLife,
    /// After a stretch of which what it ran is unknown.
    AfterAGap,
}

/// What is known of a car or component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SubjectFacts<'a> {
    /// What it is.
    pub kind: SubjectKind,
    /// The making of a component, see [`Moment::made`]; a car's entering service.
    pub made: Moment,
    /// Its last overhaul, if it had one.
    pub overhauled: Option<Moment>,
    /// Each time the task was done, in order of time. Tests with an instrument out of
    /// calibration and failed tests are not among them.
    pub doings: &'a [Done<'a>],
    /// How its counted use and that of the host car hang together.
    pub scale: ByMeter<Scale>,
    /// Why the task is due at once, if it is.
    pub at_once: Option<AtOnce>,
}

/// The last reading of a meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LastReading {
    /// The day it was taken, in the depot's time zone.
    pub on: Day,
    /// The car's use by it.
    pub usage: Amount,
}

/// What is known of one meter of the host car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeterFacts {
    /// Its last reading, if it was ever read.
    pub last: Option<LastReading>,
    /// What it gains a day, if known.
    pub rate: Option<DailyRate>,
}

impl MeterFacts {
    /// Nothing is known.
    pub const UNKNOWN: MeterFacts = MeterFacts {
        last: None,
        rate: None,
    };

    /// A component in store: it has run so much by its own count and runs no further.
    pub const fn at_rest(counted: Amount, since: Day) -> Self {
        Self {
            last: Some(LastReading {
                on: since,
                usage: counted,
            }),
            rate: Some(DailyRate::STILL),
        }
    }
}
