//! Checks of the fleet as they were told: with the answers that had been given then.

use super::entries::put_in_units;
use crate::error::StoreError;
use crate::read::fleet_checks::{CheckCar, CheckNow, ListedCheck};
use crate::read::{AsAt, View};
use domain::identity::CarNumber;
use domain::ledger::dossier::{CarRecord, Dossier, FleetCheckRecord};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::record::fold;
use std::collections::BTreeMap;
use std::sync::Arc;

impl View {
    /// All checks that had been opened then, each with its cars and what they had answered. Two
    /// statements, linear in the checks that were ever opened and in their answers.
    pub async fn fleet_checks_told(
        &mut self,
        as_at: AsAt,
    ) -> Result<BTreeMap<Seq, FleetCheckRecord>, StoreError> {
        let kinds = [FactKind::FleetCheckOpened, FactKind::FleetCheckAnswered];
        let mut dossier = Dossier::new(Arc::clone(&self.documents), self.zone.clone());
        for mut entry in self.entries_then(&kinds, as_at).await? {
            // A check that was brought in says in one entry what its cars answered later.
            if let Fact::FleetCheckOpened(check) = &mut entry.fact {
                check.answered.retain(|one| one.at <= as_at.effective);
            }
            fold(&mut dossier, &entry);
        }
        Ok(dossier.fleet_checks)
    }

    /// The cars of a check of then by their numbers, after one of them, each in the unit that it was in
    /// then and otherwise as it is registered now; one more than asked for where there are more. Three
    /// statements, linear in the units.
    pub async fn fleet_check_cars_told(
        &mut self,
        check: &FleetCheckRecord,
        (after, rows): (Option<&CarNumber>, usize),
        as_at: AsAt,
    ) -> Result<Vec<CheckCar>, StoreError> {
        let asked = check.cars.iter();
        let asked = asked.filter(|(car, _)| after.is_none_or(|after| after < *car));
        let asked: Vec<_> = asked.take(rows.saturating_add(1)).collect();
        let numbers: Vec<&CarNumber> = asked.iter().map(|(car, _)| *car).collect();
        let last = self.last_recorded(as_at.known).await?;
        let registered = self.cars_named(&numbers, last).await?;
        let mut registered: Vec<CarRecord> = registered.into_values().collect();
        put_in_units(&mut registered, &self.units_told(as_at).await?);
        let told = asked.into_iter().filter_map(|(car, answer)| {
            let record = registered.iter().find(|one| one.car.number == *car)?;
            Some(CheckCar {
                car: car.clone(),
                unit: record.unit.as_ref().map(|of| of.unit.clone()),
                depot: record.car.depot.clone(),
                answer: answer.clone(),
            })
        });
        Ok(told.collect())
    }

    /// Which cars carried what a check of then looks for, or may have, and of which of these none had
    /// looked whether it is sound. Nothing where the check does not say what it looks for.
    pub async fn fleet_check_then(
        &mut self,
        check: &FleetCheckRecord,
        as_at: AsAt,
    ) -> Result<Option<CheckNow>, StoreError> {
        let Some(sought) = &check.check.sought else {
            return Ok(None);
        };
        let on_cars = self.on_cars_since(sought, as_at).await?;
        Ok(Some(CheckNow::of(&on_cars, &check.cars)))
    }
}

impl From<FleetCheckRecord> for ListedCheck {
    fn from(record: FleetCheckRecord) -> Self {
        let count = |cars: usize| u32::try_from(cars).unwrap_or(u32::MAX);
        let answers = record.cars.values().flatten();
        Self {
            cars: count(record.cars.len()),
            defective: count(answers.filter(|answer| answer.is_defective()).count()),
            record,
        }
    }
}
