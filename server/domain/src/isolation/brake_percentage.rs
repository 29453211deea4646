//! The brake percentage before and after cut-outs.
//!
//! λ = 100 · ΣB / Σm, B the braked weights and m the masses of all vehicles (the quantity of
//! UIC 544-1; the sums in law: Bavarian EBOA, Anlage 22, I.2). By the same paragraph only
//! working brakes are counted: the braked weight of a brake that is cut out leaves the upper
//! sum, and its mass stays in the lower one.

use super::Supply;
use super::effect::{Deliveries, presses};
use super::load_signal::{LostSignal, lost_signals};
use super::weights::{ActuatorWeight, Assessed, governing, weights};
use crate::braking::percentage::{Percentage, Rounding};
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Delivering;
use crate::circuit::state::{Marked, TrainState};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{AssumedLoad, BrakePosition, CarType, LoadState};
use crate::units::{Kilograms, VEHICLE_MASS_MAX};
use crate::worked::{Missing, MissingFact, Source, Step, Worked};
use serde::Serialize;

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
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Braked {
    /// The nodes of the air-applied actuators that press, ascending.
    pub(crate) pressing: Vec<usize>,
    /// The load signals that are lost.
    pub signals: Vec<LostSignal>,
}

impl Braked {
    /// In service or emergency with that air; in holding no air presses. Linear in nodes and
    /// lines.
    pub fn of(state: &TrainState<'_>, mode: Mode, supply: Supply) -> Self {
        let deliveries = Deliveries::of(state, mode, supply);
        let delivery = deliveries.to_air_applied.as_ref();
        delivery.map_or_else(Self::default, |air| Self::by(state.marked(), air))
    }

    /// Whether a load signal that governs an actuator is lost: one of its car that names its bogie
    /// or none.
    pub(crate) fn lacks_signal(&self, train: &TrainCircuit, actuator: usize) -> bool {
        if self.signals.is_empty() {
            return false;
        }
        let lost = |sensor: usize| self.signals.iter().any(|signal| signal.node == sensor);
        governing(train, actuator).any(lost)
    }

    /// By what is delivered. Linear in actuators.
    pub(super) fn by(marked: &Marked<'_>, delivery: &impl Delivering) -> Self {
        let train = marked.train();
        let presses = |node: &&usize| {
            train.roles()[**node] == Role::AirApplied && presses(marked, delivery, **node)
        };
        Self {
            pressing: train.actuators().iter().filter(presses).copied().collect(),
            signals: lost_signals(train, delivery),
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
    let BrakingCase { mode, supply, .. } = case;
    if mode == Mode::Holding {
        let of = "holding: parking brakes count by their force";
        return Err(Missing::one("braked weight", of));
    }
    let sound = Braked::of(&train.sound(), mode, supply);
    let left = Braked::of(state, mode, supply);
    let facts = Facts::gather(train, case.brake_position, case.load)?;
    facts.percentage(supply, (&sound, &left))
}

/// The masses and braked weights of a train in one case, none of them lacking.
pub(crate) struct Facts<'t> {
    train: &'t TrainCircuit,
    case: Assessed,
    masses: Vec<Kilograms>,
    weights: Vec<ActuatorWeight>,
    car_types: String,
}

/// The braked weight that is available, and the load signals that are lost.
struct Available<'a> {
    by_car: Vec<Kilograms>,
    signals: &'a [LostSignal],
}

impl<'t> Facts<'t> {
    /// Gathers them, or says which are lacking. Linear in actuators and assessed values.
    pub(crate) fn gather(
        train: &'t TrainCircuit,
        brake_position: BrakePosition,
        load: LoadState,
    ) -> Result<Self, Missing> {
        let case = Assessed {
            brake_position,
            load,
        };
        let mut missing = Vec::new();
        let weights = weights(train, case, &mut missing);
        let (mut masses, mut car_types) = (Vec::new(), Vec::new());
        for car in train.cars() {
            masses.extend(mass(car, load).map_err(|fact| missing.push(fact)));
            car_types.push(name(car.circuit.car_type()));
            missing.extend(circuit_lacking(car));
        }
        Missing::unless_none(missing)?;
        car_types.sort();
        car_types.dedup();
        Ok(Self {
            train,
            case,
            masses,
            weights,
            car_types: car_types.join(", "),
        })
    }

    /// The percentage with and without impairments, from what brakes then.
    pub(crate) fn percentage(
        &self,
        supply: Supply,
        (sound, left): (&Braked, &Braked),
    ) -> Result<Worked<BrakePercentage>, Missing> {
        let full = self.available(supply, sound)?;
        let left = self.available(supply, left)?;
        let percentage = |available: &Available| {
            Percentage::new(
                available.by_car.iter().copied().sum(),
                self.masses.iter().copied().sum(),
            )
        };
        let (before, after) = (percentage(&full)?, percentage(&left)?);
        let mut steps = vec![
            self.mass_step(before.mass()),
            self.weight_step("braked weight before", &full.by_car),
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

    /// The braked weight that is available on each car. A load signal whose loss nobody
    /// described gives no answer.
    fn available<'a>(&self, supply: Supply, braked: &'a Braked) -> Result<Available<'a>, Missing> {
        let Braked { pressing, signals } = braked;
        let presses = |weight: &&ActuatorWeight| pressing.binary_search(&weight.node).is_ok();
        let mut by_car = vec![Kilograms(0); self.masses.len()];
        let mut missing = Vec::new();
        for weight in self.weights.iter().filter(presses) {
            if !braked.lacks_signal(self.train, weight.node) {
                add(&mut by_car, weight.car, weight.signalled);
                continue;
            }
            match weight.unsignalled(self.train, self.case, supply) {
                Ok(unsignalled) => add(&mut by_car, weight.car, unsignalled),
                Err(fact) => missing.push(fact),
            }
        }
        Missing::unless_none(missing)?;
        Ok(Available { by_car, signals })
    }

    fn mass_step(&self, sum: Kilograms) -> Step {
        Step {
            what: "mass of the train".into(),
            working: format!("{} = {sum}", written_sum(&self.masses)),
            source: Source::Operator(format!(
                "masses at {} load of {}",
                self.case.load, self.car_types
            )),
        }
    }

    fn weight_step(&self, what: &str, weights: &[Kilograms]) -> Step {
        Step {
            what: what.into(),
            working: written_total(weights),
            source: Source::Operator(format!(
                "braked weights in brake position {} at {} load, as assessed, of {}",
                self.case.brake_position.name(),
                self.case.load,
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
