//! Units and visits as they were told: the register keeps them as they stand, so that what was
//! known is read from the entries that say it.

use crate::column::At;
use crate::connect::on;
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::read::as_known::cars_known;
use crate::read::cars::CarFilter;
use crate::read::{AsAt, View};
use crate::shape::padded;
use domain::configuration::car::Unit;
use domain::due::visit::VisitRecord;
use domain::identity::{CarNumber, UnitNumber, VisitNumber};
use domain::ledger::dossier::{CarRecord, Dossier, Membership};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::record::fold;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

impl View {
    /// The entries of some kinds that had become true by a time and held as known at another, in
    /// their order. Two statements, linear in the entries of these kinds.
    pub(super) async fn entries_then(
        &mut self,
        kinds: &[FactKind],
        as_at: AsAt,
    ) -> Result<Vec<Entry>, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from ledger left join ledger later on later.corrects = ledger.seq and later.seq <= ");
            query.push_bind(last.0).push(" where later.seq is null and ledger.kind in (");
            let mut names = query.separated(", ");
            for kind in kinds {
                names.push_bind(kind.name());
            }
            query.push(") and ledger.seq <= ").push_bind(last.0);
            query.push(" and ledger.effective_at <= ").push_bind(At(as_at.effective));
            query.push(" order by ledger.seq");
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries: Result<Vec<_>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
        Ok(entries?)
    }

    /// All visits as they were planned then.
    pub async fn visits_told(
        &mut self,
        as_at: AsAt,
    ) -> Result<BTreeMap<VisitNumber, VisitRecord>, StoreError> {
        let kinds = [FactKind::VisitPlanned, FactKind::VisitCancelled];
        let mut dossier = Dossier::new(Arc::clone(&self.documents), self.zone.clone());
        for entry in self.entries_then(&kinds, as_at).await? {
            fold(&mut dossier, &entry);
        }
        Ok(dossier.visits.into_iter().collect())
    }

    /// All units as they were formed then.
    pub(super) async fn units_told(
        &mut self,
        as_at: AsAt,
    ) -> Result<BTreeMap<UnitNumber, Unit>, StoreError> {
        let entries = self.entries_then(&[FactKind::UnitFormed], as_at).await?;
        Ok(units_formed(entries))
    }

    /// The cars of a unit in its order as it was formed then, each otherwise as it is registered
    /// now; empty where there was no such unit. Three statements, linear in the units.
    pub async fn unit_told(
        &mut self,
        number: &UnitNumber,
        as_at: AsAt,
    ) -> Result<Vec<CarRecord>, StoreError> {
        let mut units = self.units_told(as_at).await?;
        let Some(unit) = units.remove(number) else {
            return Ok(Vec::new());
        };
        let numbers: Vec<&CarNumber> = unit.cars.iter().map(|place| &place.car).collect();
        let last = self.last_recorded(as_at.known).await?;
        let mut cars = self.cars_named(&numbers, last).await?;
        let in_order = unit.cars.iter().zip(1..).filter_map(|(of, place)| {
            let unit = Some(Membership {
                unit: number.clone(),
                place,
                orientation: of.orientation,
            });
            let car = cars.remove(&of.car)?;
            Some(CarRecord { unit, ..car })
        });
        Ok(in_order.collect())
    }

    /// A page of the cars that were registered then by number, each in the unit that it was in then
    /// and otherwise as it is registered now; one more than a page where there are more. Three
    /// statements, linear in the units.
    pub async fn cars_told(
        &mut self,
        filter: &CarFilter,
        as_at: AsAt,
    ) -> Result<Vec<CarRecord>, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let by = Some((as_at.effective, last));
        let mut cars = self.cars_registered(filter, by).await?;
        put_in_units(&mut cars, &self.units_told(as_at).await?);
        Ok(cars)
    }

    /// Those of some cars that were registered then, each in the unit that it was in then and
    /// otherwise as it is registered now. Two statements, linear in the units.
    pub async fn cars_as_then(
        &mut self,
        mut cars: Vec<CarRecord>,
        as_at: AsAt,
    ) -> Result<Vec<CarRecord>, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        // A car is named by the entry that registered it first.
        cars.retain(|car| car.id <= last && car.there_since <= as_at.effective);
        put_in_units(&mut cars, &self.units_told(as_at).await?);
        Ok(cars)
    }

    /// Cars by their numbers, as they bore them when an entry was the last; else as they bear them now.
    pub(super) async fn cars_named(
        &mut self,
        numbers: &[&CarNumber],
        last: Seq,
    ) -> Result<HashMap<CarNumber, CarRecord>, StoreError> {
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS);
            cars_known!(query, Some(last));
            query.push(" and car.number in (");
            let mut named = query.separated(", ");
            for number in padded(numbers) {
                named.push_bind(number.map(|number| number.as_str()));
            }
            query.push(") order by car.id desc");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut cars = HashMap::new();
        for row in &rows {
            let record = row.record()?;
            cars.insert(record.car.number.clone(), record);
        }
        Ok(cars)
    }
}

/// What stands of the entries that formed units: what holds from the latest time, whichever was recorded
/// last.
pub(super) fn units_formed(mut entries: Vec<Entry>) -> BTreeMap<UnitNumber, Unit> {
    entries.sort_by_key(|entry| (entry.effective_at, entry.seq));
    let units = entries.into_iter().filter_map(|entry| match entry.fact {
        Fact::UnitFormed(unit) => Some((unit.number.clone(), unit)),
        _ => None,
    });
    units.collect()
}

/// Puts cars in the units that are told to have them.
pub(super) fn put_in_units(cars: &mut [CarRecord], units: &BTreeMap<UnitNumber, Unit>) {
    let mut places = HashMap::new();
    for unit in units.values() {
        for (of, place) in unit.cars.iter().zip(1..) {
            let membership = Membership {
                unit: unit.number.clone(),
                place,
                orientation: of.orientation,
            };
            places.insert(&of.car, membership);
        }
    }
    for record in cars {
        record.unit = places.remove(&record.car.number);
    }
}
