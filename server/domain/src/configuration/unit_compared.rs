//! What was changed in how a unit is formed between two times.

use super::car::OrderedCar;
use crate::identity::CarNumber;
use serde::Serialize;
use std::fmt;

/// One difference between two times.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "difference")]
pub enum UnitDifference {
    /// A car is in it that was not.
    Joined {
        /// Which.
        car: CarNumber,
        /// At which place, from 1.
        place: usize,
    },
    /// A car is not in it that was.
    Left {
        /// Which.
        car: CarNumber,
        /// At which place it was.
        place: usize,
    },
    /// A car is at another place, or stands the other way.
    Placed {
        /// Which.
        car: CarNumber,
        /// At which place it was.
        was: usize,
        /// At which place it is.
        is: usize,
        /// Whether it stands the other way.
        turned: bool,
    },
}

impl fmt::Display for UnitDifference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Joined { car, place } => {
                write!(f, "car {car} is at place {place} and was not in the unit")
            }
            Self::Left { car, place } => {
                write!(f, "car {car} is not in the unit and was at place {place}")
            }
            Self::Placed {
                car,
                was,
                is,
                turned,
            } => {
                if was == is {
                    return write!(f, "car {car} at place {is} stands the other way");
                }
                write!(f, "car {car} is at place {is} and was at place {was}")?;
                if *turned {
                    write!(f, ", and stands the other way")?;
                }
                Ok(())
            }
        }
    }
}

/// What differs between a unit at two times: the cars of the later one in order, then those that
/// are in it no more. A unit is a few cars.
pub fn unit_differences(before: &[OrderedCar], after: &[OrderedCar]) -> Vec<UnitDifference> {
    let place_of = |cars: &[OrderedCar], car: &CarNumber| {
        let mut places = cars.iter().zip(1..);
        places
            .find(|(of, _)| of.car == *car)
            .map(|(of, place)| (of.orientation, place))
    };
    let now = after.iter().zip(1..).filter_map(|(of, is)| {
        let car = of.car.clone();
        let Some((stood, was)) = place_of(before, &of.car) else {
            return Some(UnitDifference::Joined { car, place: is });
        };
        let turned = stood != of.orientation;
        (turned || was != is).then_some(UnitDifference::Placed {
            car,
            was,
            is,
            turned,
        })
    });
    let gone = before.iter().zip(1..);
    let gone = gone.filter(|(of, _)| place_of(after, &of.car).is_none());
    let gone = gone.map(|(of, place)| UnitDifference::Left {
        car: of.car.clone(),
        place,
    });
    now.chain(gone).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::car::Orientation;

    fn unit(cars: &[(&str, Orientation)]) -> Vec<OrderedCar> {
        let one = |(car, orientation): &(&str, Orientation)| OrderedCar {
            car: car.parse().expect("a car number"),
            orientation: *orientation,
        };
        cars.iter().map(one).collect()
    }

    #[test]
    fn each_car_is_told_of_once() {
        use Orientation::{Forward, Reversed};
        let before = unit(&[
            ("1", Forward),
            ("2", Forward),
            ("3", Forward),
            ("4", Forward),
        ]);
        assert_eq!(unit_differences(&before, &before), []);
        let after = unit(&[("1", Reversed), ("5", Forward), ("2", Reversed)]);
        let told = unit_differences(&before, &after);
        let told: Vec<String> = told.iter().map(ToString::to_string).collect();
        assert_eq!(
            told,
            [
                "car 1 at place 1 stands the other way",
                "car 5 is at place 2 and was not in the unit",
                "car 2 is at place 3 and was at place 2, and stands the other way",
                "car 3 is not in the unit and was at place 3",
                "car 4 is not in the unit and was at place 4",
            ]
        );
    }
}
