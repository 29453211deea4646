//! A decision as an authorised person took it: about which train, on which question, by which
//! rule set, what the register found then, who decided and who was told. Kept for ever, so it
//! holds whole numbers and words only; what was found is worked out again before it is recorded.

use super::answer::Answer;
use super::asked::{AskedField, Words};
use super::holding::FoundHolding;
use super::stored::{FoundStored, StoredIn};
use super::told::Told;
use super::{Decision, RuleSetAnswer, TrainCar};
use crate::braking::percentage::Percentage;
use crate::circuit::state::Impairment;
use crate::configuration::car::Orientation;
use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, CarTypeName, PersonName, Revision, RuleSetName, TrainId};
use crate::isolation::CutOutState;
use crate::isolation::tally::{Counts, Share};
use crate::ledger::entry::Seq;
use crate::rule_set::consequence::{Destination, PassengerRestriction};
use crate::rule_set::verdict::{AppliedRule, Imposed, ImposedSpeed, Permission};
use crate::units::{Distance, Kilograms, Speed};
use crate::worked::{Missing, MissingFact};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A decision about a train as it stood; never about a what-if.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DecisionTaken {
    /// The train.
    pub train: TrainId,
    /// The entry that formed it as it was.
    pub formed_by: Seq,
    /// The rule set by which it was decided.
    pub rule_set: RuleSetName,
    /// Its revision.
    pub revision: Revision,
    /// What was asked, field by field; blank where it was said not to be known.
    pub asked: BTreeMap<AskedField, String>,
    /// The fields that nobody gave and that were assumed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<AskedField>,
    /// What the register found.
    pub found: Found,
    /// Who decided.
    pub decided_by: PersonName,
    /// Who was told, and when.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub told: Vec<Told>,
}

/// What the register found of a train by one rule set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Found {
    /// The cars from the first in the direction of travel.
    pub cars: Vec<DecidedCar>,
    /// The cut-outs in force, in the order of the train.
    pub cut_outs: Vec<DecidedCutOut>,
    /// How many positions held no component.
    #[serde(default, skip_serializing_if = "is_nought")]
    pub vacant: usize,
    /// The axles whose air brake does not fully work in emergency braking, car by car.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lost: Vec<LostAxles>,
    /// How many axles, bogies and cars brake fully in emergency braking.
    pub operative: FoundCounts,
    /// The brake percentage in emergency braking, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub percentage: Option<FoundPercentage>,
    /// The gradient that the springs keep the standing train on, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holding: Option<FoundHolding>,
    /// The reservoirs that may still hold air though nothing feeds them, in the order of the train.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stored: Vec<FoundStored>,
    /// Whether the train may run.
    pub permission: Permission,
    /// Under which restrictions.
    #[serde(default)]
    pub restrictions: FoundRestrictions,
    /// The rules that were applied, the strictest first.
    pub rules: Vec<FoundRule>,
    /// What must be said with the verdict.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// What must be known beside the verdict: brakes that drag, functions that are lost, what
    /// the verdict becomes once stored air is used up, what another rule set in force says that is
    /// stricter.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

/// Axles of a car, by their numbers from end 1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LostAxles {
    /// The car.
    pub car: CarNumber,
    /// The axles.
    pub axles: Vec<u8>,
}

/// How many of how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfAll {
    /// Those that brake fully.
    pub operative: u32,
    /// All that have a brake.
    pub total: u32,
}

/// Counts side by side, since rule sets count differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundCounts {
    /// By axle.
    pub axles: OfAll,
    /// By bogie.
    pub bogies: OfAll,
    /// By car.
    pub cars: OfAll,
}

/// A rule that was applied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundRule {
    /// What it is about.
    pub title: String,
    /// Whether the train may run by it.
    pub permission: Permission,
    /// What was found, with the numbers.
    pub working: String,
    /// Where it comes from.
    pub source: String,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_nought(count: &usize) -> bool {
    *count == 0
}

/// A car of the train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DecidedCar {
    /// Its number.
    pub number: CarNumber,
    /// Which way it stood.
    pub orientation: Orientation,
    /// Its type.
    pub car_type: CarTypeName,
    /// The baseline revision in force for it.
    pub revision: Revision,
}

/// A cut-out in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DecidedCutOut {
    /// Where.
    #[serde(flatten)]
    pub at: PositionRef,
    /// In which state.
    pub state: CutOutState,
}

/// Brake percentages as braked weights over one mass, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundPercentage {
    /// The mass of the train.
    pub mass: Kilograms,
    /// The braked weight with nothing cut out and nothing missing.
    pub before: Kilograms,
    /// As it is.
    pub after: Kilograms,
    /// Once stored air is used up, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub later: Option<Kilograms>,
}

impl FoundPercentage {
    /// A braked weight as a percentage of the mass.
    pub fn of(&self, braked_weight: Kilograms) -> Option<Percentage> {
        Percentage::new(braked_weight, self.mass).ok()
    }
}

/// Restrictions as they were told: whole kilometres an hour and whole metres.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct FoundRestrictions {
    /// The greatest speed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed: Option<FoundSpeed>,
    /// Where passengers may not be.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub passengers: Option<PassengerRestriction>,
    /// How far at most, in metres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_max_m: Option<u32>,
    /// Where to at the furthest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub destination: Option<Destination>,
    /// What else must be done.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub conditions: Vec<String>,
    /// Who must be told.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tell: Vec<String>,
}

/// A cap of the speed as it was told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundSpeed {
    /// In whole km/h, rounded down.
    pub km_h: u32,
    /// How it came about.
    pub words: String,
}

/// A positive number rounded down; what is out of range is its end.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range before"
)]
pub(super) fn whole(number: f64) -> u32 {
    number.floor().clamp(0.0, f64::from(u32::MAX)) as u32
}

impl From<&Imposed> for FoundRestrictions {
    fn from(imposed: &Imposed) -> Self {
        let speed = imposed.speed.as_ref().map(|cap| FoundSpeed {
            km_h: whole(cap.speed.0),
            words: cap.words.clone(),
        });
        Self {
            speed,
            passengers: imposed.passengers,
            distance_max_m: imposed.distance_max.map(|distance| whole(distance.0)),
            destination: imposed.destination.clone(),
            conditions: imposed.conditions.clone(),
            tell: imposed.tell.clone(),
        }
    }
}

impl From<&FoundRestrictions> for Imposed {
    fn from(found: &FoundRestrictions) -> Self {
        let speed = found.speed.as_ref().map(|cap| ImposedSpeed {
            speed: Speed(f64::from(cap.km_h)),
            words: cap.words.clone(),
        });
        Self {
            speed,
            passengers: found.passengers,
            distance_max: found.distance_max_m.map(|m| Distance(f64::from(m))),
            destination: found.destination.clone(),
            conditions: found.conditions.clone(),
            tell: found.tell.clone(),
        }
    }
}

impl DecisionTaken {
    /// The question in words, for asking it again.
    pub fn words(&self) -> Words {
        let mut words = Words::default();
        for (field, text) in &self.asked {
            words.put(*field, text);
        }
        words
    }
}

impl Answer {
    /// The words of the question, those that were assumed included.
    pub fn asked(&self) -> BTreeMap<AskedField, String> {
        let given = |field: &AskedField| Some((*field, self.words.get(*field)?.to_owned()));
        AskedField::ALL.iter().filter_map(given).collect()
    }

    /// What is found by one rule set; nothing where it gives no verdict.
    pub fn found(&self, rule_set: &RuleSetName) -> Result<Found, Missing> {
        let decision = self.decision.as_ref().map_err(Clone::clone)?;
        let mut verdicts = decision.verdicts.iter();
        let answer = verdicts.find(|answer| answer.name == *rule_set);
        let answer = answer.ok_or_else(|| {
            Missing(vec![MissingFact {
                what: "rule set in force".to_owned(),
                of: rule_set.to_string(),
            }])
        })?;
        let verdict = &answer.verdict.as_ref().map_err(Clone::clone)?.value;
        let (cut_outs, vacant) = impaired(&self.cars, decision);
        let counts = &decision.emergency().counts;
        Ok(Found {
            cars: self.cars.iter().map(decided_car).collect(),
            cut_outs,
            vacant,
            lost: lost(&self.cars, counts),
            operative: FoundCounts {
                axles: of_all(counts.axles),
                bogies: of_all(counts.bogies),
                cars: of_all(counts.cars),
            },
            percentage: percentages(decision),
            holding: decision.holding.as_ref().ok().map(FoundHolding::from),
            stored: self.stored_air(&[]).iter().map(StoredIn::found).collect(),
            permission: verdict.permission,
            restrictions: (&verdict.restrictions).into(),
            rules: verdict.applied.iter().map(found_rule).collect(),
            cautions: verdict.cautions.clone(),
            warnings: warnings(decision, answer),
        })
    }
}

fn warnings(decision: &Decision, answer: &RuleSetAnswer) -> Vec<String> {
    let later = answer.later_in_full().map(|words| format!("{words}."));
    let others = decision.strictest_first().into_iter();
    let stricter = others.filter_map(|other| answer.stricter_words(other));
    let warnings = decision.warnings().into_iter().map(|warning| warning.text);
    later.into_iter().chain(stricter).chain(warnings).collect()
}

fn of_all(share: Share) -> OfAll {
    OfAll {
        operative: share.operative,
        total: share.total,
    }
}

fn lost(cars: &[TrainCar], counts: &Counts) -> Vec<LostAxles> {
    let of_car = |(place, car): (usize, &TrainCar)| {
        let axles = counts.each_axle.iter();
        let lost = axles.filter(|axle| axle.car == place && !axle.tally.is_operative());
        LostAxles {
            car: car.number.clone(),
            axles: lost.map(|axle| axle.number).collect(),
        }
    };
    let all = cars.iter().enumerate().map(of_car);
    all.filter(|lost| !lost.axles.is_empty()).collect()
}

fn found_rule(applied: &AppliedRule) -> FoundRule {
    FoundRule {
        title: applied.title.clone(),
        permission: applied.permission,
        working: applied.working.clone(),
        source: applied.source.to_string(),
    }
}

fn decided_car(car: &TrainCar) -> DecidedCar {
    let car_type = car.circuit.car_type();
    DecidedCar {
        number: car.number.clone(),
        orientation: car.orientation,
        car_type: car_type.name.clone(),
        revision: car_type.revision.clone(),
    }
}

fn impaired(cars: &[TrainCar], decision: &Decision) -> (Vec<DecidedCutOut>, usize) {
    let mut cut_outs = Vec::new();
    let mut vacant = 0;
    for one in &decision.impaired {
        match (one.by, cars.get(one.car)) {
            (Impairment::CutOut(state), Some(car)) => {
                let at = PositionRef {
                    car: car.number.clone(),
                    position: one.position.clone(),
                };
                cut_outs.push(DecidedCutOut { at, state });
            }
            _ => vacant += 1,
        }
    }
    (cut_outs, vacant)
}

fn percentages(decision: &Decision) -> Option<FoundPercentage> {
    let now = decision.percentage.as_ref().ok()?.value;
    let later = decision.percentage_later.as_ref().ok();
    Some(FoundPercentage {
        mass: now.after.mass(),
        before: now.before.braked_weight(),
        after: now.after.braked_weight(),
        later: later.map(|worked| worked.value.after.braked_weight()),
    })
}
