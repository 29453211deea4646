//! Components and what they bring with them.

use super::chance::Chance;
use super::plan::{CountsFromBirth, Rates};
use super::sink::Maybe;
use super::troubles::{DATES_UNKNOWN, USE_UNKNOWN};
use super::{Generator, Result};
use crate::columns::COMPONENTS;
use domain::configuration::car_type::PositionKind;
use domain::configuration::component::Condition;
use domain::identity::PartNumber;
use domain::time::Day;
use domain::units::{Amount, Meter};

/// A component of the fleet.
#[derive(Debug, Clone)]
pub(super) struct Component {
    pub(super) part: PartNumber,
    pub(super) serial: String,
    /// The day it was made, or last overhauled.
    pub(super) born: Day,
    /// What it had done since when it came into the register, or was overhauled.
    pub(super) since: SinceBirth,
}

/// How a component comes into the register.
#[derive(Debug, Clone)]
pub(super) struct Arrival {
    /// The day it was made, or last overhauled.
    pub(super) born: Day,
    /// What it has done since.
    pub(super) since: SinceBirth,
    pub(super) received: Day,
    pub(super) condition: Condition,
    pub(super) location: String,
}

/// What a component has done since it was made or overhauled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SinceBirth {
    /// It has run on a car.
    InUse,
    /// It has been in store.
    InStore,
}

/// The life that components have on a kind of car.
#[derive(Debug, Clone)]
pub(super) struct Life<'a> {
    pub(super) rates: &'a Rates,
    pub(super) meters: &'a [Meter],
}

/// The days on which a component was made and overhauled.
struct Dates {
    made: Day,
    overhauled: Option<Day>,
}

impl Generator<'_> {
    /// Takes a component into the register and gives it a serial number, with what is inside it.
    pub(super) fn receive(
        &mut self,
        chance: &mut Chance,
        part: &PartNumber,
        life: &Life<'_>,
        arrival: &Arrival,
    ) -> Result<Component> {
        let exchange = self.plan.exchange(part, life.rates);
        let from = exchange.map_or(CountsFromBirth::Made, |exchange| exchange.from);
        let dates = dates(chance, arrival, from);
        let used_until = match arrival.since {
            SinceBirth::InUse => arrival.received,
            SinceBirth::InStore => arrival.born,
        };
        let use_known = !chance.per_mille(USE_UNKNOWN);
        let run_since = |day: Option<Day>, meter: Meter| {
            let known = use_known && life.meters.contains(&meter);
            let days = day
                .filter(|_| known)
                .map(|day| day.days_until(used_until).max(0));
            Maybe(days.map(|days| whole(life.rates.of(meter), days)))
        };
        let brought = |meter| run_since(Some(dates.made), meter);
        let since_overhaul = |meter| run_since(dates.overhauled, meter);
        // Whoever released it after an overhaul said when.
        let unknown = chance.per_mille(DATES_UNKNOWN);
        let dates_known = !unknown || dates.overhauled.is_some();
        let overhauled = dates.overhauled.filter(|_| dates_known);
        let serial = self.next_serial(part, dates.made);
        let state = self.arrives_in(part);
        let batch = self.batch(part, dates_known.then_some(dates.made));
        // A day in a text would not move with the days of the demo.
        let certificate = dates.overhauled.map(|_| format!("release {serial}"));
        self.write(
            &COMPONENTS,
            &[
                ("part", part),
                ("serial", &serial),
                ("condition", &arrival.condition.name()),
                ("location", &arrival.location),
                ("manufactured_on", &Maybe(dates_known.then_some(dates.made))),
                ("overhauled_on", &Maybe(overhauled)),
                ("km", &brought(Meter::Odometer)),
                ("running_hours", &brought(Meter::RunningHours)),
                ("compressor_hours", &brought(Meter::CompressorHours)),
                ("km_since_overhaul", &since_overhaul(Meter::Odometer)),
                (
                    "running_hours_since_overhaul",
                    &since_overhaul(Meter::RunningHours),
                ),
                (
                    "compressor_hours_since_overhaul",
                    &since_overhaul(Meter::CompressorHours),
                ),
                ("certificate", &Maybe(certificate)),
                ("modification_state", &Maybe(state)),
                ("batch", &Maybe(batch)),
                ("received_at", &arrival.received),
            ],
        )?;
        let component = Component {
            part: part.clone(),
            serial,
            born: arrival.born,
            since: arrival.since,
        };
        self.fill(&component, life, arrival)?;
        Ok(component)
    }

    /// The batch of what is made in batches: hoses and pressure switches, of which those of a part
    /// that were made in one quarter of a year are one. Where nobody knows when something was made,
    /// nobody knows its batch.
    fn batch(&self, part: &PartNumber, made: Option<Day>) -> Option<String> {
        let in_batches = matches!(
            self.plan.kind(part)?,
            PositionKind::Hose | PositionKind::PressureSwitch
        );
        let made = made.filter(|_| in_batches)?.to_string();
        let (year, month) = (made.get(2..4)?, made.get(5..7)?.parse::<u32>().ok()?);
        Some(format!("L{year}-{}", month.div_ceil(3)))
    }

    /// A serial number that its part has not had.
    fn next_serial(&mut self, part: &PartNumber, made: Day) -> String {
        let number = self.serials.entry(part.clone()).or_insert(0);
        *number += 1;
        let year = made.to_string();
        let year = year.get(2..4).unwrap_or("00");
        format!("{year}-{number:05}")
    }
}

fn dates(chance: &mut Chance, arrival: &Arrival, from: CountsFromBirth) -> Dates {
    let earlier = chance.between(1_500, 4_000);
    let born = arrival.born;
    if from == CountsFromBirth::MadeOrOverhauled && chance.per_mille(500) {
        Dates {
            made: born.plus_days(-earlier),
            overhauled: Some(born),
        }
    } else {
        Dates {
            made: born,
            overhauled: None,
        }
    }
}

/// What runs up in so many days, in whole units.
fn whole(rate: Amount, days: i64) -> Amount {
    Amount::whole(rate.0 * days / 1_000)
}
