//! May this train run? From the formation and what is cut out to the effect, the brake
//! percentage, the stopping distance by each method, what still holds, and the verdict of each
//! rule set. Nothing is typed in: everything follows from the circuits, the assessed values and
//! the rule sets, and a fact that is lacking gives no answer to what needs it.

pub mod answer;
pub mod asked;
mod behind;
mod brakes;
mod charged;
pub mod check_code;
pub mod checks;
pub mod conceded;
mod counted;
pub mod due_at_once;
mod facts;
pub mod failed_test;
pub mod follow_up;
pub mod forces;
pub mod formation;
pub mod further;
mod holding;
pub mod instruction;
mod joined;
pub mod judge_again;
pub mod not_conceded;
mod not_counted;
mod on_demand;
pub mod onward;
mod order;
pub mod overdue;
mod pads;
pub mod performance;
pub mod permitted;
mod pressures;
mod question;
mod re_armed;
pub mod seen;
pub mod seen_free;
pub mod shortcoming;
mod states;
mod stopping;
pub mod stored;
pub mod supposed;
pub mod taken;
pub mod told;
pub mod trial;
mod unfed;
mod unweighed;
pub mod warning;
mod warning_kind;

pub use holding::Holding;
pub use not_counted::{NotCounted, PressureRead, Spent, counted_until};
pub use order::Urgency;
pub use question::{CutOutInTrain, Question, Since, TrainCar, Way};
pub use stopping::{FromLower, METHODS, Stopping, StoppingPair};
pub use supposed::Supposed;

use crate::braking::percentage::Percentage;
use crate::circuit::state::Impaired;
use crate::configuration::car_type::{BrakePosition, PositionKind};
use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, Revision, RuleSetName};
use crate::isolation::Supply;
use crate::isolation::brake_percentage::{BrakePercentage, Braked, Facts};
use crate::isolation::effect::Effect;
use crate::isolation::load_signal::{LostLoadSignal, lost_load_signals};
use crate::isolation::part_state::{NotReleased, PartReport, not_released, part_states};
use crate::isolation::slide_protection::{UnprotectedAxle, unprotected_axles};
use crate::isolation::suspension::LostLevelling;
use crate::rule_set::facts::{Operative, TrainFacts};
use crate::rule_set::verdict::{Imposed, Permission, Verdict};
use crate::rule_set::{RuleSet, evaluate};
use crate::time::Instant;
use crate::units::{Kilograms, Speed};
use crate::words::word_list;
use crate::worked::{Missing, MissingFact, Worked};
use behind::Behind;
use brakes::{EMERGENCY_NOW, SERVICE_NOW};
use checks::{Check, checks, cut_outs};
use conceded::ConcededInTrain;
use due_at_once::DueAtOnceInTrain;
use failed_test::FailedTestInTrain;
use forces::Forces;
use instruction::{Instruction, instructions};
use judge_again::JudgeAgainInTrain;
use not_conceded::NotConcededInTrain;
use overdue::OverdueInTrain;
use seen_free::BrakeSeenFree;
use serde::Serialize;
use shortcoming::ShortcomingInTrain;
use std::collections::BTreeMap;
use stopping::Side;

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
    /// What it says once stored air is used up, where that is something else.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub later: Option<Later>,
}

/// What a rule set says once stored air is used up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Later {
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
    /// The places that hold nothing, in the order of the train.
    #[serde(skip)]
    pub(crate) vacant: Vec<PositionRef>,
    /// The effects from the leading place of command: service and emergency, now and with
    /// stored air used up, and holding.
    pub effects: Vec<CommandedEffect>,
    /// The effects now from the other places of command, where they differ.
    pub elsewhere: Vec<CommandedEffect>,
    /// The brakes that might drag by what is cut out and were seen free: they are told not to.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seen_free: Vec<BrakeSeenFree>,
    /// The reservoirs whose air is not counted, since nothing feeds them for longer than it lasts or
    /// they are told as emptied: what lives on them is told of now as it is once stored air is used up.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub spent: Vec<Spent>,
    /// Until when the other air is counted as stored; none where it stays as it is counted here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_until: Option<Instant>,
    /// The brake percentage in emergency braking, now.
    #[serde(with = "crate::worked::answer")]
    pub percentage: Result<Worked<BrakePercentage>, Missing>,
    /// The same once stored air is used up.
    #[serde(with = "crate::worked::answer")]
    pub percentage_later: Result<Worked<BrakePercentage>, Missing>,
    /// Stopping distances, each method by itself.
    pub stopping: Vec<StoppingPair>,
    /// The same once stored air is used up, by each method by which that is something else.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stopping_later: Vec<StoppingPair>,
    /// What the brakes are worth as forces, in emergency braking, now.
    #[serde(with = "crate::worked::answer")]
    pub forces: Result<Forces, Missing>,
    /// What holds the train.
    #[serde(with = "crate::worked::answer")]
    pub holding: Result<Holding, Missing>,
    /// How many positions of each kind do their work, over the whole train.
    pub equipment: BTreeMap<PositionKind, Operative>,
    /// Load signals that are lost in emergency braking, now or once stored air is used up.
    pub load_signals: Vec<LostLoadSignal>,
    /// Levelling valves of the air suspension without air, now or once stored air is used up.
    pub levelling: Vec<LostLevelling>,
    /// Axles with no protection against sliding, of those that had it.
    pub unprotected: Vec<UnprotectedAxle>,
    /// What is fitted and yet is not as it must be, in the order of the train.
    pub shortcomings: Vec<ShortcomingInTrain>,
    /// What stands on the cars under concessions, in the order of the train.
    pub conceded: Vec<ConcededInTrain>,
    /// What departs on the cars from their baselines with no concession, and is not told otherwise,
    /// in the order of the train.
    pub not_conceded: Vec<NotConcededInTrain>,
    /// Tests of the cars that were failed and not passed since, in the order of the train.
    pub failed_tests: Vec<FailedTestInTrain>,
    /// Work that is due at once on the cars, since something was touched, and on what is fitted to them,
    /// since that failed, in the order of the train.
    pub due_at_once: Vec<DueAtOnceInTrain>,
    /// The cars of which work is overdue or was not looked at, in the order of the train.
    pub overdue: Vec<OverdueInTrain>,
    /// Components that are to be judged again, in the order of the train; of a past time not looked at.
    pub judge_again: Vec<JudgeAgainInTrain>,
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

    /// The effect in service braking now, from the leading place of command.
    pub(crate) fn service(&self) -> &Effect {
        &self.effects[SERVICE_NOW].effect
    }

    /// What each brake must show with nothing commanded.
    pub fn part_states(&self) -> Vec<PartReport> {
        part_states(self.service(), self.emergency())
    }

    /// The brakes that must not show released, in groups that must show the same.
    pub fn not_released(&self) -> Vec<NotReleased> {
        not_released(&self.part_states())
    }
}

/// Answers a question about a train under some rule sets. No answer at all where the formation
/// or a cut-out cannot be found in the circuits. Linear in nodes, lines and impairments.
pub fn decide(question: &Question, rule_sets: &[&RuleSet]) -> Result<Decision, Missing> {
    let circuit = question.circuit()?;
    let impaired = question.impaired();
    let marked = circuit.marked(&question.with_open_ends(&circuit)?)?;
    let (states, seen_free, unfed) = counted::states(question, &marked)?;
    let ([sound_now, sound_later], [braked_now, braked_later]) = (&states.sound, &states.braked);
    let weighed = Facts::gather(&circuit, question.brake_position, question.load);
    let percentage = |supply, braked: (&Braked, &Braked)| {
        let weighed = weighed.as_ref().map_err(Clone::clone)?;
        weighed.percentage(supply, braked).map(|p| unfed.told_in(p))
    };
    let percentage_later = percentage(Supply::Exhausted, (sound_later, braked_later));
    let percentage = percentage(Supply::Now, (sound_now, braked_now));
    let holding = holding::of(question, &circuit, &states, rule_sets);
    let forces = forces::forces(question, &circuit, (sound_now, braked_now));
    let stopping = stopping::pairs(question, sides(&percentage, &forces));
    let unprotected = unprotected_axles(&circuit, &impaired);
    let equipment = facts::equipment(question, &impaired, &marked);
    let told = |supply, percentage| {
        let found = facts::Found {
            circuit: &circuit,
            equipment: &equipment,
            states: &states,
            supply,
            percentage,
            holding: &holding,
            unprotected: &unprotected,
        };
        facts::train_facts(question, &found)
    };
    let fades = states.fade() || left(&percentage) != left(&percentage_later);
    let later = fades.then(|| told(Supply::Exhausted, &percentage_later));
    let then = (&percentage_later, braked_later);
    let stopping_later = fades.then(|| stopping::later(question, &circuit, &stopping, then));
    let places = cut_outs(question);
    let behind = Behind::of((question, &places), (&marked, &states), unfed.stored);
    Ok(Decision {
        verdicts: answers(rule_sets, &told(Supply::Now, &percentage), later.as_ref()),
        checks: checks(question, &places, &behind),
        instructions: instructions(question, &places, &behind),
        standing: question.standing(),
        way: question.way.clone(),
        speed_max: question.speed_max(),
        load_signals: lost_load_signals(&braked_now.signals, &braked_later.signals),
        levelling: states.levelling,
        effects: states.effects,
        elsewhere: states.elsewhere,
        seen_free,
        impaired,
        vacant: question.vacant(),
        spent: unfed.spent,
        counted_until: unfed.counted_until,
        percentage,
        percentage_later,
        stopping,
        stopping_later: stopping_later.unwrap_or_default(),
        forces,
        holding,
        equipment,
        unprotected,
        shortcomings: question.shortcomings(),
        conceded: question.conceded(),
        not_conceded: question.not_conceded(),
        failed_tests: question.failed_tests(),
        due_at_once: question.due_at_once(),
        overdue: question.overdue(),
        judge_again: question.judge_again(),
    })
}

/// The percentage that is left, where it is known: the same brakes may brake less without a load signal.
fn left(percentage: &Result<Worked<BrakePercentage>, Missing>) -> Option<Percentage> {
    let worked = percentage.as_ref().ok()?;
    Some(worked.value.after)
}

/// The brakes of the train as it should be and as it is, as methods of stopping know them.
fn sides<'a>(
    percentage: &'a Result<Worked<BrakePercentage>, Missing>,
    forces: &'a Result<Forces, Missing>,
) -> [Side<'a>; 2] {
    let percentage = percentage.as_ref().map(|worked| worked.value);
    let forces = forces.as_ref();
    [
        Side {
            percentage: percentage.map(|both| both.before),
            retarding: forces.map(|both| &both.before),
        },
        Side {
            percentage: percentage.map(|both| both.after),
            retarding: forces.map(|both| &both.after),
        },
    ]
}

fn answers(
    rule_sets: &[&RuleSet],
    facts: &TrainFacts,
    later: Option<&TrainFacts>,
) -> Vec<RuleSetAnswer> {
    let rule_sets = rule_sets.iter();
    rule_sets.map(|rules| answer(rules, facts, later)).collect()
}

fn answer(rules: &RuleSet, facts: &TrainFacts, later: Option<&TrainFacts>) -> RuleSetAnswer {
    let verdict = evaluate(rules, facts);
    let later = later.map(|facts| evaluate(rules, facts));
    let later = later.filter(|later| said(later) != said(&verdict));
    RuleSetAnswer {
        name: rules.name.clone(),
        revision: rules.revision.clone(),
        verdict,
        later: later.map(|verdict| Later { verdict }),
    }
}

/// What a driver is told of it: of a train that may not run, that alone.
fn said(
    verdict: &Result<Worked<Verdict>, Missing>,
) -> Result<(Permission, Option<&Imposed>), &Missing> {
    let verdict = verdict.as_ref().map(|worked| &worked.value)?;
    let runs = verdict.permission != Permission::MayNotRun;
    Ok((verdict.permission, runs.then_some(&verdict.restrictions)))
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
