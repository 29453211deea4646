//! The cars of which a list tells as at a past time, which is worked out anew for a few.

use domain::identity::{CarNumber, DepotName, FleetName, UnitNumber};
use domain::ledger::dossier::CarRecord;
use store::StoreError;
use store::read::cars::CarFilter;
use store::read::then::CARS_THEN_MAX;
use store::read::{AsAt, View};

/// Which cars.
pub(crate) struct Place<'a> {
    pub(crate) fleet: Option<&'a FleetName>,
    pub(crate) depot: Option<&'a DepotName>,
    pub(crate) unit: Option<&'a UnitNumber>,
    pub(crate) car: Option<&'a CarNumber>,
}

impl Place<'_> {
    /// The cars that are asked about, of a unit those that were in it, each as it is registered
    /// now; nothing where there are more than may be told of.
    pub(crate) async fn cars(
        &self,
        view: &mut View,
        as_at: AsAt,
    ) -> Result<Option<Vec<CarRecord>>, StoreError> {
        let mut cars = if let Some(unit) = self.unit {
            view.unit_told(unit, as_at).await?
        } else if let Some(car) = self.car {
            view.car(car).await?.into_iter().collect()
        } else {
            let all = CarFilter {
                fleet: self.fleet.cloned(),
                depot: self.depot.cloned(),
                after: None,
            };
            view.cars(&all).await?
        };
        cars.retain(|record| {
            let car = &record.car;
            self.car.is_none_or(|asked| *asked == car.number)
                && self.fleet.is_none_or(|fleet| *fleet == car.fleet)
                && self.depot.is_none_or(|depot| *depot == car.depot)
        });
        Ok(Some(cars).filter(|cars| cars.len() <= CARS_THEN_MAX))
    }
}

/// What is expected where there are more.
pub(crate) fn fewer_expected(told: &str) -> String {
    format!(
        "a unit, a car, or a fleet at a depot of at most {CARS_THEN_MAX} cars: of a past time, \
         {told} of those alone"
    )
}
