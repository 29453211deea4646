//! A forecast by hand: the average daily use extended to the limit, the last day still inside.
//! The formula is common practice, no source; the numbers are ours.

use domain::due::compute;
use domain::due::facts::{
    FirstFitting, LastReading, MeterFacts, Moment, Scale, SubjectFacts, SubjectKind,
};
use domain::due::forecast::Forecast;
use domain::due::task::{CountsFrom, Interval, Metric};
use domain::units::{Amount, ByMeter, Meter};
use domain::usage::rate::DailyRate;
use tests::tasks::{day, inspection, limit};

/// 183,600 km on 2025-03-01, limit 200,000 km.
fn forecast(km_a_day: i64) -> Forecast {
    let interval = Interval::Usage(Meter::Odometer, Amount::whole(200_000));
    let task = inspection("ours", &[limit(interval, 0, 0)], CountsFrom::Done);
    let nought = ByMeter::from_fn(|_| Some(Amount(0)));
    let subject = SubjectFacts {
        kind: SubjectKind::Component,
        at_once: None,
        made: Moment::made(None, FirstFitting::UNKNOWN, &nought),
        overhauled: None,
        doings: &[],
        scale: ByMeter::from_fn(|_| Scale::OWN),
    };
    let rate = Amount::whole(km_a_day);
    let mut meters = ByMeter::from_fn(|_| MeterFacts::UNKNOWN);
    meters.odometer = MeterFacts {
        last: Some(LastReading {
            on: day("2025-03-01"),
            usage: Amount::whole(183_600),
        }),
        rate: DailyRate::new(rate, rate, rate),
    };
    compute(&task, &subject, &meters).forecast
}

#[test]
fn exactly_forty_days_at_410_km_a_day() {
    let forecast = forecast(410);
    assert_eq!(forecast.on, Some(day("2025-04-10")));
    assert_eq!(forecast.set_by, Some(Metric::Odometer));
}

#[test]
fn at_no_km_a_day_there_is_no_date() {
    assert_eq!(forecast(0).on, None);
}
