//! Axles that brake with no protection against sliding. Nothing is lost on a dry rail.

use super::cause::{Cause, CauseKind};
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{Position, PositionKind};
use crate::identity::CarNumber;
use serde::Serialize;

/// An axle whose wheels may slide.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnprotectedAxle {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The axle, from 1 at end 1.
    pub axle: u8,
    /// What is out of order.
    pub why: Vec<Cause>,
}

/// Whether a position takes part in the wheel-slide protection of an axle on a bogie.
fn protects(position: &Position, bogie: u8, axle: u8) -> bool {
    let of_axle = position.axle.is_none_or(|of| of == axle);
    match position.kind {
        PositionKind::DumpValve | PositionKind::SpeedSensor => position.axle == Some(axle),
        PositionKind::SlideProtectionUnit => of_axle && position.bogie.is_none_or(|of| of == bogie),
        _ => false,
    }
}

/// The axles of a car that have a dump valve, each with its bogie.
pub(crate) fn protected_axles(car: &PlacedCar) -> impl Iterator<Item = (u8, u8)> {
    let car_type = car.circuit.car_type();
    let axles = car_type.axles().map(|(bogie, axle)| (bogie, axle.number));
    axles.filter(|(_, axle)| {
        let mut positions = car_type.positions.iter();
        positions.any(|p| p.kind == PositionKind::DumpValve && p.axle == Some(*axle))
    })
}

/// The positions that protect an axle of a car against sliding.
pub(crate) fn protection(
    car: &PlacedCar,
    (bogie, axle): (u8, u8),
) -> impl Iterator<Item = &Position> {
    let positions = car.circuit.car_type().positions.iter();
    positions.filter(move |position| protects(position, bogie, axle))
}

/// The axles whose dump valve, speed sensors or electronics are cut out, failed or missing, in
/// the order of the train. Axles that never had a dump valve are not among them.
pub fn unprotected_axles(train: &TrainCircuit, impaired: &[Impaired]) -> Vec<UnprotectedAxle> {
    let mut unprotected = Vec::new();
    for (place, car) in train.cars().iter().enumerate() {
        // Without air a valve protects as before what is braked.
        let of_car = |one: &&Impaired| one.car == place && one.by != Impairment::Emptied;
        let here: Vec<&Impaired> = impaired.iter().filter(of_car).collect();
        if here.is_empty() {
            continue;
        }
        for axle in protected_axles(car) {
            let why: Vec<Cause> = protection(car, axle)
                .flat_map(|position| here.iter().filter(|one| one.position == position.code))
                .map(|one| cause(car, one))
                .collect();
            if !why.is_empty() {
                unprotected.push(UnprotectedAxle {
                    car: place,
                    car_number: car.number.clone(),
                    axle: axle.1,
                    why,
                });
            }
        }
    }
    unprotected
}

fn cause(car: &PlacedCar, impaired: &Impaired) -> Cause {
    Cause {
        car: impaired.car,
        car_number: car.number.clone(),
        position: impaired.position.clone(),
        kind: CauseKind::from(impaired.by),
    }
}
