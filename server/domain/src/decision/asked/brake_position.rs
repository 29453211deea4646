//! The brake position that is taken where nobody gives one: the one in which the trains of all its
//! cars run as a rule, else, of those assessed, the one that brakes least. Nothing quicker is ever
//! taken for granted.

use crate::configuration::car_type::{BrakePosition, CarType, LoadState};
use crate::decision::TrainCar;
use crate::units::Kilograms;

/// Of two with which a train brakes alike, the slower is taken.
const SLOWEST_FIRST: [BrakePosition; 4] = [
    BrakePosition::G,
    BrakePosition::P,
    BrakePosition::R,
    BrakePosition::Ep,
];

/// The brake position to assume for cars in a load state, if that is known.
pub(super) fn assumed(cars: &[TrainCar], load: Option<LoadState>) -> Option<BrakePosition> {
    of_types(&braked(cars), load)
}

/// Why that one is assumed for these cars.
pub(super) fn because(cars: &[TrainCar]) -> &'static str {
    match usual(&braked(cars)) {
        Some(_) => "usual by the car types",
        None => "the least braked weight of those assessed",
    }
}

/// The types of the cars that air brakes.
fn braked(cars: &[TrainCar]) -> Vec<&CarType> {
    let braked = cars
        .iter()
        .filter(|car| car.circuit.air_applied().next().is_some());
    braked.map(|car| car.circuit.car_type()).collect()
}

fn of_types(braked: &[&CarType], load: Option<LoadState>) -> Option<BrakePosition> {
    usual(braked)
        .or_else(|| least_braked(braked, load))
        .or_else(|| least_braked(braked, None))
}

/// The one that all of them name.
fn usual(braked: &[&CarType]) -> Option<BrakePosition> {
    let (first, others) = braked.split_first()?;
    let usual = first.usual_brake_position?;
    let mut others = others.iter();
    let alike = others.all(|other| other.usual_brake_position == Some(usual));
    alike.then_some(usual)
}

/// Of those for which every car is assessed, the one with the least braked weight.
fn least_braked(braked: &[&CarType], load: Option<LoadState>) -> Option<BrakePosition> {
    let assessed = SLOWEST_FIRST.into_iter().filter_map(|position| {
        let weight = braked_weight(braked, position, load)?;
        Some((position, weight))
    });
    let least = assessed.min_by_key(|(_, weight)| *weight);
    least.map(|(position, _)| position)
}

/// What the cars brake with; none where one of them is not assessed so. Without a load, by what is
/// assessed for any.
fn braked_weight(
    braked: &[&CarType],
    position: BrakePosition,
    load: Option<LoadState>,
) -> Option<Kilograms> {
    let mut sum = Kilograms(0);
    for car_type in braked {
        let weights = car_type.braked_weights.iter();
        let mut weights = weights
            .filter(|one| one.brake_position == position)
            .filter(|one| load.is_none_or(|load| one.load == load))
            .peekable();
        weights.peek()?;
        sum = weights.fold(sum, |sum, one| sum + one.braked_weight);
    }
    (!braked.is_empty()).then_some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// A car type with what it brakes in brake positions at loads.
    fn car_type(usual: Option<&str>, weights: &[(&str, &str, u32)]) -> CarType {
        let weights: Vec<serde_json::Value> = weights
            .iter()
            .map(|(position, load, kilograms)| {
                json!({"position": "=B1-C1", "brake_position": position, "load": load,
                    "braked_weight": kilograms})
            })
            .collect();
        let mut car_type = json!({
            "name": "A", "revision": "1", "fleet": "F", "title": "t", "vehicle_kind": "car",
            "length_mm": 20_000, "speed_max_km_h": 100, "daily_km_max": 500, "bogies": [],
            "masses": [], "positions": [], "circuit": {"nodes": [], "lines": []},
            "braked_weights": weights,
        });
        if let Some(usual) = usual {
            car_type["usual_brake_position"] = usual.into();
        }
        serde_json::from_value(car_type).expect("a car type")
    }

    const BOTH: [(&str, &str, u32); 4] = [
        ("R", "normal", 60_000),
        ("P", "normal", 50_000),
        ("R", "maximum", 60_000),
        ("P", "maximum", 60_000),
    ];

    #[test]
    fn what_all_cars_call_usual_is_assumed() {
        let (one, same) = (car_type(Some("R"), &BOTH), car_type(Some("R"), &BOTH));
        let load = Some(LoadState::Normal);
        assert_eq!(of_types(&[&one, &same], load), Some(BrakePosition::R));
        let other = car_type(Some("EP"), &BOTH);
        assert_eq!(of_types(&[&one, &other], load), Some(BrakePosition::P));
        let silent = car_type(None, &BOTH);
        assert_eq!(of_types(&[&one, &silent], load), Some(BrakePosition::P));
    }

    #[test]
    fn else_what_brakes_least_in_that_load_and_of_equals_the_slower() {
        let heavy = [("R", "normal", 40_000), ("P", "normal", 50_000)];
        let (one, odd) = (car_type(None, &BOTH), car_type(None, &heavy));
        let of = |cars: &[&CarType], load| of_types(cars, Some(load));
        assert_eq!(of(&[&one], LoadState::Normal), Some(BrakePosition::P));
        assert_eq!(of(&[&odd], LoadState::Normal), Some(BrakePosition::R));
        assert_eq!(of(&[&one], LoadState::Maximum), Some(BrakePosition::P));
        // 100 t either way.
        assert_eq!(of(&[&one, &odd], LoadState::Normal), Some(BrakePosition::P));
    }

    #[test]
    fn only_a_position_that_every_car_is_assessed_for_is_assumed() {
        let rapid = car_type(None, &[("R", "normal", 60_000)]);
        let (both, none) = (car_type(None, &BOTH), car_type(None, &[]));
        let load = Some(LoadState::Normal);
        assert_eq!(of_types(&[&both, &rapid], load), Some(BrakePosition::R));
        assert_eq!(of_types(&[&both, &none], load), None);
        assert_eq!(of_types(&[], load), None);
        // What is assessed for other loads alone is assumed all the same: what is lacking is told.
        let minimum = Some(LoadState::Minimum);
        assert_eq!(of_types(&[&rapid], minimum), Some(BrakePosition::R));
    }
}
