//! Which units and cars a generated fleet has.

use super::design::Design;
use crate::input::rows::Formation;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::CarType;

/// A unit to be generated, or a spare car that belongs to none.
#[derive(Debug, Clone)]
pub(super) struct UnitPlan<'a> {
    /// Its place in the fleet, from 0.
    pub(super) place: u32,
    /// Its number; none for a spare car.
    pub(super) number: Option<String>,
    /// Its cars from the first to the last.
    pub(super) cars: Vec<CarPlan<'a>>,
}

/// A car to be generated.
#[derive(Debug, Clone)]
pub(super) struct CarPlan<'a> {
    /// Its place in the fleet, from 0.
    pub(super) place: u32,
    pub(super) number: String,
    pub(super) car_type: &'a CarType,
    pub(super) orientation: Orientation,
}

const FIRST_CAR_NUMBER: u32 = 4_101;

/// The units of a fleet with exactly so many cars, in the shares of the formations. What is
/// left over and makes no unit are spare cars.
pub(super) struct Units<'a> {
    design: &'a Design,
    /// How many units of each formation there are.
    made: Vec<u32>,
    cars_left: u32,
    unit_place: u32,
    car_place: u32,
}

impl<'a> Units<'a> {
    pub(super) fn new(design: &'a Design, cars: u32) -> Self {
        Self {
            design,
            made: vec![0; design.formations.len()],
            cars_left: cars,
            unit_place: 0,
            car_place: 0,
        }
    }

    /// The formation that lags behind its share the most among those for which cars are left.
    fn lagging(&self) -> Option<usize> {
        let formations = self.design.formations.iter().enumerate();
        let left = usize::try_from(self.cars_left).unwrap_or(usize::MAX);
        let fitting = formations.filter(|(_, formation)| formation.cars.len() <= left);
        let lead = |place: usize, formation: &Formation| {
            let units = u64::from(self.made[place]) + 1;
            units * 1_000_000 / u64::from(formation.share.max(1))
        };
        let least = fitting.min_by_key(|(place, formation)| lead(*place, formation));
        least.map(|(place, _)| place)
    }

    fn car(&mut self, formation: &Formation, place: usize) -> Option<CarPlan<'a>> {
        let car = formation.cars.get(place)?;
        let car_type = self.design.car_type(&car.car_type, &car.revision)?;
        let place = self.car_place;
        self.car_place += 1;
        self.cars_left -= 1;
        Some(CarPlan {
            place,
            number: (FIRST_CAR_NUMBER + place).to_string(),
            car_type,
            orientation: car.orientation,
        })
    }
}

impl<'a> Iterator for Units<'a> {
    type Item = UnitPlan<'a>;

    fn next(&mut self) -> Option<UnitPlan<'a>> {
        if self.cars_left == 0 {
            return None;
        }
        let design = self.design;
        let (number, cars) = if let Some(place) = self.lagging() {
            let formation = &design.formations[place];
            self.made[place] += 1;
            let number = format!("{}-{:03}", formation.name, self.made[place]);
            let cars = (0..formation.cars.len()).filter_map(|n| self.car(formation, n));
            (Some(number), cars.collect())
        } else {
            let formation = design.formations.first()?;
            (None, self.car(formation, 0).into_iter().collect())
        };
        let place = self.unit_place;
        self.unit_place += 1;
        Some(UnitPlan {
            place,
            number,
            cars,
        })
    }
}
