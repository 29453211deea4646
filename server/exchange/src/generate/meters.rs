//! Meters of cars and their readings.

use super::chance::{Chance, Of};
use super::fleet::{CarPlan, UnitPlan};
use super::plan::Rates;
use super::span::Moment;
use super::troubles::{METER_REPLACED, NO_READINGS, READING_GAP};
use super::{Generator, Result};
use crate::columns::{METER_REPLACEMENTS, READINGS};
use domain::time::Day;
use domain::units::{Amount, Meter};
use std::fmt::Display;

/// What the cars of a unit run: they run together.
pub(super) struct Running {
    pub(super) rates: Rates,
    steps: Vec<Step>,
}

/// What is run from one reading to the next.
struct Step {
    /// The day of the later reading.
    day: Day,
    days: i64,
    /// How much of the average is run, in thousandths.
    busy: i64,
}

impl Step {
    /// What a meter gains within so many days of the step.
    fn gain(&self, rate: Amount, days: i64) -> i64 {
        rate.0 * days * self.busy / 1_000
    }
}

/// The highest share of the kilometres that a car can run in a day, in hundredths: less than
/// all even where a week is above the average.
const BUSIEST: i64 = 75;
/// Kilometres in an hour of running.
const KM_AN_HOUR: i64 = 45;
/// The most running hours in a day.
const HOURS_A_DAY_MAX: i64 = 20;

impl Generator<'_> {
    /// Decides what the cars of a unit run.
    pub(super) fn running(&self, unit: &UnitPlan<'_>) -> Running {
        let mut chance = Chance::new(self.options.seed, Of::Unit(unit.place));
        let most = unit.cars.iter().map(|car| car.car_type.daily_km_max).min();
        let km = i64::from(most.unwrap_or(0)) * chance.between(40, BUSIEST) / 100;
        let hours = (km * 1_000 / KM_AN_HOUR).min(HOURS_A_DAY_MAX * 1_000);
        let mut before = self.span.begins;
        let steps = self.span.reading_days(unit.place).map(|day| {
            let days = before.days_until(day);
            let busy = chance.between(850, 1_150);
            before = day;
            Step { day, days, busy }
        });
        Running {
            steps: steps.collect(),
            rates: Rates {
                odometer: Amount::whole(km),
                running_hours: Amount(hours),
                compressor_hours: Amount(hours * 35 / 100),
            },
        }
    }

    /// Writes the readings of a car.
    pub(super) fn write_readings(
        &mut self,
        chance: &mut Chance,
        car: &CarPlan<'_>,
        running: &Running,
        meters: &[Meter],
    ) -> Result<()> {
        let age_days = chance.between(900, 4_000);
        if NO_READINGS.strikes(car.place) {
            return Ok(());
        }
        for &meter in meters {
            self.write_meter(car, running, meter, age_days)?;
        }
        Ok(())
    }

    fn write_meter(
        &mut self,
        car: &CarPlan<'_>,
        running: &Running,
        meter: Meter,
        age_days: i64,
    ) -> Result<()> {
        let rate = running.rates.of(meter);
        let replaced = meter == Meter::Odometer && METER_REPLACED.strikes(car.place);
        let half_way = replaced.then_some(running.steps.len() / 2);
        let gap = self.span.ago(300)..self.span.ago(120);
        let mut shown = rate.0 * age_days;
        for (number, step) in running.steps.iter().enumerate() {
            let mut days = step.days;
            if half_way == Some(number) {
                let when = Moment::start_of(step.day.plus_days(-1));
                let last_value = floor(shown + step.gain(rate, days - 1));
                self.write_replacement(car, meter, last_value, when)?;
                (shown, days) = (0, 1);
            }
            shown += step.gain(rate, days);
            if READING_GAP.strikes(car.place) && gap.contains(&step.day) {
                continue;
            }
            let values: [(&str, &dyn Display); 4] = [
                ("car", &car.number),
                ("meter", &meter.name()),
                ("value", &floor(shown)),
                ("at", &step.day),
            ];
            self.write(&READINGS, &values)?;
        }
        Ok(())
    }

    fn write_replacement(
        &mut self,
        car: &CarPlan<'_>,
        meter: Meter,
        last_value: Amount,
        when: Moment,
    ) -> Result<()> {
        self.write(
            &METER_REPLACEMENTS,
            &[
                ("car", &car.number),
                ("meter", &meter.name()),
                ("last_value", &last_value),
                ("first_value", &0),
                ("at", &when),
                ("reason", &"odometer failed and was replaced"),
            ],
        )
    }
}

/// What a meter shows: whole units.
fn floor(thousandths: i64) -> Amount {
    Amount::whole(thousandths / 1_000)
}
