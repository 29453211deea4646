//! What a rule set is told of a train: counted from scratch over everything that is cut out or
//! missing, whoever did it.

use super::states::{Braking, States};
use super::{Holding, Question, TrainCar, brakes, stopping};
use crate::circuit::state::{Impaired, Marked};
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use crate::identity::PositionCode;
use crate::isolation::Supply;
use crate::isolation::brake_percentage::BrakePercentage;
use crate::isolation::effect::{ActuatorEffect, AppliedBy, Availability};
use crate::isolation::slide_protection::UnprotectedAxle;
use crate::rule_set::facts::{
    CarFacts, DraggingFacts, HoldingFacts, Operative, PercentageFacts, TrainFacts,
};
use crate::worked::{Missing, Worked};
use std::collections::BTreeMap;

/// What was computed of a train with its cut-outs.
pub(super) struct Found<'a> {
    pub(super) circuit: &'a TrainCircuit,
    /// How many positions of each kind do their work.
    pub(super) equipment: &'a BTreeMap<PositionKind, Operative>,
    pub(super) states: &'a States,
    /// Whether stored air lasts or is used up.
    pub(super) supply: Supply,
    /// With that supply.
    pub(super) percentage: &'a Result<Worked<BrakePercentage>, Missing>,
    pub(super) holding: &'a Result<Holding, Missing>,
    pub(super) unprotected: &'a [UnprotectedAxle],
}

/// Gathers the facts that rules are put to.
pub(super) fn train_facts(question: &Question, found: &Found<'_>) -> TrainFacts {
    let way = &question.way;
    let Found {
        states, percentage, ..
    } = found;
    let braking = states.commanded(found.supply);
    TrainFacts {
        cars: cars(question, found.circuit, braking),
        whereabouts: way.whereabouts,
        kind: way.kind,
        movement: way.movement,
        speed_max: question.speed_max(),
        formation: Some(stopping::formation(question)),
        percentage: percentage
            .as_ref()
            .ok()
            .and_then(|worked| PercentageFacts::new(worked.value.before, worked.value.after)),
        holding: found.holding.as_ref().ok().map(|holding| HoldingFacts {
            force: holding.force,
            adhesion: holding.adhesion,
            mass: holding.mass,
        }),
        equipment: found.equipment.clone(),
        dragging: Some(dragging(found)),
        unprotected_axles: Some(count(braked_unprotected(found))),
        gradient: way.gradient,
        signalling_distance: way.signalling_distance,
        distance_to_go: way.distance_to_go,
        route: way.route.clone(),
        day: way.day,
    }
}

fn count(of: usize) -> u32 {
    u32::try_from(of).unwrap_or(u32::MAX)
}

/// An air-applied brake, and whether it works: in service and in emergency braking. One that works
/// in one of them only counts as inoperative.
#[derive(Clone, Copy)]
struct AirBrake<'a> {
    of: &'a ActuatorEffect,
    works: bool,
}

/// The facts of each car. Linear in actuators and positions.
fn cars(question: &Question, train: &TrainCircuit, braking: Braking<'_>) -> Vec<CarFacts> {
    let available = |one: &ActuatorEffect| one.availability == Availability::Available;
    let both = braking
        .emergency
        .actuators
        .iter()
        .zip(&braking.service.actuators);
    let mut brakes = both
        .filter(|(of, _)| of.applied_by == AppliedBy::Air)
        .map(|(of, in_service)| AirBrake {
            of,
            works: available(of) && available(in_service),
        })
        .peekable();
    let cars = question.cars.iter().enumerate().map(|(place, car)| {
        let own = std::iter::from_fn(|| brakes.next_if(|brake| brake.of.car == place));
        car_facts((question, train), car, &own.collect::<Vec<_>>())
    });
    cars.collect()
}

fn car_facts(
    (question, train): (&Question, &TrainCircuit),
    car: &TrainCar,
    brakes: &[AirBrake<'_>],
) -> CarFacts {
    let car_type = car.circuit.car_type();
    // An axle without an actuator does not brake.
    let axle_works = |axle: u8| {
        let mut on_axle = brakes.iter().filter(|brake| brake.of.axle == Some(axle));
        let first = on_axle.next();
        first.is_some_and(|first| first.works && on_axle.all(|brake| brake.works))
    };
    let (mut axles, mut working) = (0, 0);
    let mut bogies = 0;
    for bogie in &car_type.bogies {
        let of_bogie = bogie.axles.iter();
        let works = of_bogie.filter(|axle| axle_works(axle.number)).count();
        axles += bogie.axles.len();
        working += works;
        bogies += usize::from(works == bogie.axles.len());
    }
    let is_tread =
        |brake: &&AirBrake<'_>| train.kind(brake.of.node) == Some(PositionKind::TreadBrakeUnit);
    let operative = |works: usize, all: usize| Operative::new(count(works), count(all));
    let working_of = |brakes: &mut dyn Iterator<Item = &AirBrake<'_>>| {
        let (mut works, mut all) = (0, 0);
        for brake in brakes {
            all += 1;
            works += usize::from(brake.works);
        }
        operative(works, all)
    };
    CarFacts {
        car: car.number.clone(),
        kind: Some(car_type.vehicle_kind),
        mass: car_type.mass(question.load),
        axles: operative(working, axles),
        bogies: operative(bogies, car_type.bogies.len()),
        actuators: working_of(&mut brakes.iter()),
        tread_brake_units: working_of(&mut brakes.iter().filter(is_tread)),
        hand_brake: car_type.hand_brake,
    }
}

/// The brakes that are on with nothing commanded, or cannot be said to be off.
fn dragging(found: &Found<'_>) -> DraggingFacts {
    let dragging = |supply| count(brakes::on(&found.states.effects, supply).count());
    DraggingFacts {
        at_once: dragging(found.supply),
        later: dragging(Supply::Exhausted),
    }
}

fn braked_unprotected(found: &Found<'_>) -> usize {
    let brakes = |axle: &&UnprotectedAxle| {
        let emergency = found.states.commanded(found.supply).emergency;
        let mut actuators = emergency.actuators.iter();
        actuators.any(|actuator| {
            actuator.applied_by == AppliedBy::Air
                && actuator.availability == Availability::Available
                && (actuator.car, actuator.axle) == (axle.car, Some(axle.axle))
        })
    };
    found.unprotected.iter().filter(brakes).count()
}

/// How many positions of each kind do their work, over the whole train. A compressor whose air
/// reaches no valve and no actuator does not.
pub(super) fn equipment(
    question: &Question,
    impaired: &[Impaired],
    standing: &Marked<'_>,
) -> BTreeMap<PositionKind, Operative> {
    let is_impaired = |place: usize, code: &PositionCode| {
        let mut impaired = impaired.iter();
        impaired.any(|one| one.car == place && one.position == *code)
    };
    let mut counts: BTreeMap<PositionKind, (u32, u32)> = BTreeMap::new();
    for (place, car) in question.cars.iter().enumerate() {
        let sound = !impaired.iter().any(|one| one.car == place);
        for (kind, positions) in car.circuit.by_kind() {
            let (works, all) = counts.entry(kind).or_default();
            *all += count(positions.len());
            if sound && kind != PositionKind::Compressor {
                *works += count(positions.len());
                continue;
            }
            for code in positions {
                let feeds = kind != PositionKind::Compressor || standing.feeds(place, code);
                *works += u32::from(feeds && !is_impaired(place, code));
            }
        }
    }
    let operative = counts
        .into_iter()
        .filter_map(|(kind, (works, all))| Some((kind, Operative::new(works, all)?)));
    operative.collect()
}
