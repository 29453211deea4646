//! May this train run? From the formation and what is cut out to the effect, the brake
//! percentage, the stopping distance by each method, what still holds, and the verdict of each
//! rule set. Nothing is typed in: everything follows from the circuits, the assessed values and
//! the rule sets, and a fact that is lacking gives no answer to what needs it.

pub mod answer;
pub mod asked;
pub mod check_code;
pub mod checks;
mod facts;
pub mod follow_up;
pub mod forces;
pub mod formation;
pub mod further;
pub mod instruction;
mod order;
pub mod permitted;
mod question;
pub mod seen;
mod stopping;
pub mod supposed;
pub mod taken;

pub use question::{CutOutInTrain, Question, TrainCar, Way};
pub use stopping::{METHODS, Stopping, StoppingPair};
pub use supposed::Supposed;

use crate::braking::holding;
use crate::circuit::Mode;
use crate::circuit::state::Impaired;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::{BrakePosition, PositionKind};
use crate::identity::{CarNumber, Revision, RuleSetName};
use crate::isolation::Supply;
use crate::isolation::brake_percentage::{BrakePercentage, Braked, BrakingCase, between};
use crate::isolation::effect::{Effect, does_the_same, effect};
use crate::isolation::load_signal::LostSignal;
use crate::isolation::slide_protection::{UnprotectedAxle, unprotected_axles};
use crate::rule_set::facts::Operative;
use crate::rule_set::verdict::Verdict;
use crate::rule_set::{RuleSet, evaluate};
use crate::units::{Gradient, Kilograms, Kilonewtons, Speed};
use crate::words::word_list;
use crate::worked::{Missing, MissingFact, Worked};
use checks::{Check, checks};
use forces::Forces;
use instruction::{Instruction, instructions};
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
    /// The way ahead, as it was asked.
    pub way: Way,
    /// The greatest speed that every car allows.
    pub speed_max: Option<Speed>,
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
    /// What the brakes are worth as forces, in emergency braking, now.
    #[serde(with = "crate::worked::answer")]
    pub forces: Result<Forces, Missing>,
    /// What holds the train.
    #[serde(with = "crate::worked::answer")]
    pub holding: Result<Holding, Missing>,
    /// How many positions of each kind do their work, over the whole train.
    pub equipment: BTreeMap<PositionKind, Operative>,
    /// Load signals that are lost in emergency braking once stored air is used up.
    pub load_signals: Vec<LostSignal>,
    /// Axles with no protection against sliding, of those that had it.
    pub unprotected: Vec<UnprotectedAxle>,
    /// What each rule set says, in the order asked.
    pub verdicts: Vec<RuleSetAnswer>,
    /// What must be checked by a person before any of this is acted on.
    pub checks: Vec<Check>,
    /// What is said over the radio about each cut-out.
    pub instructions: Vec<Instruction>,
}

impl Decision {
    /// The effect in emergency braking now, from the leading place of command: what a train is
    /// judged by.
    pub(crate) fn emergency(&self) -> &Effect {
        &self.effects[EMERGENCY_NOW].effect
    }
}

/// Where the effect in emergency braking now stands among the effects.
const EMERGENCY_NOW: usize = 2;

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
    let [service_now, service_later] = service.braked(&impaired, Mode::Service)?;
    let [emergency_now, emergency_later] = emergency.braked(&impaired, Mode::Emergency)?;
    let [sound_now, sound_later] = emergency.braked(&[], Mode::Emergency)?;
    let standing = circuit.impaired(&impaired)?;
    let held = effect(&standing, Mode::Holding, Supply::Now);
    let percentage = percentage(question, &emergency, (&sound_now, &emergency_now));
    let percentage_later = self::percentage(question, &emergency, (&sound_later, &emergency_later));
    let holding = holding_of(&circuit, &held, question);
    let forces = forces_of(question, &sound_now, &emergency_now);
    let stopping = stopping::pairs(question, &percentage, &forces);
    let unprotected = unprotected_axles(&circuit, &impaired);
    let facts = facts::train_facts(
        question,
        &facts::Found {
            impaired: &impaired,
            standing: &standing,
            service: [&service_now.effect, &service_later.effect],
            emergency: &emergency_now.effect,
            held: &held,
            percentage: &percentage,
            unprotected: &unprotected,
        },
    );
    let verdicts = rule_sets
        .iter()
        .map(|rules| answer(rules, &facts))
        .collect();
    let load_signals = emergency_later.signals.clone();
    let mut effects: Vec<CommandedEffect> = [
        service.of(service_now.effect),
        service.of(service_later.effect),
        emergency.of(emergency_now.effect),
        emergency.of(emergency_later.effect),
    ]
    .into();
    let elsewhere = others(&circuit, &impaired, &effects)?;
    effects.push(CommandedEffect {
        from: None,
        effect: held,
    });
    Ok(Decision {
        standing: question.standing(),
        way: question.way.clone(),
        speed_max: question.speed_max(),
        impaired,
        effects,
        elsewhere,
        percentage,
        percentage_later,
        stopping,
        forces,
        holding,
        equipment: facts.equipment,
        load_signals,
        unprotected,
        verdicts,
        checks: checks(question),
        instructions: instructions(question),
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

    /// What brakes now and with stored air used up.
    fn braked(&self, impaired: &[Impaired], mode: Mode) -> Result<[Braked; 2], Missing> {
        let state = self.circuit.impaired(impaired)?;
        Ok([Supply::Now, Supply::Exhausted].map(|supply| Braked::of(&state, mode, supply)))
    }

    /// An effect of its commands.
    fn of(&self, effect: Effect) -> CommandedEffect {
        CommandedEffect {
            from: Some(self.from.clone()),
            effect,
        }
    }
}

/// The effects now from the places of command but the leading ones, where other brakes work than
/// from those: service first. What a place commands is worked out once for both modes.
fn others(
    circuit: &TrainCircuit,
    impaired: &[Impaired],
    leading: &[CommandedEffect],
) -> Result<Vec<CommandedEffect>, Missing> {
    let modes = [Mode::Service, Mode::Emergency];
    let places = modes.map(|mode| {
        let places = circuit.command_places(mode).into_iter();
        places.skip(1).collect::<Vec<_>>()
    });
    let mut effects = modes.map(|_| Vec::new());
    for place in 0..circuit.cars().len() {
        if !places.iter().any(|places| places.contains(&place)) {
            continue;
        }
        let Some(commanded) = Commanded::from(circuit, place) else {
            continue;
        };
        let state = commanded.circuit.impaired(impaired)?;
        for ((mode, places), effects) in modes.iter().zip(&places).zip(&mut effects) {
            if !places.contains(&place) {
                continue;
            }
            let mut leading = leading.iter().map(|one| &one.effect);
            let known = leading.find(|one| (one.mode, one.supply) == (*mode, Supply::Now));
            if !known.is_some_and(|known| does_the_same(&state, known)) {
                effects.push(commanded.of(effect(&state, *mode, Supply::Now)));
            }
        }
    }
    Ok(effects.concat())
}

fn percentage(
    question: &Question,
    commanded: &Commanded,
    (sound, left): (&Braked, &Braked),
) -> Result<Worked<BrakePercentage>, Missing> {
    let case = BrakingCase {
        mode: left.effect.mode,
        supply: left.effect.supply,
        brake_position: question.brake_position,
        load: question.load,
    };
    between(&commanded.circuit, case, (sound, left))
}

/// The brakes as forces. Which pressure a brake takes once its load signal is lost is not among
/// the data, so that there is no answer then.
fn forces_of(question: &Question, sound: &Braked, left: &Braked) -> Result<Forces, Missing> {
    match left.signals.first() {
        None => forces::forces(question, &sound.effect, &left.effect),
        Some(lost) => Err(Missing::one(
            "cylinder pressure without the load signal",
            format!("car {}, {}", lost.car_number, lost.position),
        )),
    }
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
