//! The brake percentage before and after cut-outs.
//!
//! λ = 100 · ΣB / Σm, B the braked weights and m the masses of all vehicles (the quantity of
//! UIC 544-1; the sums in law: Bavarian EBOA, Anlage 22, I.2). By the same paragraph only
//! working brakes are counted: the braked weight of a brake that is cut out leaves the upper
//! sum, and its mass stays in the lower one.

use super::Supply;
use super::effect::{ActuatorEffect, AppliedBy, Availability, Effect, Evaluated};
use super::load_signal::{LostSignal, lost_signals};
use super::weights::{ActuatorWeight, weights};
use crate::braking::percentage::{Percentage, Rounding};
use crate::circuit::Mode;
use crate::circuit::state::TrainState;
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{AssumedLoad, BrakePosition, CarType, LoadState};
use crate::units::{Kilograms, VEHICLE_MASS_MAX};
use crate::worked::{Missing, MissingFact, Source, Step, Worked};
use serde::Serialize;
use std::collections::BTreeSet;

const PERCENTAGE_SOURCE: &str = "UIC 544-1, brake percentage, in the form of Bavarian EBOA, \
     Anlage 22, I.2: 100 times the sum of braked weights by the sum of masses";
const WORKING_BRAKES_SOURCE: &str = "Bavarian EBOA, Anlage 22, I.2: only working brakes are \
     counted, and the mass of all vehicles";

/// For which braking the percentage is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BrakingCase {
    /// Service or emergency; holding has forces, not braked weights.
    pub mode: Mode,
    /// Which air counts.
    pub supply: Supply,
    /// How quickly the brake is set to act.
    pub brake_position: BrakePosition,
    /// How the cars are loaded.
    pub load: LoadState,
}

/// The percentage of a train with and without its impairments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BrakePercentage {
    /// With nothing cut out and nothing missing.
    pub before: Percentage,
    /// As it is.
    pub after: Percentage,
}

/// What a train does when it brakes.
#[derive(Debug, Clone, PartialEq)]
pub struct Braked {
    /// What each actuator does.
    pub effect: Effect,
    /// The load signals that are lost.
    pub signals: Vec<LostSignal>,
}

impl Braked {
    /// In a mode with that air. Linear in nodes and lines.
    pub fn of(state: &TrainState<'_>, mode: Mode, supply: Supply) -> Self {
        let evaluated = Evaluated::new(state, mode, supply);
        let delivery = evaluated.delivery();
        Self {
            effect: evaluated.effect(),
            signals: delivery.map_or_else(Vec::new, |air| lost_signals(state.train(), air)),
        }
    }
}

/// The brake percentage of a train before and after its impairments. A mass or braked weight
/// that is lacking, or cannot be, gives no answer, even of a brake that is cut out.
pub fn brake_percentage(
    state: &TrainState<'_>,
    case: BrakingCase,
) -> Result<Worked<BrakePercentage>, Missing> {
    let train = state.train();
    let sound = Braked::of(&train.sound(), case.mode, case.supply);
    let left = Braked::of(state, case.mode, case.supply);
    between(train, case, (&sound, &left))
}

/// The same from what is known already of the sound train and of the train as it is, both in
/// the mode and with the air of the case.
pub fn between(
    train: &TrainCircuit,
    case: BrakingCase,
    (sound, left): (&Braked, &Braked),
) -> Result<Worked<BrakePercentage>, Missing> {
    if case.mode == Mode::Holding {
        let of = "holding: parking brakes count by their force";
        return Err(Missing::one("braked weight", of));
    }
    let facts = Facts::gather(train, case)?;
    let full = facts.available(sound)?;
    let left = facts.available(left)?;
    let percentage = |available: &Available| {
        Percentage::new(
            available.by_car.iter().copied().sum(),
            facts.masses.iter().copied().sum(),
        )
    };
    let (before, after) = (percentage(&full)?, percentage(&left)?);
    let mut steps = vec![
        facts.mass_step(before.mass(), case),
        facts.weight_step("braked weight before", &full.by_car, case),
        ratio_step("brake percentage before", before),
    ];
    steps.extend(left.signals.iter().map(signal_step));
    steps.push(left_step(&left.by_car));
    steps.push(ratio_step("brake percentage after", after));
    Ok(Worked {
        value: BrakePercentage { before, after },
        steps,
    })
}

/// The masses and braked weights of a train in one case, none of them lacking.
struct Facts {
    masses: Vec<Kilograms>,
    weights: Vec<ActuatorWeight>,
    car_types: String,
}

/// The braked weight that is available, and the load signals that are lost.
struct Available<'a> {
    by_car: Vec<Kilograms>,
    signals: &'a [LostSignal],
}

impl Facts {
    fn gather(train: &TrainCircuit, case: BrakingCase) -> Result<Self, Missing> {
        let mut missing = Vec::new();
        let weights = weights(train, case, &mut missing);
        let (mut masses, mut car_types) = (Vec::new(), Vec::new());
        for car in train.cars() {
            masses.extend(mass(car, case.load).map_err(|fact| missing.push(fact)));
            car_types.push(name(car.circuit.car_type()));
            missing.extend(circuit_lacking(car));
        }
        missing.sort();
        missing.dedup();
        if !missing.is_empty() {
            return Err(Missing(missing));
        }
        car_types.sort();
        car_types.dedup();
        Ok(Self {
            masses,
            weights,
            car_types: car_types.join(", "),
        })
    }

    /// The braked weight that is available on each car. A load signal whose loss nobody
    /// described gives no answer.
    fn available<'a>(
        &self,
        Braked { effect, signals }: &'a Braked,
    ) -> Result<Available<'a>, Missing> {
        let presses = |actuator: &&ActuatorEffect| {
            actuator.applied_by == AppliedBy::Air
                && actuator.availability == Availability::Available
        };
        let pressing: BTreeSet<usize> = effect
            .actuators
            .iter()
            .filter(presses)
            .map(|actuator| actuator.node)
            .collect();
        let mut by_car = vec![Kilograms(0); self.masses.len()];
        let mut missing = Vec::new();
        for weight in self.weights.iter().filter(|w| pressing.contains(&w.node)) {
            let lost = signals.iter().any(|s| weight.sensors.contains(&s.node));
            match &weight.unsignalled {
                Ok(unsignalled) if lost => add(&mut by_car, weight.car, *unsignalled),
                Err(fact) if lost => missing.push(fact.clone()),
                _ => add(&mut by_car, weight.car, weight.signalled),
            }
        }
        missing.sort();
        missing.dedup();
        if missing.is_empty() {
            Ok(Available { by_car, signals })
        } else {
            Err(Missing(missing))
        }
    }

    fn mass_step(&self, sum: Kilograms, case: BrakingCase) -> Step {
        Step {
            what: "mass of the train".into(),
            working: format!("{} = {sum}", written_sum(&self.masses)),
            source: Source::Operator(format!(
                "masses at {} load of {}",
                case.load, self.car_types
            )),
        }
    }

    fn weight_step(&self, what: &str, weights: &[Kilograms], case: BrakingCase) -> Step {
        Step {
            what: what.into(),
            working: written_total(weights),
            source: Source::Operator(format!(
                "braked weights in brake position {} at {} load, as assessed, of {}",
                case.brake_position.name(),
                case.load,
                self.car_types
            )),
        }
    }
}

fn add(by_car: &mut [Kilograms], car: usize, weight: Kilograms) {
    if let Some(sum) = by_car.get_mut(car) {
        *sum = *sum + weight;
    }
}

fn signal_step(lost: &LostSignal) -> Step {
    let brakes = match lost.bogie {
        Some(bogie) => format!("brakes of bogie {bogie}"),
        None => "brakes".to_owned(),
    };
    let assumed = lost.assumed.map_or("unknown load", AssumedLoad::name);
    Step {
        what: format!(
            "load signal lost, car {}, {}",
            lost.car_number, lost.position
        ),
        working: format!(
            "{brakes} count with the braked weight of {}, where that is less",
            assumed.replace('_', " ")
        ),
        source: Source::Operator("load taken without a load signal, of the car type".to_owned()),
    }
}

fn left_step(left: &[Kilograms]) -> Step {
    Step::published(
        "braked weight after",
        written_total(left),
        WORKING_BRAKES_SOURCE,
    )
}

fn ratio_step(what: &str, percentage: Percentage) -> Step {
    let (weight, mass) = (percentage.braked_weight(), percentage.mass());
    let whole = percentage.whole(Rounding::Down);
    let working = format!("100 × {weight} / {mass} = {percentage}, rounded down {whole} %");
    Step::published(what, working, PERCENTAGE_SOURCE)
}

fn written_total(weights: &[Kilograms]) -> String {
    let sum: Kilograms = weights.iter().copied().sum();
    format!("by car {} = {sum}", written_sum(weights))
}

fn written_sum(parts: &[Kilograms]) -> String {
    let parts: Vec<String> = parts.iter().map(ToString::to_string).collect();
    parts.join(" + ")
}

/// A car type as a missing fact names it.
pub(super) fn name(car_type: &CarType) -> String {
    format!("car type {} revision {}", car_type.name, car_type.revision)
}

/// A car that brakes nothing still has a pipe; a circuit with no node at all was never entered.
fn circuit_lacking(car: &PlacedCar) -> Option<MissingFact> {
    let car_type = car.circuit.car_type();
    car_type.circuit.nodes.is_empty().then(|| MissingFact {
        what: "circuit".into(),
        of: name(car_type),
    })
}

fn mass(car: &PlacedCar, load: LoadState) -> Result<Kilograms, MissingFact> {
    let car_type = car.circuit.car_type();
    let possible = Kilograms(1)..=VEHICLE_MASS_MAX;
    let mass = car_type.mass(load).filter(|mass| possible.contains(mass));
    mass.ok_or_else(|| MissingFact {
        what: "mass".into(),
        of: format!("{}, {load} load", name(car_type)),
    })
}
