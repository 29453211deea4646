//! What still holds the train standing without anybody acting: the springs of each axle, and of
//! each axle no more than its adhesion holds, where an adhesion is given.

use super::Question;
use super::states::States;
use super::taken::whole;
use crate::braking::GRAVITY_M_S2;
use crate::braking::holding::{adhesion_holds, gradient_kept};
use crate::circuit::train::TrainCircuit;
use crate::isolation::effect::AxleForce;
use crate::rule_set::RuleSet;
use crate::rule_set::usual::Usual;
use crate::units::{Gradient, Kilograms, Kilonewtons, Thousandths};
use crate::worked::{Missing, Source, Step, Worked};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt::Write;

/// What still holds the train, before and after the cut-outs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Holding {
    /// The gradient kept with everything as it should be.
    pub before: Worked<Gradient>,
    /// The gradient kept as it is.
    pub after: Worked<Gradient>,
    /// The force that holds as it is.
    pub force: Kilonewtons,
    /// The mass that is held.
    pub mass: Kilograms,
    /// The adhesion that each axle is taken to use at most; none where none was given, and each
    /// axle counts with all its force, whatever the rail bears.
    pub adhesion: Option<Thousandths>,
}

/// As a decision keeps it: gradients in whole tenths of a per mille, as they are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundHolding {
    /// With nothing cut out and nothing missing.
    pub before: u32,
    /// As it is.
    pub after: u32,
}

impl From<&Holding> for FoundHolding {
    fn from(holding: &Holding) -> Self {
        let tenths = |gradient: Gradient| whole((gradient.0 * 10.0).round());
        Self {
            before: tenths(holding.before.value),
            after: tenths(holding.after.value),
        }
    }
}

/// The safety factor by which a train is taken to be held: none beyond the force itself. Rule
/// sets demand more by the gradient they ask for.
const HOLDING_FACTOR: f64 = 1.0;

/// The clause that limits the adhesion which parking brakes may be designed for.
const CLAUSE: &str = "Regulation (EU) 1302/2014, annex, 4.2.4.6.1";

/// The gradients that the spring-applied brakes keep. Of axles n log n.
pub(super) fn of(
    question: &Question,
    circuit: &TrainCircuit,
    states: &States,
    rule_sets: &[&RuleSet],
) -> Result<Holding, Missing> {
    let mass = question.mass()?;
    let adhesion = question.way.holding_adhesion;
    let limit = adhesion.map(|adhesion| (adhesion, source(adhesion, rule_sets)));
    let held = |axles: &[AxleForce]| {
        let (force, mut steps) = force(question, axles, limit.as_ref());
        let mut kept = gradient_kept(force, mass, HOLDING_FACTOR)?;
        steps.append(&mut kept.steps);
        let value = kept.value;
        Ok((force, Worked { value, steps }))
    };
    let (_, before) = held(&states.sound_held.held_by_axle(circuit))?;
    let (force, after) = held(&states.held().held_by_axle(circuit))?;
    Ok(Holding {
        before,
        after,
        force,
        mass,
        adhesion,
    })
}

/// Where the adhesion comes from: the rule sets, or whoever asks.
fn source(adhesion: Thousandths, rule_sets: &[&RuleSet]) -> Source {
    let asked = || Source::Operator("adhesion given with the question".to_owned());
    Usual::source_of(adhesion, rule_sets).unwrap_or_else(asked)
}

/// The share of an axle in the mass of its car, equal to that of the others.
fn load(question: &Question, car: usize) -> Option<Kilograms> {
    let car_type = question.cars.get(car)?.circuit.car_type();
    let axles = i64::try_from(car_type.axles().count()).ok()?;
    let mass = car_type.mass(question.load)?;
    Some(Kilograms(mass.0.checked_div(axles)?))
}

fn kilonewtons(newtons: u64) -> Kilonewtons {
    Kilonewtons(newtons as f64 / 1000.0)
}

/// The force that holds at these axles together, with its steps: one for all axles that are
/// limited alike.
fn force(
    question: &Question,
    axles: &[AxleForce],
    limit: Option<&(Thousandths, Source)>,
) -> (Kilonewtons, Vec<Step>) {
    let springs: u64 = axles.iter().map(|axle| axle.newtons).sum();
    let Some((adhesion, source)) = limit else {
        return (kilonewtons(springs), vec![unlimited(springs)]);
    };
    // Axles that can hold with less than their springs press, by their load and springs.
    let mut limited: BTreeMap<(i64, u64), Vec<&AxleForce>> = BTreeMap::new();
    let mut unlimited = 0;
    let mut force = 0.0;
    for axle in axles {
        let own = kilonewtons(axle.newtons);
        let load = axle.axle.and_then(|_| load(question, axle.car));
        let holds = load.map(|load| (load, adhesion_holds(load, *adhesion)));
        match holds {
            Some((load, most)) if most < own => {
                limited
                    .entry((load.0, axle.newtons))
                    .or_default()
                    .push(axle);
                force += most.0;
            }
            Some(_) => force += own.0,
            None => {
                unlimited += axle.newtons;
                force += own.0;
            }
        }
    }
    let mut steps: Vec<Step> = limited
        .iter()
        .map(|((load, newtons), axles)| {
            let springs = kilonewtons(*newtons);
            limited_step(
                question,
                axles,
                (Kilograms(*load), springs),
                (*adhesion, source),
            )
        })
        .collect();
    let force = Kilonewtons(force);
    let rest = match (limited.is_empty(), unlimited) {
        (true, 0) => format!("no axle holds with more than {adhesion} of its load"),
        (_, 0) => format!("after the limit of {adhesion}"),
        (_, newtons) => format!(
            "of which {:.2} on no known axle, not limited by adhesion",
            kilonewtons(newtons)
        ),
    };
    steps.push(Step {
        what: "holding force".into(),
        working: format!(
            "springs {:.2}; holding {force:.2}: {rest}",
            kilonewtons(springs)
        ),
        source: source.clone(),
    });
    (force, steps)
}

fn unlimited(springs: u64) -> Step {
    let working = format!(
        "springs {:.2}; not limited by adhesion, since neither the question nor a rule set gives \
         one: what the rails bear may be less, and this answer does not know it",
        kilonewtons(springs)
    );
    Step::published("holding force", working, CLAUSE)
}

fn limited_step(
    question: &Question,
    axles: &[&AxleForce],
    (load, springs): (Kilograms, Kilonewtons),
    (adhesion, source): (Thousandths, &Source),
) -> Step {
    let mut working = String::new();
    let mut last = None;
    for axle in axles {
        let number = axle.axle.unwrap_or_default();
        // Writing to a string cannot fail.
        let _ = match question.cars.get(axle.car) {
            Some(car) if last != Some(axle.car) => {
                let comma = if last.is_some() { "; " } else { "" };
                write!(working, "{comma}car {} axle {number}", car.number)
            }
            _ => write!(working, ", {number}"),
        };
        last = Some(axle.car);
    }
    let _ = write!(
        working,
        ": springs {springs:.2} each; {adhesion} · {load} · {GRAVITY_M_S2} m/s² = {:.2} each, its share of \
         the car's mass equal to that of the others",
        adhesion_holds(load, adhesion)
    );
    Step {
        what: "limited by adhesion".into(),
        working,
        source: source.clone(),
    }
}
