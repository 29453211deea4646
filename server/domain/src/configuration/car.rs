//! Cars, units and trains.

use crate::identity::{
    CarNumber, CarTypeName, DepotName, FleetName, Revision, TrainId, UnitNumber,
};
use crate::time::Day;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

/// One vehicle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Car {
    /// The number painted on it.
    pub number: CarNumber,
    /// Its European Vehicle Number, twelve digits, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle_number: Option<crate::vehicle_number::VehicleNumber>,
    /// Its type.
    pub car_type: CarTypeName,
    /// The baseline revision in force for it.
    pub revision: Revision,
    /// Its fleet.
    pub fleet: FleetName,
    /// The depot that keeps it.
    pub depot: DepotName,
    /// The day it entered service, on evidence: until work on the car as a whole is recorded as
    /// done, its intervals count from then. Without it they are unknown: the day on which a car
    /// came into the register says nothing of when it was last worked on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entered_service_on: Option<Day>,
}

word_list! {
    /// Which way a car or unit stands in the order it is listed in.
    Orientation, "orientation" {
        /// End 1 of a car, or the first car of a unit, comes first.
        Forward = "forward",
        /// End 2, or the last car, comes first.
        Reversed = "reversed",
    }
}

impl Orientation {
    /// The orientation of a part of something that is itself turned.
    #[must_use]
    pub fn within(self, outer: Orientation) -> Orientation {
        if self == outer {
            Orientation::Forward
        } else {
            Orientation::Reversed
        }
    }
}

/// A car's place in a unit or train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderedCar {
    /// The car.
    pub car: CarNumber,
    /// Which way it stands.
    pub orientation: Orientation,
}

/// Cars in fixed order and orientation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unit {
    /// Its number.
    pub number: UnitNumber,
    /// Its cars from the first to the last.
    pub cars: Vec<OrderedCar>,
}

/// A unit or a single car in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Vehicle {
    /// A unit.
    Unit(UnitNumber, Orientation),
    /// A single car.
    Car(CarNumber, Orientation),
}

impl Vehicle {
    /// The cars of the vehicle as it stands in the train, given the cars of each unit. Turning
    /// a unit turns its order and each of its cars.
    pub fn cars(&self, unit: impl Fn(&UnitNumber) -> Vec<OrderedCar>) -> Vec<OrderedCar> {
        match self {
            Vehicle::Car(car, orientation) => {
                vec![OrderedCar {
                    car: car.clone(),
                    orientation: *orientation,
                }]
            }
            Vehicle::Unit(number, orientation) => {
                let mut cars = unit(number);
                if *orientation == Orientation::Reversed {
                    cars.reverse();
                }
                for place in &mut cars {
                    place.orientation = place.orientation.within(*orientation);
                }
                cars
            }
        }
    }
}

/// Units and cars coupled for a run, from the first to the last.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Train {
    /// Its name.
    pub id: TrainId,
    /// What it is made of.
    pub vehicles: Vec<Vehicle>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_a_unit_turns_its_order_and_each_of_its_cars() {
        let car = |number: &str, orientation| OrderedCar {
            car: number.parse().expect("a car number"),
            orientation,
        };
        let (forward, reversed) = (Orientation::Forward, Orientation::Reversed);
        let unit = |_: &UnitNumber| vec![car("1", forward), car("2", reversed)];
        let turned = Vehicle::Unit("U".parse().expect("a unit number"), reversed).cars(unit);
        assert_eq!(turned, [car("2", forward), car("1", reversed)]);
    }
}
