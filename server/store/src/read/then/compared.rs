//! Cars and units between two times, each as it was in the world and as it was known.

use crate::error::StoreError;
use crate::read::{AsAt, View};
use domain::configuration::car::OrderedCar;
use domain::configuration::compared::{Difference, Snapshot};
use domain::configuration::unit_compared::{UnitDifference, unit_differences};
use domain::identity::{CarNumber, UnitNumber};
use domain::ledger::dossier::CarRecord;

/// A car at two times.
#[derive(Debug, Clone, PartialEq)]
pub struct CarBetween {
    /// Its number.
    pub car: CarNumber,
    /// How many positions were filled at the one time and at the other.
    pub filled: [usize; 2],
    /// What differs.
    pub differences: Vec<Difference>,
}

/// A unit at two times.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitBetween {
    /// What differs in how it is formed.
    pub formed: Vec<UnitDifference>,
    /// The cars that are in it in their order, then those that are in it no more.
    pub cars: Vec<CarBetween>,
}

impl View {
    /// What was told of cars at a time. Seven statements, and one where the design data was
    /// changed since.
    async fn snapshots(
        &mut self,
        cars: &[CarRecord],
        as_at: AsAt,
    ) -> Result<Vec<Snapshot>, StoreError> {
        let documents = self.documents_known(as_at.known).await?;
        let numbers: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
        let (dossier, mut on_cars) = self.on_cars_then(&numbers, as_at).await?;
        let on = self.zone.day_of(as_at.effective);
        let snapshots = cars.iter().map(|car| {
            let on_car = on_cars.remove(&car.id.0).unwrap_or_default();
            let revision = documents.revision(&car.car, on);
            Snapshot::of(revision, &on_car, (&dossier, as_at.effective))
        });
        Ok(snapshots.collect())
    }

    /// Some cars between two times, in their order. Asked of a view of now.
    pub async fn cars_between(
        &mut self,
        cars: &[CarRecord],
        (before, after): (AsAt, AsAt),
    ) -> Result<Vec<CarBetween>, StoreError> {
        let was = self.snapshots(cars, before).await?;
        let is = self.snapshots(cars, after).await?;
        let both = cars.iter().zip(was.iter().zip(&is));
        let between = both.map(|(car, (was, is))| CarBetween {
            car: car.car.number.clone(),
            filled: [was.filled.len(), is.filled.len()],
            differences: was.differences(is),
        });
        Ok(between.collect())
    }

    /// A unit between two times; none where it was formed at neither. Asked of a view of now.
    pub async fn unit_between(
        &mut self,
        number: &UnitNumber,
        (before, after): (AsAt, AsAt),
    ) -> Result<Option<UnitBetween>, StoreError> {
        let was = self.units_told(before).await?.remove(number);
        let is = self.units_told(after).await?.remove(number);
        if was.is_none() && is.is_none() {
            return Ok(None);
        }
        let places = |unit: Option<domain::configuration::car::Unit>| -> Vec<OrderedCar> {
            unit.map_or_else(Vec::new, |unit| unit.cars)
        };
        let (was, is) = (places(was), places(is));
        let mut numbers: Vec<&CarNumber> = is.iter().map(|place| &place.car).collect();
        for place in &was {
            if !numbers.contains(&&place.car) {
                numbers.push(&place.car);
            }
        }
        let mut named = self.cars_named(&numbers).await?;
        let in_order = numbers.iter().filter_map(|number| named.remove(*number));
        let cars: Vec<CarRecord> = in_order.collect();
        Ok(Some(UnitBetween {
            formed: unit_differences(&was, &is),
            cars: self.cars_between(&cars, (before, after)).await?,
        }))
    }
}
