//! The brake percentage before and after cut-outs.
//!
//! λ = 100 · ΣB / Σm, B the braked weights and m the masses of all vehicles (the quantity of
//! UIC 544-1; the sums in law: Bavarian EBOA, Anlage 22, I.2). By the same paragraph only
//! working brakes are counted: the braked weight of a brake that is cut out leaves the upper
//! sum, and its mass stays in the lower one.

use super::Supply;
use super::effect::{AppliedBy, Availability, Effect, effect};
use crate::braking::percentage::{Percentage, Rounding};
use crate::circuit::Mode;
use crate::circuit::state::TrainState;
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{BrakePosition, CarType, LoadState};
use crate::identity::PositionCode;
use crate::units::{Kilograms, VEHICLE_MASS_MAX};
use crate::worked::{Missing, MissingFact, Source, Step, Worked};
use serde::Serialize;
use std::collections::BTreeMap;

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

/// The brake percentage of a train before and after its impairments. A mass or braked weight
/// that is lacking, or cannot be, gives no answer, even of a brake that is cut out.
pub fn brake_percentage(
    state: &TrainState<'_>,
    case: BrakingCase,
) -> Result<Worked<BrakePercentage>, Missing> {
    if case.mode == Mode::Holding {
        let of = "holding: parking brakes count by their force";
        return Err(Missing::one("braked weight", of));
    }
    let train = state.train();
    let facts = Facts::gather(train, case)?;
    let sound = facts.available(&effect(&train.sound(), case.mode, case.supply));
    let left = facts.available(&effect(state, case.mode, case.supply));
    let percentage = |weights: &[Kilograms]| {
        Percentage::new(
            weights.iter().copied().sum(),
            facts.masses.iter().copied().sum(),
        )
    };
    let (before, after) = (percentage(&sound)?, percentage(&left)?);
    let steps = vec![
        facts.mass_step(before.mass(), case),
        facts.weight_step("braked weight before", &sound, case),
        ratio_step("brake percentage before", before),
        left_step(&left),
        ratio_step("brake percentage after", after),
    ];
    Ok(Worked {
        value: BrakePercentage { before, after },
        steps,
    })
}

/// The masses and braked weights of a train in one case, none of them lacking.
struct Facts<'t> {
    masses: Vec<Kilograms>,
    weights: Vec<BTreeMap<&'t PositionCode, Kilograms>>,
    car_types: String,
}

impl<'t> Facts<'t> {
    fn gather(train: &'t TrainCircuit, case: BrakingCase) -> Result<Self, Missing> {
        let mut missing = Vec::new();
        let (mut masses, mut weights) = (Vec::new(), Vec::new());
        let mut car_types = Vec::new();
        for car in train.cars() {
            masses.extend(mass(car, case.load).map_err(|fact| missing.push(fact)));
            weights.push(braked_weights(car, case, &mut missing));
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

    /// The braked weight that is available on each car.
    fn available(&self, effect: &Effect) -> Vec<Kilograms> {
        let mut sums = vec![Kilograms(0); self.weights.len()];
        for actuator in &effect.actuators {
            let counted = actuator.applied_by == AppliedBy::Air
                && actuator.availability == Availability::Available;
            if let (true, Some(weight)) =
                (counted, self.weights[actuator.car].get(&actuator.position))
            {
                sums[actuator.car] = sums[actuator.car] + *weight;
            }
        }
        sums
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

fn name(car_type: &CarType) -> String {
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

/// The braked weight of each air-applied actuator; what is lacking is added to the list.
fn braked_weights<'t>(
    car: &'t PlacedCar,
    case: BrakingCase,
    missing: &mut Vec<MissingFact>,
) -> BTreeMap<&'t PositionCode, Kilograms> {
    let car_type = car.circuit.car_type();
    let in_case = car_type.braked_weights.iter().filter(|assessed| {
        assessed.brake_position == case.brake_position && assessed.load == case.load
    });
    let weights: BTreeMap<_, _> = in_case
        .map(|assessed| (&assessed.position, assessed.braked_weight))
        .collect();
    for actuator in car.circuit.air_applied() {
        if !weights.contains_key(actuator) {
            missing.push(MissingFact {
                what: "braked weight".into(),
                of: format!(
                    "{}, actuator {actuator}, brake position {}, {} load",
                    name(car_type),
                    case.brake_position.name(),
                    case.load
                ),
            });
        }
    }
    weights
}
