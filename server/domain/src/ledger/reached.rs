//! When the meters of a car reached what they have passed, by the line through their readings: a
//! date that is past stays where it is, whatever is read after it.

use crate::due::facts::MeterFacts;
use crate::ledger::standing::CarMeters;
use crate::time::{Day, Zone};
use crate::units::{Amount, ByMeter, Meter};

/// The meters of a car that work is on.
#[derive(Debug, Clone, Copy)]
pub struct HostMeters<'a> {
    /// What forecasts start from.
    pub facts: ByMeter<MeterFacts>,
    /// The line through all readings; only needed where a window has begun.
    pub line: Option<&'a CarMeters>,
}

impl HostMeters<'_> {
    /// Nothing is known.
    pub const UNKNOWN: HostMeters<'static> = HostMeters {
        facts: ByMeter {
            odometer: MeterFacts::UNKNOWN,
            running_hours: MeterFacts::UNKNOWN,
            compressor_hours: MeterFacts::UNKNOWN,
        },
        line: None,
    };

    /// The last day on which a meter was at or below a value that it has passed.
    pub fn passed_on(&self, meter: Meter, value: Amount, zone: &Zone) -> Option<Day> {
        self.line?.passed_on(meter, value, zone)
    }
}

impl CarMeters {
    /// The last day on which a meter was at or below a value that it has passed: at the latest the
    /// day before the reading that shows it passed.
    fn passed_on(&self, meter: Meter, value: Amount, zone: &Zone) -> Option<Day> {
        let (history, _) = self.meters[meter].as_ref()?;
        let (moment, next) = history.passed(value)?;
        let seen = zone.day_of(next.at).plus_days(-1);
        Some(moment.map_or(seen, |moment| zone.day_of(moment).min(seen)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::dossier::{MeterRecord, ReadingRecord};
    use crate::ledger::entry::Seq;

    fn passed(readings: &[(&str, i64)], km: i64) -> Option<String> {
        let mut record = MeterRecord::default();
        for (at, km) in readings {
            let at = at.parse().expect("a time");
            let (by, value) = (Seq(1), Amount::whole(*km));
            record.readings.insert(at, ReadingRecord { by, at, value });
        }
        let of = |meter| (meter == Meter::Odometer).then_some(&record);
        let meters = CarMeters::new(of).expect("in order");
        let on = meters.passed_on(Meter::Odometer, Amount::whole(km), &Zone::UTC);
        on.map(|day| day.to_string())
    }

    #[test]
    fn what_was_passed_is_dated_between_the_readings_around_it() {
        let readings = [
            ("2025-01-03T00:00Z", 200_000),
            ("2025-02-03T00:00Z", 206_200),
            ("2025-03-03T00:00Z", 234_200),
        ];
        let on = |km| passed(&readings, km);
        // 200 km a day in January, 1,000 in February.
        assert_eq!(on(202_000).as_deref(), Some("2025-01-13"));
        assert_eq!(on(216_200).as_deref(), Some("2025-02-13"));
        // A reading shows as past what it has passed, and the first of all from when at the latest.
        assert_eq!(on(234_199).as_deref(), Some("2025-03-02"));
        assert_eq!(on(199_000).as_deref(), Some("2025-01-02"));
        assert_eq!(on(234_200), None);
    }

    #[test]
    fn a_meter_that_stood_at_a_value_passed_it_when_it_ran_on() {
        let readings = [
            ("2025-01-03T00:00Z", 200_000),
            ("2025-02-03T00:00Z", 206_200),
            ("2025-03-03T00:00Z", 206_200),
            ("2025-03-13T00:00Z", 208_200),
        ];
        assert_eq!(passed(&readings, 206_200).as_deref(), Some("2025-03-03"));
    }
}
