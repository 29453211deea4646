//! A decision as an authorised person took it: about which train, on which question, by which
//! rule set, what the register found then, who decided and who was told. Kept for ever, so it
//! holds whole numbers and words only; what was found is worked out again before it is recorded.

mod finding;

use super::Since;
use super::asked::{AskedField, Words};
use super::holding::FoundHolding;
use super::stored::FoundStored;
use super::told::Told;
use crate::braking::percentage::Percentage;
use crate::configuration::car::Orientation;
use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, CarTypeName, PersonName, Revision, RuleSetName, TrainId};
use crate::isolation::CutOutState;
use crate::ledger::entry::Seq;
use crate::rule_set::consequence::{CabRestriction, Destination, PassengerRestriction};
use crate::rule_set::verdict::{Imposed, ImposedSpeed, Permission};
use crate::time::Instant;
use crate::units::{Distance, Kilograms, Speed};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

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
    /// Which those are; none in decisions taken before they were kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub vacant_at: Vec<PositionRef>,
    /// The axles whose air brake does not fully work in emergency braking, car by car.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lost: Vec<LostAxles>,
    /// How many axles, bogies and cars brake fully in emergency braking.
    pub operative: FoundCounts,
    /// The same in service braking; none in decisions taken before it was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_service: Option<FoundInMode>,
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
    /// What the verdict becomes once stored air is used up, where that is something else. Earlier
    /// decisions have it first among the warnings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub later: Option<String>,
    /// Until when the stored air that brakes live on is counted as it was; none where none is that
    /// a cut-out keeps from its source, and in decisions taken before it was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted_until: Option<Instant>,
    /// At how many places the cars depart from their baselines with no concession, of which the
    /// warnings tell. None in decisions taken before it was counted: what is recorded of such places
    /// does not make these void, as it did not when it was recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub departing: Option<usize>,
    /// The cars of which a test was failed and not passed since, of which the warnings tell. None in
    /// decisions taken before that was told: tests make these not void.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub failed_tests: Option<BTreeSet<CarNumber>>,
    /// The cars of which work is due at once since something was touched, of which the warnings tell.
    /// None in decisions taken before that was told: work done makes these not void.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_at_once: Option<BTreeSet<CarNumber>>,
    /// What must be known beside the verdict: brakes that drag, functions that are lost, what
    /// another rule set in force says that is stricter.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
    /// What was overdue on the cars, to be known beside the verdict as well; none where nothing was,
    /// and in decisions taken before that was told. Work that is done does not make it void.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overdue: Option<String>,
    /// The cars on which work was due at once on what is fitted to them. None in decisions taken before
    /// that was told: tests of it and work done on it make these not void.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_on_fitted: Option<BTreeSet<CarNumber>>,
    /// The same in one line, to be known beside the verdict as well; none where nothing was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_at_once_fitted: Option<String>,
    /// Which components were to be judged again, to be known beside the verdict as well; none where none
    /// were, and in decisions taken before that was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub judge_again: Option<String>,
}

impl Found {
    /// All that must be known beside the verdict, what is due at once on what is fitted, what is overdue
    /// and what is to be judged again last.
    pub fn beside(&self) -> impl Iterator<Item = &String> {
        let last = self.due_at_once_fitted.iter().chain(&self.overdue);
        self.warnings.iter().chain(last).chain(&self.judge_again)
    }
}

/// What works in one mode of braking.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FoundInMode {
    /// The axles whose air brake does not fully work, car by car.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lost: Vec<LostAxles>,
    /// How many axles, bogies and cars brake fully.
    pub operative: FoundCounts,
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
    /// Since when; none in decisions taken before it was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<Since>,
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
    /// From which cab it may be driven.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cab: Option<CabRestriction>,
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
            cab: imposed.cab,
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
            cab: found.cab,
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
