//! A component and a task for the tests of this folder: 24 months or 200,000 km.

use super::facts::{
    FirstFitting, LastReading, MeterFacts, Moment, Scale, ScaleBegins, SubjectFacts, SubjectKind,
};
use super::task::{AppliesTo, ClockStart, CountsFrom, Interval, Limit, Limits, Task, TaskKind};
use crate::time::Day;
use crate::units::{Amount, ByMeter, Meter};
use crate::usage::rate::DailyRate;

pub(crate) fn day(text: &str) -> Day {
    text.parse().expect("a date")
}

pub(crate) fn limits(limits: &[Limit]) -> Limits {
    limits.to_vec().try_into().expect("valid limits")
}

pub(crate) const MONTHS_24: Limit = Limit {
    interval: Interval::Months(24),
    early: 60,
    late: 30,
};

pub(crate) const KM_200_000: Limit = Limit {
    interval: Interval::Usage(Meter::Odometer, Amount::whole(200_000)),
    early: 20_000_000,
    late: 10_000_000,
};

pub(crate) fn overhaul() -> Task {
    Task {
        code: "OH-1".parse().expect("a code"),
        revision: "A".parse().expect("a revision"),
        title: "Overhaul".to_owned(),
        kind: TaskKind::Overhaul,
        applies_to: AppliesTo::Part("RV-10".parse().expect("a part number")),
        limits: limits(&[MONTHS_24, KM_200_000]),
        counts_from: CountsFrom::Done,
        clock_start: ClockStart::Overhaul,
        longest_in_store_days: None,
        satisfies: Vec::new(),
        obligations: Vec::new(),
        source: "own justification".to_owned(),
    }
}

/// Use by the odometer alone.
pub(crate) fn km(amount: Option<i64>) -> ByMeter<Option<Amount>> {
    ByMeter {
        odometer: amount.map(Amount::whole),
        ..ByMeter::default()
    }
}

/// Counted on a car of which the odometer is so far ahead.
pub(crate) fn scale(ahead_km: i64, begins: ScaleBegins) -> ByMeter<Scale> {
    let ahead = Amount::whole(ahead_km);
    ByMeter {
        odometer: Scale { ahead, begins },
        running_hours: Scale::OWN,
        compressor_hours: Scale::OWN,
    }
}

/// On a car on the day, with so many kilometres counted.
pub(crate) fn moment(on: &str, counted_km: Option<i64>) -> Moment {
    Moment {
        on: Some(day(on)),
        fitted: FirstFitting::On(day(on)),
        counted: km(counted_km),
    }
}

/// Made and fitted new on 2024-01-31, when the car had run 50,000 km.
pub(crate) fn fitted_new() -> SubjectFacts<'static> {
    SubjectFacts {
        kind: SubjectKind::Component,
        made: moment("2024-01-31", Some(0)),
        overhauled: None,
        doings: &[],
        scale: scale(50_000, ScaleBegins::WithItsLife),
        at_once: None,
    }
}

/// The odometer read with so many kilometres, gaining 400 (300 to 500) a day.
pub(crate) fn odometer(on: &str, km: i64) -> ByMeter<MeterFacts> {
    let whole = Amount::whole;
    let last = LastReading {
        on: day(on),
        usage: whole(km),
    };
    ByMeter {
        odometer: MeterFacts {
            last: Some(last),
            rate: DailyRate::new(whole(300), whole(400), whole(500)),
        },
        running_hours: MeterFacts::UNKNOWN,
        compressor_hours: MeterFacts::UNKNOWN,
    }
}
