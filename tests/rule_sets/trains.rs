//! Trains to put rule sets to.

use domain::braking::percentage::Percentage;
use domain::braking::stopping_distance::conversion_model::{Formation, ModelPosition};
use domain::configuration::car_type::PositionKind;
use domain::rule_set::facts::{
    CarFacts, DraggingFacts, HandBrake, HoldingFacts, Movement, Operative, PercentageFacts,
    TrainFacts, TrainKind, VehicleKind, Whereabouts,
};
use domain::units::{Distance, Gradient, Kilograms, Kilonewtons, Speed};

/// Kilometres in a mile.
pub(crate) const MILE_KM: f64 = 1.609_344;

/// A speed given in miles an hour.
pub(crate) fn mph(miles: f64) -> Speed {
    Speed(miles * MILE_KM)
}

/// So many of so many.
pub(crate) fn of(operative: u32, total: u32) -> Operative {
    Operative::new(operative, total).unwrap()
}

/// A car of 50 t with disc brakes, one to an axle, and its hand brake outside.
pub(crate) fn car(number: usize, operative: u32, total: u32) -> CarFacts {
    CarFacts {
        kind: Some(VehicleKind::Car),
        mass: Some(Kilograms(50_000)),
        axles: Some(of(operative, total)),
        bogies: Some(of(operative / 2, total / 2)),
        actuators: Some(of(operative, total)),
        tread_brake_units: Some(of(0, 0)),
        hand_brake: Some(HandBrake::OutsideOrNone),
        ..CarFacts::unknown(format!("{number}").parse().unwrap())
    }
}

/// Cars with so many operative axles of four each.
pub(crate) fn four_axle_cars(operative: &[u32]) -> Vec<CarFacts> {
    let cars = operative.iter().enumerate();
    cars.map(|(n, operative)| car(n + 1, *operative, 4))
        .collect()
}

/// A commuter train of 79 mph in service on the road, every other fact known too: braked weight
/// 15 t for an operative axle, level track, 1000 m signalling distance.
pub(crate) fn on_the_road(cars: Vec<CarFacts>) -> TrainFacts {
    let axles = |count: fn(Operative) -> u32| -> u32 {
        cars.iter().filter_map(|car| car.axles).map(count).sum()
    };
    let braked = |axles: u32| Kilograms(15_000 * i64::from(axles));
    let mass = Kilograms(50_000 * i64::try_from(cars.len()).unwrap());
    let percentage = |axles| Percentage::new(braked(axles), mass);
    let complete = percentage(axles(Operative::total));
    let left = percentage(axles(Operative::operative));
    let percentages = complete.ok().zip(left.ok());
    TrainFacts {
        whereabouts: Some(Whereabouts::OnTheRoad),
        kind: Some(TrainKind::Commuter),
        movement: Some(Movement::InService),
        speed_max: Some(mph(79.0)),
        formation: Some(Formation {
            position: ModelPosition::PassengerP,
            length: Distance(200.0),
        }),
        percentage: percentages.and_then(|(all, left)| PercentageFacts::new(all, left)),
        holding: Some(HoldingFacts {
            adhesion: None,
            force: Kilonewtons(500.0),
            mass,
        }),
        equipment: [(PositionKind::Compressor, of(2, 2))].into(),
        dragging: Some(DraggingFacts::default()),
        unprotected_axles: Some(0),
        gradient: Some(Gradient(0.0)),
        signalling_distance: Some(Distance(1000.0)),
        distance_to_go: Some(Distance(20_000.0)),
        route: Some("Along the coast".parse().unwrap()),
        day: Some("2026-06-01".parse().unwrap()),
        cars,
    }
}
