//! May this train run? From the formation and what is cut out to the effect, the brake
//! percentage, the stopping distance by each method, what still holds, and the verdict of each
//! rule set. Nothing is typed in: everything follows from the circuits, the assessed values and
//! the rule sets, and a fact that is lacking gives no answer to what needs it.

pub mod answer;
pub mod asked;
pub mod checks;
mod facts;
pub mod formation;
mod order;
mod question;
mod stopping;
pub mod supposed;

pub use question::{CutOutInTrain, Question, TrainCar, Way};
pub use stopping::StoppingPair;
pub use supposed::Supposed;

use crate::braking::holding;
use crate::circuit::Mode;
use crate::circuit::state::{Impaired, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::{BrakePosition, PositionKind};
use crate::identity::{CarNumber, Revision, RuleSetName};
use crate::isolation::Supply;
use crate::isolation::brake_percentage::{BrakePercentage, BrakingCase, brake_percentage};
use crate::isolation::effect::{Effect, effect};
use crate::rule_set::facts::Operative;
use crate::rule_set::verdict::Verdict;
use crate::rule_set::{RuleSet, evaluate};
use crate::units::{Gradient, Kilograms, Kilonewtons};
use crate::words::word_list;
use crate::worked::{Missing, MissingFact, Worked};
use checks::{Check, checks};
use serde::Serialize;
use std::collections::BTreeMap;

word_list! {
    /// Whether the answer is about the train as it is.
    Standing, "standing" {
        /// As it stands, with the cut-outs in force.
        AsItStands = "as_it_stands",
        /// Supposed: what if. It is never printed as a decision.
        WhatIf = "what_if",
    }
}

/// The effect of the cut-outs in one mode, commanded from one car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CommandedEffect {
    /// The car from which it is commanded; none in holding, which nobody commands.
    pub from: Option<CarNumber>,
    /// The effect.
    pub effect: Effect,
}

/// What still holds the train, before and after the cut-outs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Holding {
    /// The gradient kept with everything as it should be.
    pub before: Worked<Gradient>,
    /// The gradient kept as it is.
    pub after: Worked<Gradient>,
}

/// What one rule set says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleSetAnswer {
    /// The rule set.
    pub name: RuleSetName,
    /// Its revision.
    pub revision: Revision,
    /// Its verdict, or what is lacking for one.
    #[serde(with = "crate::worked::answer")]
    pub verdict: Result<Worked<Verdict>, Missing>,
}

/// The answer about a train.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decision {
    /// As it stands, or supposed.
    pub standing: Standing,
    /// What is cut out, missing or supposed, in the order of the train.
    pub impaired: Vec<Impaired>,
    /// The effects from the leading place of command: service and emergency, now and with
    /// stored air used up, and holding.
    pub effects: Vec<CommandedEffect>,
    /// The effects now from the other places of command, where they differ.
    pub elsewhere: Vec<CommandedEffect>,
    /// The brake percentage in emergency braking, now.
    #[serde(with = "crate::worked::answer")]
    pub percentage: Result<Worked<BrakePercentage>, Missing>,
    /// The same once stored air is used up.
    #[serde(with = "crate::worked::answer")]
    pub percentage_later: Result<Worked<BrakePercentage>, Missing>,
    /// Stopping distances, each method by itself.
    pub stopping: Vec<StoppingPair>,
    /// What holds the train.
    #[serde(with = "crate::worked::answer")]
    pub holding: Result<Holding, Missing>,
    /// How many positions of each kind do their work, over the whole train.
    pub equipment: BTreeMap<PositionKind, Operative>,
    /// What each rule set says, in the order asked.
    pub verdicts: Vec<RuleSetAnswer>,
    /// What must be checked by a person before any of this is acted on.
    pub checks: Vec<Check>,
}

/// The safety factor by which a train is taken to be held: none beyond the force itself. Rule
/// sets demand more by the gradient they ask for.
const HOLDING_FACTOR: f64 = 1.0;

/// Answers a question about a train under some rule sets. No answer at all where the formation
/// or a cut-out cannot be found in the circuits. Linear in nodes, lines and impairments.
pub fn decide(question: &Question, rule_sets: &[&RuleSet]) -> Result<Decision, Missing> {
    let circuit = question.circuit()?;
    let impaired = question.impaired();
    let emergency = Commanded::leading(&circuit, Mode::Emergency)?;
    let service = Commanded::leading(&circuit, Mode::Service)?;
    let mut effects = Vec::new();
    for (commanded, mode) in [(&service, Mode::Service), (&emergency, Mode::Emergency)] {
        for supply in [Supply::Now, Supply::Exhausted] {
            effects.push(commanded.effect(&impaired, mode, supply)?);
        }
    }
    let standing = circuit.impaired(&impaired)?;
    let held = effect(&standing, Mode::Holding, Supply::Now);
    let state = emergency.circuit.impaired(&impaired)?;
    let percentage = percentage(&state, question, Supply::Now);
    let holding = holding_of(&circuit, &held, question);
    let lengths = stopping::pairs(question, &percentage);
    let emergency_now = &effects[2].effect;
    let facts = facts::train_facts(question, emergency_now, &percentage, &held);
    let verdicts = rule_sets
        .iter()
        .map(|rules| answer(rules, &facts))
        .collect();
    let mut elsewhere = Vec::new();
    for mode in [Mode::Service, Mode::Emergency] {
        elsewhere.extend(others(&circuit, &impaired, mode)?);
    }
    elsewhere.retain(|other| differs(other, &effects));
    let percentage_later = self::percentage(&state, question, Supply::Exhausted);
    effects.push(CommandedEffect {
        from: None,
        effect: held,
    });
    Ok(Decision {
        standing: question.standing(),
        impaired,
        effects,
        elsewhere,
        percentage,
        percentage_later,
        stopping: lengths,
        holding,
        equipment: facts.equipment,
        verdicts,
        checks: checks(question),
    })
}

/// A train commanded from one car.
struct Commanded {
    from: CarNumber,
    circuit: TrainCircuit,
}

impl Commanded {
    fn from(circuit: &TrainCircuit, place: usize) -> Option<Self> {
        let from = circuit.cars().get(place)?.number.clone();
        Some(Self {
            from,
            circuit: circuit.commanded_from(place),
        })
    }

    /// Commanded from the foremost car that can command the mode.
    fn leading(circuit: &TrainCircuit, mode: Mode) -> Result<Self, Missing> {
        let place = circuit.command_places(mode).first().copied();
        place
            .and_then(|place| Self::from(circuit, place))
            .ok_or_else(|| {
                Missing::one(
                    format!("a place of command for {mode} braking"),
                    "the train",
                )
            })
    }

    fn effect(
        &self,
        impaired: &[Impaired],
        mode: Mode,
        supply: Supply,
    ) -> Result<CommandedEffect, Missing> {
        let state = self.circuit.impaired(impaired)?;
        Ok(CommandedEffect {
            from: Some(self.from.clone()),
            effect: effect(&state, mode, supply),
        })
    }
}

/// The effects now from every place of command but the leading one.
fn others(
    circuit: &TrainCircuit,
    impaired: &[Impaired],
    mode: Mode,
) -> Result<Vec<CommandedEffect>, Missing> {
    let places = circuit.command_places(mode);
    let commanded = places
        .iter()
        .skip(1)
        .filter_map(|place| Commanded::from(circuit, *place));
    commanded
        .map(|commanded| commanded.effect(impaired, mode, Supply::Now))
        .collect()
}

fn differs(other: &CommandedEffect, leading: &[CommandedEffect]) -> bool {
    let same_case = |one: &&CommandedEffect| {
        one.effect.mode == other.effect.mode && one.effect.supply == other.effect.supply
    };
    leading
        .iter()
        .find(same_case)
        .is_some_and(|one| one.effect.actuators != other.effect.actuators)
}

fn percentage(
    state: &TrainState<'_>,
    question: &Question,
    supply: Supply,
) -> Result<Worked<BrakePercentage>, Missing> {
    let (brake_position, load) = (question.brake_position, question.load);
    brake_percentage(
        state,
        BrakingCase {
            mode: Mode::Emergency,
            supply,
            brake_position,
            load,
        },
    )
}

/// The gradients that the spring-applied brakes keep.
fn holding_of(
    circuit: &TrainCircuit,
    held: &Effect,
    question: &Question,
) -> Result<Holding, Missing> {
    let mass = question.mass()?;
    let sound = effect(&circuit.sound(), Mode::Holding, Supply::Now);
    let gradient = |effect: &Effect| {
        let force = effect.holding.unwrap_or_default().available_n;
        holding::gradient_kept(kilonewtons(force), mass, HOLDING_FACTOR)
    };
    Ok(Holding {
        before: gradient(&sound)?,
        after: gradient(held)?,
    })
}

fn kilonewtons(newtons: u64) -> Kilonewtons {
    Kilonewtons(newtons as f64 / 1000.0)
}

fn answer(rules: &RuleSet, facts: &crate::rule_set::facts::TrainFacts) -> RuleSetAnswer {
    RuleSetAnswer {
        name: rules.name.clone(),
        revision: rules.revision.clone(),
        verdict: evaluate(rules, facts),
    }
}

impl Question {
    /// The mass of the train in the load state asked for.
    fn mass(&self) -> Result<Kilograms, Missing> {
        let mut lacking = Vec::new();
        let mut sum = Kilograms(0);
        for car in &self.cars {
            let car_type = car.circuit.car_type();
            match car_type.mass(self.load) {
                Some(mass) => sum = sum + mass,
                None => lacking.push(MissingFact {
                    what: "mass".into(),
                    of: format!(
                        "car type {} revision {}, {} load",
                        car_type.name, car_type.revision, self.load
                    ),
                }),
            }
        }
        if lacking.is_empty() {
            Ok(sum)
        } else {
            Err(Missing(lacking))
        }
    }

    /// How the conversion model knows the brake position: it has one for passenger trains, and
    /// none of its own for R or for electro-pneumatic control.
    fn is_passenger(&self) -> bool {
        self.brake_position != BrakePosition::G
    }
}
