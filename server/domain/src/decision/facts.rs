//! What a rule set is told of a train: counted from scratch over everything that is cut out or
//! missing, whoever did it.

use super::states::{Braking, States};
use super::{Holding, Question, brakes, stopping};
use crate::circuit::state::{Impaired, Marked};
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
use std::collections::{BTreeMap, BTreeSet};

/// What was computed of a train with its cut-outs.
pub(super) struct Found<'a> {
    /// What does not do its work.
    pub(super) impaired: &'a [Impaired],
    /// The same in the circuit.
    pub(super) standing: &'a Marked<'a>,
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
        cars: (0..question.cars.len())
            .map(|place| car_facts(question, braking, place))
            .collect(),
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
        equipment: equipment(question, found.impaired, found.standing),
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

fn air_brakes(braking: Braking<'_>, place: usize) -> Vec<AirBrake<'_>> {
    let available = |one: &ActuatorEffect| one.availability == Availability::Available;
    let both = braking
        .emergency
        .actuators
        .iter()
        .zip(&braking.service.actuators);
    both.skip_while(|(of, _)| of.car < place)
        .take_while(|(of, _)| of.car == place)
        .filter(|(of, _)| of.applied_by == AppliedBy::Air)
        .map(|(of, in_service)| AirBrake {
            of,
            works: available(of) && available(in_service),
        })
        .collect()
}

fn car_facts(question: &Question, braking: Braking<'_>, place: usize) -> CarFacts {
    let car = &question.cars[place];
    let car_type = car.circuit.car_type();
    let actuators = air_brakes(braking, place);
    let works = |brake: &AirBrake<'_>| brake.works;
    let axle_works = |axle: u8| {
        let mut on_axle = actuators
            .iter()
            .filter(|brake| brake.of.axle == Some(axle))
            .peekable();
        on_axle.peek().is_some() && on_axle.all(works)
    };
    let axles: Vec<(u8, u8)> = car_type
        .axles()
        .map(|(bogie, axle)| (bogie, axle.number))
        .collect();
    let working: BTreeSet<u8> = axles
        .iter()
        .map(|(_, axle)| *axle)
        .filter(|axle| axle_works(*axle))
        .collect();
    let bogie_works = |bogie: u8| {
        axles
            .iter()
            .filter(|(of, _)| *of == bogie)
            .all(|(_, axle)| working.contains(axle))
    };
    let bogies = car_type
        .bogies
        .iter()
        .filter(|bogie| bogie_works(bogie.number))
        .count();
    let positions = car_type.positions.iter();
    let tread_units: BTreeSet<&PositionCode> = positions
        .filter(|position| position.kind == PositionKind::TreadBrakeUnit)
        .map(|position| &position.code)
        .collect();
    let is_tread = |brake: &&AirBrake<'_>| tread_units.contains(&brake.of.position);
    let tread: Vec<_> = actuators.iter().filter(is_tread).copied().collect();
    let operative = |works: usize, all: usize| Operative::new(count(works), count(all));
    CarFacts {
        car: car.number.clone(),
        kind: Some(car_type.vehicle_kind),
        mass: car_type.mass(question.load),
        axles: operative(working.len(), axles.len()),
        bogies: operative(bogies, car_type.bogies.len()),
        actuators: operative(
            actuators.iter().filter(|brake| brake.works).count(),
            actuators.len(),
        ),
        tread_brake_units: operative(
            tread.iter().filter(|brake| brake.works).count(),
            tread.len(),
        ),
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
fn equipment(
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
