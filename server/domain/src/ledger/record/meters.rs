//! Readings and replacements of meters. A reading that runs backwards or too fast never
//! silently moves a due date: it is refused, or confirmed with a reason.

use super::cars::car_then;
use crate::identity::CarNumber;
use crate::ledger::dossier::{Dossier, MeterRecord, ReadingRecord, ReplacementRecord};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Reading;
use crate::refusal::Refusal;
use crate::time::Instant;
use crate::units::{Amount, Meter};
use crate::usage::meter::{self, MeterHistory, MeterHistoryRefused};
use crate::usage::reading::{Confirmation, Neighbourhood, ReadingRefused, most_a_day};

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

impl MeterRecord {
    /// What was read and replaced up to a moment.
    fn until(&self, at: Instant) -> Self {
        let (mut readings, mut replacements) = (self.readings.clone(), self.replacements.clone());
        readings.retain(|when, _| *when <= at);
        replacements.retain(|when, _| *when <= at);
        Self {
            readings,
            replacements,
        }
    }

    /// The entry that recorded what the meter showed at a moment.
    fn entry_at(&self, at: Instant) -> Option<Seq> {
        let reading = self.readings.get(&at).map(|reading| reading.by);
        reading.or_else(|| self.replacements.get(&at).map(|replaced| replaced.by))
    }

    /// The refusal of a value that does not agree with another, whose entry is named.
    fn refuses(&self, field: &'static str, why: &ReadingRefused) -> Refusal {
        let given = why.given.shown.to_string();
        let why_not = why.to_string();
        match self.entry_at(why.conflicting.at) {
            Some(by) => Refusal::OffMeter {
                field,
                given,
                why: why_not,
                by,
            },
            None => Refusal::Impossible {
                field,
                given,
                allowed: why_not,
            },
        }
    }

    /// The refusal of what would make the meter run backwards.
    fn contradicts(&self, what: &str, why: &MeterHistoryRefused) -> Refusal {
        let since = match why {
            MeterHistoryRefused::SameMoment { at, .. } => *at,
            MeterHistoryRefused::Backwards { later, .. } => later.at,
        };
        Refusal::Contradicts {
            what: format!("{what}: {why}; this"),
            by: self.entry_at(since).unwrap_or(Seq(0)),
            since: since.into(),
            allowed: "correct that entry first",
        }
    }
}

/// The most that a meter of a car may gain in a day.
fn most_a_day_of(
    dossier: &Dossier,
    (car, meter): (&CarNumber, Meter),
    at: Instant,
) -> Result<Amount, Refusal> {
    let car = car_then(dossier, car, at)?;
    let unknown = || Refusal::Unknown {
        what: "car_type",
        name: car.car.car_type.to_string(),
    };
    let on = dossier.zone.day_of(at);
    let car_type = dossier.documents.car_type(&car.car, on);
    let car_type = car_type.ok_or_else(unknown)?;
    Ok(most_a_day(meter, car_type))
}

pub(super) fn check_reading(
    dossier: &Dossier,
    reading: &Reading,
    at: Instant,
) -> Result<(), Refusal> {
    let most_a_day = most_a_day_of(dossier, (&reading.car, reading.meter), at)?;
    let Some(record) = record_of(dossier, &reading.car, reading.meter) else {
        return Ok(());
    };
    let meter = format!("{} of car {}", reading.meter, reading.car);
    let history = record
        .history()
        .map_err(|why| record.contradicts(&meter, &why))?;
    let (previous, next) = history.around(at);
    let neighbourhood = Neighbourhood {
        meter: reading.meter,
        offset: history.offset_at(at),
        previous,
        next,
        most_a_day,
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
        .map_err(|why| record.refuses("value", &why))
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
    changed_meter(dossier, car, meter, at);
}

/// The last value is one more reading of the old meter, the first value one of the new.
pub(super) fn check_replaced(
    dossier: &Dossier,
    (car, meter): (&CarNumber, Meter),
    (last_value, first_value): (Amount, Amount),
    at: Instant,
) -> Result<(), Refusal> {
    let most_a_day = most_a_day_of(dossier, (car, meter), at)?;
    let before = record_of(dossier, car, meter).cloned().unwrap_or_default();
    let name = || format!("{meter} of car {car} replaced at {at}", at = at.told());
    // Without this replacement, later readings may well run backwards.
    let history = before
        .until(at)
        .history()
        .map_err(|why| before.contradicts(&name(), &why))?;
    let old = Neighbourhood {
        meter,
        offset: history.offset_at(at),
        previous: history.around(at).0,
        next: None,
        most_a_day,
    };
    let last = meter::Reading {
        at,
        shown: last_value,
    };
    old.check(last, Confirmation::Unconfirmed)
        .map_err(|why| before.refuses("last_value", &why))?;
    let mut after = before.clone();
    let replaced = ReplacementRecord {
        by: Seq(0),
        at,
        last_value,
        first_value,
    };
    after.replacements.insert(at, replaced);
    let history = after
        .history()
        .map_err(|why| before.contradicts(&name(), &why))?;
    let new = Neighbourhood {
        offset: history.offset_at(at),
        previous: None,
        next: history.around(at).1,
        ..old
    };
    let first = meter::Reading {
        at,
        shown: first_value,
    };
    new.check(first, Confirmation::Unconfirmed)
        .map_err(|why| before.refuses("first_value", &why))
}

/// Checks that every meter in the dossier is a function of time.
pub(super) fn check_histories(dossier: &Dossier) -> Result<(), Refusal> {
    for ((car, meter), record) in &dossier.meters {
        let name = || format!("{meter} of car {car}");
        record
            .history()
            .map_err(|why| record.contradicts(&name(), &why))?;
    }
    Ok(())
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
    changed_meter(dossier, car, meter, at);
}

/// What is shown or replaced at a moment tells what the meter showed since it was read before.
fn changed_meter(dossier: &mut Dossier, car: &CarNumber, meter: Meter, at: Instant) {
    let before = record_of(dossier, car, meter).and_then(|record| {
        let reading = record.readings.range(..at).next_back();
        let replaced = record.replacements.range(..at).next_back();
        let reading = reading.map(|(when, _)| *when);
        reading.max(replaced.map(|(when, _)| *when))
    });
    dossier.changes.stale_meters.insert(car.clone());
    let from = before.unwrap_or(Instant::EARLIEST);
    dossier.changes.marks_from(car, from);
}
