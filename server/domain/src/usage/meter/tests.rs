use super::*;
use proptest::prelude::*;

fn at(hours: i64) -> Instant {
    Instant::from_microseconds(hours * MICROSECONDS_A_DAY / 24).expect("in range")
}

fn reading(hours: i64, km: i64) -> Reading {
    Reading {
        at: at(hours),
        shown: Amount::whole(km),
    }
}

fn replacement(hours: i64, old_last: i64, new_first: i64) -> Replacement {
    Replacement {
        at: at(hours),
        old_last: Amount::whole(old_last),
        new_first: Amount::whole(new_first),
    }
}

/// Read at 10 and 20 hours, replaced at 30, read on the new meter at 40.
fn history() -> MeterHistory {
    MeterHistory::new(
        &[reading(40, 50), reading(10, 1_000), reading(20, 1_100)],
        &[replacement(30, 1_300, 10)],
    )
    .expect("in order")
}

#[test]
fn use_is_known_between_readings_forecast_after_and_unknown_before() {
    let rate = DailyRate::new(Amount(0), Amount::whole(240), Amount::whole(480));
    let at = |hours| history().at(at(hours), rate);
    assert_eq!(at(9), UsagePoint::Unknown);
    assert_eq!(at(10), UsagePoint::Known(Amount::whole(1_000)));
    assert_eq!(at(15), UsagePoint::Known(Amount::whole(1_050)));
    assert_eq!(at(35), UsagePoint::Known(Amount::whole(1_320)));
    assert_eq!(at(43), UsagePoint::Forecast(Amount::whole(1_370)));
    assert_eq!(
        history().at(super::tests::at(43), None),
        UsagePoint::Unknown
    );
}

#[test]
fn use_is_continuous_across_a_replacement() {
    let before = Instant::from_microseconds(at(30).microseconds() - 1).expect("in range");
    let after = Instant::from_microseconds(at(30).microseconds() + 1).expect("in range");
    let usage = |moment| {
        history()
            .at(moment, None)
            .amount()
            .expect("between readings")
    };
    assert_eq!(usage(at(30)), Amount::whole(1_300));
    assert!((usage(after) - usage(before)).0 <= 1);
    assert_eq!(history().offset_at(before), Amount(0));
    assert_eq!(history().offset_at(at(30)), Amount::whole(1_290));
}

#[test]
fn a_meter_that_runs_backwards_makes_no_history() {
    let backwards = MeterHistory::new(&[reading(10, 100), reading(20, 99)], &[]);
    let (earlier, later) = (reading(10, 100), reading(20, 99));
    assert_eq!(
        backwards,
        Err(MeterHistoryRefused::Backwards { earlier, later })
    );
    let below_the_new_meters_first = MeterHistory::new(
        &[reading(10, 100), reading(40, 9)],
        &[replacement(30, 100, 10)],
    );
    assert!(below_the_new_meters_first.is_err());
}

#[test]
fn a_moment_has_one_value() {
    let twice = MeterHistory::new(&[reading(10, 100)], &[replacement(10, 100, 0)]);
    assert!(matches!(twice, Err(MeterHistoryRefused::SameMoment { .. })));
}

/// Steps of time and gain, some ending in a replacement by a meter that starts anywhere.
fn any_history() -> impl Strategy<Value = MeterHistory> {
    let step = (
        1_i64..5_000,
        0_i64..2_000_000,
        prop::option::of(0_i64..900_000),
    );
    prop::collection::vec(step, 1..30).prop_map(|steps| {
        let (mut minutes, mut shown) = (0, 0);
        let (mut readings, mut replacements) = (Vec::new(), Vec::new());
        for (pause, gain, new_first) in steps {
            minutes += pause;
            shown += gain;
            let at = Instant::from_microseconds(minutes * 60_000_000).expect("in range");
            if let Some(first) = new_first {
                replacements.push(Replacement {
                    at,
                    old_last: Amount(shown),
                    new_first: Amount(first),
                });
                shown = first;
            } else {
                let shown = Amount(shown);
                readings.push(Reading { at, shown });
            }
        }
        MeterHistory::new(&readings, &replacements).expect("valid by construction")
    })
}

proptest! {
    #[test]
    fn use_never_decreases(
        history in any_history(),
        moments in prop::collection::vec(0_i64..10_000_000_000_000, 2..40),
        rate in 0_i64..2_000_000,
    ) {
        let rate = DailyRate::new(Amount(0), Amount(rate), Amount(rate));
        let mut moments = moments;
        moments.sort_unstable();
        let usages: Vec<Amount> = moments
            .iter()
            .filter_map(|&micros| Instant::from_microseconds(micros))
            .filter_map(|moment| history.at(moment, rate).amount())
            .collect();
        prop_assert!(usages.is_sorted());
    }

    #[test]
    fn every_reading_is_met_exactly(history in any_history()) {
        for point in history.points() {
            prop_assert_eq!(history.at(point.at, None), UsagePoint::Known(point.usage));
        }
    }
}
