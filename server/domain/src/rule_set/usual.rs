//! What the operator takes as usual of a train and its way. A question that leaves such a field
//! open is answered with it, and the answer says that it was assumed. What no rule set calls
//! usual is never assumed.

use super::RuleSet;
use super::check::{Faults, fault};
use super::facts::{Movement, TrainKind, Whereabouts};
use crate::configuration::car_type::LoadState;
use crate::decision::asked::{GRADIENTS, HOLDING_ADHESIONS, SIGNALLING_DISTANCES};
use crate::units::{Distance, Gradient, Thousandths};
use crate::worked::Source;
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;

/// What a rule set takes as usual; none where it says nothing.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Usual {
    /// How the cars are loaded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load: Option<LoadState>,
    /// The steepest gradient of the way ahead; negative where it falls.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gradient: Option<Gradient>,
    /// The shortest distance in which a train must stop by the signals.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signalling_distance: Option<Distance>,
    /// Where the train is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub whereabouts: Option<Whereabouts>,
    /// What kind of train it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub train_kind: Option<TrainKind>,
    /// What it moves for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub movement: Option<Movement>,
    /// The most adhesion that a holding axle is taken to use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub holding_adhesion: Option<HoldingAdhesion>,
}

/// The most adhesion that a holding axle is taken to use: its force by its load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldingAdhesion {
    /// The adhesion.
    pub thousandths: Thousandths,
    /// Where it comes from.
    pub source: Source,
}

impl Usual {
    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Checks that what is usual can be asked about.
    pub(super) fn check(&self, faults: &mut Faults) {
        let mut within = |what: &str, value: Option<f64>, range: RangeInclusive<f64>| {
            if let Some(value) = value.filter(|value| !range.contains(value)) {
                let expected = format!("a number from {} to {}", range.start(), range.end());
                fault(faults, format!("usual {what} of {value}"), expected);
            }
        };
        let distance = self.signalling_distance.map(|distance| distance.0);
        within(
            "gradient in per mille",
            self.gradient.map(|of| of.0),
            GRADIENTS,
        );
        within(
            "signalling distance in metres",
            distance,
            SIGNALLING_DISTANCES,
        );
        let adhesion = self.holding_adhesion.as_ref();
        within(
            "holding adhesion",
            adhesion.map(|of| of.thousandths.real()),
            HOLDING_ADHESIONS,
        );
    }

    /// What some rule sets say together. Where two of them differ, neither holds.
    pub fn agreed(rule_sets: &[&RuleSet]) -> Self {
        Self {
            load: one_of(rule_sets, |usual| usual.load),
            gradient: one_of(rule_sets, |usual| usual.gradient),
            signalling_distance: one_of(rule_sets, |usual| usual.signalling_distance),
            whereabouts: one_of(rule_sets, |usual| usual.whereabouts),
            train_kind: one_of(rule_sets, |usual| usual.train_kind),
            movement: one_of(rule_sets, |usual| usual.movement),
            holding_adhesion: Self::holding_adhesion(rule_sets).cloned(),
        }
    }

    /// The holding adhesion that some rule sets say together, from whatever source, with that of
    /// the first.
    fn holding_adhesion<'r>(rule_sets: &[&'r RuleSet]) -> Option<&'r HoldingAdhesion> {
        let said = |set: &&'r RuleSet| set.usual.holding_adhesion.as_ref();
        let agreed = one_of(rule_sets, |usual| {
            usual.holding_adhesion.as_ref().map(|of| of.thousandths)
        });
        agreed.and_then(|_| rule_sets.iter().find_map(said))
    }

    /// Where an adhesion comes from that some rule sets say together.
    pub fn source_of(adhesion: Thousandths, rule_sets: &[&RuleSet]) -> Option<Source> {
        let said = Self::holding_adhesion(rule_sets);
        said.filter(|of| of.thousandths == adhesion)
            .map(|of| of.source.clone())
    }
}

fn one_of<T: PartialEq>(rule_sets: &[&RuleSet], field: fn(&Usual) -> Option<T>) -> Option<T> {
    let mut said = rule_sets.iter().filter_map(|set| field(&set.usual));
    let first = said.next()?;
    said.all(|other| other == first).then_some(first)
}
