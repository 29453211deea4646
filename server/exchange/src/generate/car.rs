//! A car with everything on it.

use super::chance::{Chance, Of};
use super::component::Life;
use super::fleet::{CarPlan, UnitPlan};
use super::meters::Running;
use super::names;
use super::sink::Maybe;
use super::{Generator, Result};
use crate::columns::{CARS, UNITS};
use domain::vehicle_number::{VehicleNumber, check_digit};

/// What is the same for everything on a car.
pub(super) struct OnCar<'a> {
    pub(super) car: &'a CarPlan<'a>,
    pub(super) depot: &'static str,
    pub(super) life: Life<'a>,
}

impl Generator<'_> {
    /// Writes the cars of a unit and the unit itself.
    pub(super) fn write_unit(&mut self, unit: &UnitPlan<'_>) -> Result<()> {
        let running = self.running(unit);
        if names::opens_depot(unit.place) {
            self.write_locations(names::depot(unit.place))?;
        }
        for car in &unit.cars {
            self.write_car(unit, car, &running)?;
        }
        let Some(number) = &unit.number else {
            return Ok(());
        };
        let since = self.span.begins;
        for (place, car) in (1..).zip(&unit.cars) {
            let place: u32 = place;
            self.write(
                &UNITS,
                &[
                    ("unit", number),
                    ("place", &place),
                    ("car", &car.number),
                    ("orientation", &car.orientation.name()),
                    ("since", &since),
                ],
            )?;
        }
        Ok(())
    }

    fn write_car(
        &mut self,
        unit: &UnitPlan<'_>,
        car: &CarPlan<'_>,
        running: &Running,
    ) -> Result<()> {
        let depot = names::depot(unit.place);
        let car_type = car.car_type;
        let since = self.span.begins;
        self.write(
            &CARS,
            &[
                ("car", &car.number),
                ("vehicle_number", &Maybe(vehicle_number(car.place))),
                ("car_type", &car_type.name),
                ("revision", &car_type.revision),
                ("fleet", &car_type.fleet),
                ("depot", &depot),
                ("since", &since),
            ],
        )?;
        let mut chance = Chance::new(self.options.seed, Of::Car(car.place));
        let meters = self.plan.meters(car_type);
        self.write_readings(&mut chance, car, running, &meters)?;
        let life = Life {
            rates: &running.rates,
            meters: &meters,
        };
        let on_car = OnCar { car, depot, life };
        let fitted = self.fit_car(&mut chance, &on_car)?;
        self.write_work_on_components(&mut chance, &on_car, &fitted)?;
        self.write_work_on_car(&mut chance, &on_car)?;
        self.write_spares(&mut chance, &on_car)
    }
}

/// A vehicle number of no country: digits 3 and 4 are 00.
fn vehicle_number(place: u32) -> Option<VehicleNumber> {
    let eleven = format!("9400{:07}", 4_000_000 + place);
    let digits: Vec<u8> = eleven.bytes().map(|byte| byte - b'0').collect();
    let check = check_digit(digits.try_into().ok()?);
    format!("{eleven}{check}").parse().ok()
}
