//! The cars of which a list tells as at a past time, which is worked out anew for a few; and one car of
//! then.

use domain::identity::{CarNumber, DepotName, FleetName, UnitNumber};
use domain::ledger::dossier::CarRecord;
use store::StoreError;
use store::read::cars::{CarFilter, Standings};
use store::read::then::CARS_THEN_MAX;
use store::read::{AsAt, View};

/// The field by which nothing can be told, and what is expected there.
pub(crate) type Amiss = (&'static str, String);

/// Which cars.
pub(crate) struct Place<'a> {
    pub(crate) fleet: Option<&'a FleetName>,
    pub(crate) depot: Option<&'a DepotName>,
    pub(crate) unit: Option<&'a UnitNumber>,
    pub(crate) car: Option<&'a CarNumber>,
}

impl Place<'_> {
    /// The cars that are asked about and were registered then, each in the unit that it was in then
    /// and otherwise as it is registered now. Else the field by which none can be told, and what is
    /// expected there: there are more than may be told of, which `told` says what of, or what is named
    /// was not there then.
    pub(crate) async fn cars(
        &self,
        view: &mut View,
        (as_at, told): (AsAt, &str),
    ) -> Result<Result<Vec<CarRecord>, Amiss>, StoreError> {
        let mut cars = if let Some(unit) = self.unit {
            view.unit_told(unit, as_at).await?
        } else if let Some(car) = self.car {
            let known = view.car(car).await?.into_iter().collect();
            view.cars_as_then(known, as_at).await?
        } else {
            let all = CarFilter {
                fleet: self.fleet.cloned(),
                depot: self.depot.cloned(),
                after: None,
            };
            view.cars_told(&all, as_at).await?
        };
        let named = match (self.unit, self.car) {
            (Some(_), _) => Some("unit"),
            (None, Some(_)) => Some("car"),
            (None, None) => None,
        };
        if let Some(field) = named.filter(|_| cars.is_empty()) {
            let expected = "expected one that was in the register then";
            return Ok(Err((field, expected.to_owned())));
        }
        cars.retain(|record| {
            let car = &record.car;
            self.car.is_none_or(|asked| *asked == car.number)
                && self.fleet.is_none_or(|fleet| *fleet == car.fleet)
                && self.depot.is_none_or(|depot| *depot == car.depot)
        });
        if CARS_THEN_MAX < cars.len() {
            return Ok(Err(("unit", fewer_expected(told))));
        }
        Ok(Ok(cars))
    }
}

/// A car and where its meters stand now; of a past time in the unit that it was in then, and none where
/// it was not registered then.
pub(crate) async fn car_told(
    view: &mut View,
    number: &CarNumber,
    then: Option<AsAt>,
) -> Result<Option<(CarRecord, Standings)>, StoreError> {
    let found = view.car_with_meters(number).await?;
    let (Some(as_at), Some((car, meters))) = (then, &found) else {
        return Ok(found);
    };
    let mut there = view.cars_as_then(vec![car.clone()], as_at).await?;
    Ok(there.pop().map(|car| (car, meters.clone())))
}

/// The same without its meters.
pub(crate) async fn car_there(
    view: &mut View,
    number: &CarNumber,
    then: Option<AsAt>,
) -> Result<Option<CarRecord>, StoreError> {
    let car = view.car(number).await?;
    let Some(as_at) = then else { return Ok(car) };
    let known = car.into_iter().collect();
    Ok(view.cars_as_then(known, as_at).await?.pop())
}

/// What is expected where there are more.
fn fewer_expected(told: &str) -> String {
    format!(
        "a unit, a car, or a fleet at a depot of at most {CARS_THEN_MAX} cars: of a past time, \
         {told} of those alone"
    )
}
