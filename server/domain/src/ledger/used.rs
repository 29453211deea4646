//! What a component has run, by each meter, period by period: as people check it by hand.

use crate::ledger::dossier::{Fitment, MeterValues};
use crate::ledger::entry::Seq;
use crate::ledger::estimated::Estimated;
use crate::ledger::standing::ComponentHistory;
use crate::time::{Instant, Zone};
use crate::units::{Amount, Meter};
use crate::usage::carried::{FittedUse, counted, total};
use crate::worked::{Missing, MissingFact, Source, Step, Worked};

/// What a component has run by one meter.
#[derive(Debug, Clone, PartialEq)]
pub struct Used {
    /// By which meter.
    pub meter: Meter,
    /// What it had run when it came into the register; none is unknown, not nought.
    pub brought: Option<Amount>,
    /// What was counted since, with a step for each fitment.
    pub counted: Result<Worked<Amount>, Missing>,
    /// Both together.
    pub total: Result<Amount, Missing>,
    /// The stretches of what was counted that no reading tells.
    pub estimated: Vec<Estimated>,
    /// The first entry since which the total is unknown, where it is: it brought the component
    /// in, fitted it or took it off, without what would tell its use. A reading recorded later
    /// can make it known again.
    pub unknown_since: Option<Seq>,
}

impl ComponentHistory<'_> {
    /// What the component has run up to now by a meter, given what the car it is on has run by
    /// now. Linear in its fitments; the sum is that of [`counted`].
    pub fn used(&self, meter: Meter, (host, now): (&MeterValues, Instant), zone: &Zone) -> Used {
        let boundaries = |fitment: &Fitment| FittedUse {
            from: fitment.meters_from[meter],
            until: match fitment.end {
                Some(_) => fitment.meters_until[meter],
                None => host[meter],
            },
        };
        let periods: Vec<Period<'_>> = self
            .fitments
            .iter()
            .map(|fitment| Period {
                fitment,
                meter,
                until: fitment.end.as_ref().map_or(now, |end| end.at),
                run: boundaries(fitment),
                estimated: Estimated::of(fitment, meter, self.last_read),
            })
            .collect();
        let counted = match counted(periods.iter().map(|period| period.run)) {
            Some(value) => Ok(Worked {
                value,
                steps: periods.iter().map(|period| period.step(zone)).collect(),
            }),
            None => Err(Missing(
                periods.iter().flat_map(|p| p.lacking(zone)).collect(),
            )),
        };
        let brought = self.record.brought.by_meter()[meter];
        let sum = total(brought, counted.as_ref().ok().map(|worked| worked.value));
        let total = sum.ok_or_else(|| self.lacking(meter, brought, &counted));
        let estimated = match &counted {
            Ok(_) => periods
                .iter()
                .filter_map(|it| it.estimated.clone())
                .collect(),
            Err(_) => Vec::new(),
        };
        Used {
            meter,
            brought,
            counted,
            estimated,
            unknown_since: total.is_err().then(|| match brought {
                None => self.record.id,
                Some(_) => self.unknown_since(&periods),
            }),
            total,
        }
    }

    /// The first entry whose moment cannot be told by the readings.
    fn unknown_since(&self, periods: &[Period<'_>]) -> Seq {
        let entries = periods.iter().flat_map(Period::unknown_by);
        entries.min().unwrap_or(self.record.id)
    }

    fn lacking(
        &self,
        meter: Meter,
        brought: Option<Amount>,
        counted: &Result<Worked<Amount>, Missing>,
    ) -> Missing {
        let unknown_before = brought.is_none().then(|| MissingFact {
            what: format!("use by {meter} before it came in"),
            of: self.record.component.to_string(),
        });
        let since = counted.as_ref().err().map(|missing| missing.0.clone());
        Missing(
            unknown_before
                .into_iter()
                .chain(since.unwrap_or_default())
                .collect(),
        )
    }
}

/// A fitment as one meter of its car saw it.
struct Period<'a> {
    fitment: &'a Fitment,
    meter: Meter,
    until: Instant,
    run: FittedUse,
    estimated: Option<Estimated>,
}

impl Period<'_> {
    fn step(&self, zone: &Zone) -> Step {
        let (from, until) = (self.run.from, self.run.until);
        let [from, until] = [from, until].map(Option::unwrap_or_default);
        let unit = self.meter.unit();
        let (begun, ended) = (zone.day_of(self.fitment.from), zone.day_of(self.until));
        let rest = self.estimated.as_ref().map_or_else(String::new, |one| {
            let read = zone.day_of(one.read);
            format!(" until {read}, and an estimate from then on: its daily rate")
        });
        Step {
            what: format!("{}, {begun} to {ended}", self.fitment.at),
            working: format!("{until} {unit} − {from} {unit} = {} {unit}", until - from),
            source: Source::Operator(format!(
                "readings of the {} of car {}{rest}",
                self.meter, self.fitment.at.car
            )),
        }
    }

    /// The entries that began or ended the fitment at a moment that cannot be told.
    fn unknown_by(&self) -> impl Iterator<Item = Seq> {
        let end = self.fitment.end.as_ref().map(|end| end.by);
        let ends = [
            (self.run.from, self.fitment.fitted_by),
            (self.run.until, end.unwrap_or(self.fitment.fitted_by)),
        ];
        let backwards = self.is_backwards();
        ends.into_iter()
            .filter(move |(amount, _)| amount.is_none() || backwards)
            .map(|(_, by)| by)
    }

    fn is_backwards(&self) -> bool {
        let run = self.run;
        run.from
            .zip(run.until)
            .is_some_and(|(from, until)| until < from)
    }

    /// Which boundaries cannot be told. Where both can, the meter must have run backwards.
    fn lacking(&self, zone: &Zone) -> Vec<MissingFact> {
        let unread = |at: Instant| MissingFact {
            what: format!("{} reading for {}", self.meter, zone.day_of(at)),
            of: format!("car {}", self.fitment.at.car),
        };
        let ends = [
            (self.run.from, self.fitment.from),
            (self.run.until, self.until),
        ];
        let backwards = self.is_backwards();
        ends.into_iter()
            .filter(|(amount, _)| amount.is_none() || backwards)
            .map(|(_, at)| unread(at))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
    use crate::ledger::dossier::{ComponentRecord, FitmentEnd, FitmentId};
    use crate::ledger::estimated::LastRead;
    use crate::ledger::fact::Brought;
    use crate::units::ByMeter;

    fn moment(text: &str) -> Instant {
        text.parse().expect("a moment")
    }

    fn component() -> ComponentRef {
        ComponentRef {
            part: "P-1".parse().expect("a part"),
            serial: "7".parse().expect("a serial"),
        }
    }

    fn kilometres(km: Option<i64>) -> MeterValues {
        ByMeter {
            odometer: km.map(Amount::whole),
            ..ByMeter::default()
        }
    }

    fn fitment(from: (&str, Option<i64>), until: Option<(&str, Option<i64>)>) -> Fitment {
        Fitment {
            id: FitmentId(1),
            component: component(),
            at: PositionRef {
                car: "4101".parse().expect("a car"),
                position: "=B-Q1".parse().expect("a position"),
            },
            from: moment(from.0),
            fitted_by: Seq(1),
            from_location: None,
            end: until.map(|(at, _)| FitmentEnd {
                at: moment(at),
                by: Seq(2),
                reason: Some(RemovalReason::Due),
                to: None,
            }),
            meters_from: kilometres(from.1),
            meters_until: kilometres(until.and_then(|(_, km)| km)),
        }
    }

    fn used(brought: Option<i64>, fitments: &[Fitment]) -> Used {
        used_read(brought, fitments, &[])
    }

    /// The same where the cars were last read then.
    fn used_read(brought: Option<i64>, fitments: &[Fitment], last_read: &[LastRead]) -> Used {
        let record = ComponentRecord {
            id: Seq(1),
            component: component(),
            received_at: moment("2024-01-01T00:00Z"),
            condition: Condition::Serviceable,
            kept: None,
            plates: Vec::new(),
            since: moment("2024-01-01T00:00Z"),
            since_by: Seq(1),
            manufactured_on: None,
            overhauled_on: None,
            brought: Brought {
                odometer: brought.map(Amount::whole),
                ..Brought::default()
            },
            since_overhaul: Brought::default(),
            certificate: None,
            modification: None,
            batch: None,
        };
        let history = ComponentHistory {
            record: &record,
            fitments: fitments.iter().collect(),
            came_off: None,
            done: Vec::new(),
            tests: Vec::new(),
            last_read,
        };
        let now = (&kilometres(Some(900_500)), moment("2026-01-01T00:00Z"));
        history.used(Meter::Odometer, now, &Zone::UTC)
    }

    #[test]
    fn the_life_is_what_was_brought_in_and_what_was_counted_on_each_car() {
        let fitments = [
            fitment(
                ("2024-02-01T00:00Z", Some(10_000)),
                Some(("2025-02-01T00:00Z", Some(60_000))),
            ),
            fitment(("2025-03-01T00:00Z", Some(900_000)), None),
        ];
        let used = used(Some(120_000), &fitments);
        assert_eq!(used.total, Ok(Amount::whole(170_500)));
        let steps = used.counted.expect("all is known").steps;
        assert_eq!(steps[0].what, "=B-Q1 of car 4101, 2024-02-01 to 2025-02-01");
        assert_eq!(steps[1].working, "900500 km − 900000 km = 500 km");
    }

    #[test]
    fn what_came_off_after_the_last_reading_of_its_car_is_an_estimate_until_a_later_one() {
        let fitments = [fitment(
            ("2024-02-01T00:00Z", Some(10_000)),
            Some(("2025-02-01T00:00Z", Some(60_000))),
        )];
        let read = |at: &str| {
            let last = LastRead {
                car: "4101".parse().expect("a car"),
                meter: Meter::Odometer,
                at: moment(at),
            };
            used_read(Some(0), &fitments, &[last])
        };
        let estimated = read("2025-01-15T00:00Z");
        assert_eq!(estimated.total, Ok(Amount::whole(50_000)));
        assert_eq!(
            estimated.estimated[0].told(&Zone::UTC),
            "car 4101 was last read on 2025-01-15, and it came off on 2025-02-01"
        );
        let steps = estimated.counted.expect("all is told").steps;
        let source = steps[0].source.to_string();
        assert!(
            source.contains("until 2025-01-15, and an estimate"),
            "{source}"
        );
        for at in ["2025-02-01T00:00Z", "2025-03-01T00:00Z"] {
            assert!(read(at).estimated.is_empty(), "read on {at}");
        }
    }

    #[test]
    fn a_removal_without_a_reading_leaves_the_life_unknown_since_that_entry() {
        let taken_off = (
            ("2024-02-01T00:00Z", Some(10_000)),
            Some(("2025-02-01T00:00Z", None)),
        );
        let used = used(Some(0), &[fitment(taken_off.0, taken_off.1)]);
        assert!(used.total.is_err());
        assert_eq!(used.unknown_since, Some(Seq(2)));
    }

    #[test]
    fn what_is_not_known_is_named_and_leaves_no_total() {
        let used = used(None, &[fitment(("2024-02-01T00:00Z", None), None)]);
        let missing = used.total.expect_err("two facts are lacking");
        assert_eq!(
            missing.to_string(),
            "no answer, because this is missing: use by odometer before it came in of P-1 serial \
             7; odometer reading for 2024-02-01 of car 4101;"
        );
        assert!(used.counted.is_err());
        assert_eq!(used.unknown_since, Some(Seq(1)));
    }
}
