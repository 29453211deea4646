//! When a long-distance train is tested again on its way: 49 CFR 238.313(b)(2), every 1,500 miles or
//! once each additional calendar day, whichever comes first. A mile is 1.609344 km. The running is
//! ours.
//!
//! Source: 49 CFR 238.313(b)(2) (2015 edition).

use domain::due::compute;
use domain::due::facts::{
    Done, FirstFitting, LastReading, MeterFacts, Moment, Scale, SubjectFacts, SubjectKind,
};
use domain::due::forecast::Forecast;
use domain::due::task::{CountsFrom, Interval, Metric};
use domain::units::{Amount, ByMeter, Meter};
use domain::usage::rate::DailyRate;
use tests::tasks::{day, inspection, limit};

/// Tested on 2025-03-01 at 10,000 km; how it runs on.
fn next_test(km_a_day: i64) -> Forecast {
    let miles = Interval::Usage(Meter::Odometer, Amount(2_414_016));
    let limits = [limit(miles, 0, 0), limit(Interval::Days(1), 0, 0)];
    let task = inspection("49 CFR 238.313(b)(2)", &limits, CountsFrom::Done);
    let tested = Moment {
        on: Some(day("2025-03-01")),
        fitted: FirstFitting::On(day("2025-03-01")),
        counted: ByMeter {
            odometer: Some(Amount::whole(10_000)),
            ..ByMeter::default()
        },
    };
    let doings = [Done {
        moment: tested,
        task: &task,
    }];
    let subject = SubjectFacts {
        kind: SubjectKind::Component,
        at_once: None,
        made: tested,
        overhauled: None,
        doings: &doings,
        scale: ByMeter::from_fn(|_| Scale::OWN),
    };
    let rate = Amount::whole(km_a_day);
    let mut meters = ByMeter::from_fn(|_| MeterFacts::UNKNOWN);
    meters.odometer = MeterFacts {
        last: Some(LastReading {
            on: day("2025-03-01"),
            usage: Amount::whole(10_000),
        }),
        rate: DailyRate::new(rate, rate, rate),
    };
    compute(&task, &subject, &meters).forecast
}

#[test]
fn the_next_calendar_day_comes_before_1500_miles_of_slow_running() {
    let next = next_test(1_000);
    assert_eq!(next.on, Some(day("2025-03-02")));
    assert_eq!(next.set_by, Some(Metric::Calendar));
}

#[test]
fn fifteen_hundred_miles_on_one_day_come_before_the_next() {
    let next = next_test(3_000);
    assert_eq!(next.on, Some(day("2025-03-01")));
    assert_eq!(next.set_by, Some(Metric::Odometer));
}
