//! Readings and replacements of meters. A reading that runs backwards or too fast never
//! silently moves a due date: it is refused, or confirmed with a reason.

use super::cars::known_car;
use crate::identity::CarNumber;
use crate::ledger::dossier::{Dossier, MeterRecord, ReadingRecord, ReplacementRecord};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Reading;
use crate::refusal::Refusal;
use crate::time::Instant;
use crate::units::{Amount, Meter};
use crate::usage::meter::{self, MeterHistory, MeterHistoryRefused};
use crate::usage::reading::{Confirmation, Neighbourhood, most_a_day};

impl MeterRecord {
    /// The meter as a function of time. Costs the sorting of its readings.
    pub fn history(&self) -> Result<MeterHistory, MeterHistoryRefused> {
        let readings: Vec<meter::Reading> = self
            .readings
            .values()
            .map(|reading| meter::Reading {
                at: reading.at,
                shown: reading.value,
            })
            .collect();
        let replacements: Vec<meter::Replacement> = self
            .replacements
            .values()
            .map(|replaced| meter::Replacement {
                at: replaced.at,
                old_last: replaced.last_value,
                new_first: replaced.first_value,
            })
            .collect();
        MeterHistory::new(&readings, &replacements)
    }
}

fn record_of<'a>(dossier: &'a Dossier, car: &CarNumber, meter: Meter) -> Option<&'a MeterRecord> {
    dossier.meters.get(&(car.clone(), meter))
}

fn impossible(field: &'static str, given: Amount, why: &dyn std::fmt::Display) -> Refusal {
    Refusal::Impossible {
        field,
        given: given.to_string(),
        allowed: why.to_string(),
    }
}

pub(super) fn check_reading(
    dossier: &Dossier,
    reading: &Reading,
    at: Instant,
) -> Result<(), Refusal> {
    let car = known_car(dossier, &reading.car)?;
    let unknown = || Refusal::Unknown {
        what: "car_type",
        name: car.car.car_type.to_string(),
    };
    let car_type = dossier.documents.car_type(&car.car).ok_or_else(unknown)?;
    let Some(record) = record_of(dossier, &reading.car, reading.meter) else {
        return Ok(());
    };
    let history = record
        .history()
        .map_err(|why| impossible("value", reading.value, &why))?;
    let (previous, next) = history.around(at);
    let neighbourhood = Neighbourhood {
        meter: reading.meter,
        offset: history.offset_at(at),
        previous,
        next,
        most_a_day: most_a_day(reading.meter, car_type),
    };
    let given = meter::Reading {
        at,
        shown: reading.value,
    };
    let confirmation = match reading.confirmed {
        Some(_) => Confirmation::Confirmed,
        None => Confirmation::Unconfirmed,
    };
    neighbourhood
        .check(given, confirmation)
        .map_err(|why| impossible("value", reading.value, &why))
}

pub(super) fn fold_reading(dossier: &mut Dossier, entry: &Entry, reading: &Reading) {
    let key = (reading.car.clone(), reading.meter);
    let at = entry.effective_at;
    let kept = ReadingRecord {
        by: entry.seq,
        at,
        value: reading.value,
    };
    dossier
        .meters
        .entry(key)
        .or_default()
        .readings
        .insert(at, kept);
    changed_reading(dossier, &reading.car, reading.meter, at);
}

pub(super) fn changed_reading(dossier: &mut Dossier, car: &CarNumber, meter: Meter, at: Instant) {
    dossier.changes.readings.insert((car.clone(), meter, at));
    dossier.changes.stale_cars.insert(car.clone());
}

pub(super) fn check_replaced(
    dossier: &Dossier,
    (car, meter): (&CarNumber, Meter),
    (last_value, first_value): (Amount, Amount),
    at: Instant,
) -> Result<(), Refusal> {
    known_car(dossier, car)?;
    let mut record = record_of(dossier, car, meter).cloned().unwrap_or_default();
    if let Some(other) = record.replacements.get(&at) {
        return Err(Refusal::Contradicts {
            what: format!("{meter} of car {car} replaced at {at}"),
            by: other.by,
            since: other.at,
            allowed: "give another time, or correct that entry",
        });
    }
    let by = crate::ledger::entry::Seq(0);
    record.replacements.insert(
        at,
        ReplacementRecord {
            by,
            at,
            last_value,
            first_value,
        },
    );
    record
        .history()
        .map(drop)
        .map_err(|why| impossible("last_value", last_value, &why))
}

pub(super) fn fold_replaced(
    dossier: &mut Dossier,
    entry: &Entry,
    (car, meter): (&CarNumber, Meter),
    (last_value, first_value): (Amount, Amount),
) {
    let at = entry.effective_at;
    let kept = ReplacementRecord {
        by: entry.seq,
        at,
        last_value,
        first_value,
    };
    dossier
        .meters
        .entry((car.clone(), meter))
        .or_default()
        .replacements
        .insert(at, kept);
    changed_replacement(dossier, car, meter, at);
}

pub(super) fn changed_replacement(
    dossier: &mut Dossier,
    car: &CarNumber,
    meter: Meter,
    at: Instant,
) {
    dossier
        .changes
        .replacements
        .insert((car.clone(), meter, at));
    dossier.changes.stale_cars.insert(car.clone());
}
