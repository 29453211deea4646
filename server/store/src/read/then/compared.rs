//! Cars and units between two times, each as it was in the world and as it was known.

use crate::error::StoreError;
use crate::read::{AsAt, View};
use domain::configuration::car::OrderedCar;
use domain::configuration::compared::Difference;
use domain::configuration::unit_compared::{UnitDifference, unit_differences};
use domain::identity::{CarNumber, UnitNumber};
use domain::ledger::dossier::CarRecord;
use std::collections::HashMap;

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
    /// Some cars between two times, in their order. Asked of a view of now. Five statements, and one
    /// more for each time since which the design data was changed.
    pub async fn cars_between(
        &mut self,
        cars: &[CarRecord],
        (before, after): (AsAt, AsAt),
    ) -> Result<Vec<CarBetween>, StoreError> {
        let documents = [
            self.documents_known(before.known).await?,
            self.documents_known(after.known).await?,
        ];
        let numbers: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
        let [mut was, mut is] = self.on_cars_then(&numbers, [before, after]).await?;
        let zone = self.zone.clone();
        let between = cars.iter().map(|car| {
            let was = was.snapshot(car, (&documents[0], &zone));
            let is = is.snapshot(car, (&documents[1], &zone));
            CarBetween {
                car: car.car.number.clone(),
                filled: [was.filled.len(), is.filled.len()],
                differences: was.differences(&is),
            }
        });
        Ok(between.collect())
    }

    /// One car that bore a number at the one or the other time, or bears it now. Asked of a view of now.
    /// Two statements, and two more where it bore it at the first alone.
    pub async fn car_at_either(
        &mut self,
        number: &CarNumber,
        times: (AsAt, AsAt),
    ) -> Result<Option<CarRecord>, StoreError> {
        let mut named = self.named_at_either(&[number], times).await?;
        Ok(named.remove(number))
    }

    /// Cars by the numbers that they bore at the second time, or else at the first.
    async fn named_at_either(
        &mut self,
        numbers: &[&CarNumber],
        (before, after): (AsAt, AsAt),
    ) -> Result<HashMap<CarNumber, CarRecord>, StoreError> {
        let last = self.last_recorded(after.known).await?;
        let mut named = self.cars_named(numbers, last).await?;
        let mut others = numbers.to_vec();
        others.retain(|number| !named.contains_key(*number));
        if !others.is_empty() {
            let last = self.last_recorded(before.known).await?;
            named.extend(self.cars_named(&others, last).await?);
        }
        Ok(named)
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
        let mut named = self.named_at_either(&numbers, (before, after)).await?;
        let in_order = numbers.iter().filter_map(|number| named.remove(*number));
        let cars: Vec<CarRecord> = in_order.collect();
        Ok(Some(UnitBetween {
            formed: unit_differences(&was, &is),
            cars: self.cars_between(&cars, (before, after)).await?,
        }))
    }
}
