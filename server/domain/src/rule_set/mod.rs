//! Rule sets: an operator's rules for running with isolated brakes, as data. No railway's rules
//! are code; a rule set has an issuer, a revision, a validity, and for each rule the place it
//! comes from. [`evaluate`] puts one to a train.

pub mod check;
pub mod consequence;
pub mod evaluate;
pub mod facts;
pub mod in_force;
pub mod measure;
pub mod requirement;
pub mod season;
pub mod usual;
pub mod verdict;
pub mod words;

pub use evaluate::evaluate;

use crate::identity::{Revision, RouteName, RuleSetName};
use crate::people::agreement::Agreement;
use crate::time::Day;
use crate::units::{Distance, Gradient, Speed};
use crate::worked::Source;
use facts::{Movement, TrainKind, Whereabouts};
use requirement::Requirement;
use season::Season;
use serde::{Deserialize, Serialize};
use usual::Usual;

/// An operator's rules for running with isolated brakes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RuleSet {
    /// Its name; with the revision it names one state of the rules.
    pub name: RuleSetName,
    /// Its revision.
    pub revision: Revision,
    /// Who issued it.
    pub issuer: String,
    /// What everybody must know who uses it: shown with every verdict.
    pub note: String,
    /// The first day of its validity.
    pub valid_from: Day,
    /// The last day of its validity, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valid_until: Option<Day>,
    /// The trains it was made for; any other gets no verdict.
    #[serde(default)]
    pub scope: Scope,
    /// What its issuer takes as usual of a train and its way.
    #[serde(default, skip_serializing_if = "Usual::is_empty")]
    pub usual: Usual,
    /// Its rules. All that apply hold together, the strictest deciding.
    pub rules: Vec<Rule>,
    /// The two people who agreed on it, where that was outside this register.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agreed: Option<Agreement>,
}

impl RuleSet {
    /// Whether it is valid on a day.
    pub fn is_valid_on(&self, day: Day) -> bool {
        self.valid_from <= day && self.valid_until.is_none_or(|until| day <= until)
    }

    /// The first day after one on which a season begins in which one of its rules holds, or has
    /// ended: from then on it may say something else of the same train.
    pub fn turns_after(&self, day: Day) -> Option<Day> {
        let seasons = self.rules.iter().filter_map(|rule| rule.only_if.in_season);
        seasons.filter_map(|season| season.turns_after(day)).min()
    }
}

/// One rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// What it is about, unique in its set.
    pub title: String,
    /// Where it comes from.
    pub source: Source,
    /// For which trains and places it holds.
    #[serde(default)]
    pub scope: Scope,
    /// Only from which hardship on it holds.
    #[serde(default)]
    pub only_if: OnlyIf,
    /// What it demands and what follows.
    pub requirement: Requirement,
}

/// For which trains and places something holds. An empty list means all.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Scope {
    /// Where the train is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub whereabouts: Vec<Whereabouts>,
    /// What kind of train.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kinds: Vec<TrainKind>,
    /// What for it moves.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub movements: Vec<Movement>,
}

/// From which hardship on a rule holds. A rule can only become stricter this way, never milder.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct OnlyIf {
    /// Only where the way ahead falls more steeply than this, a negative gradient.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub falls_steeper_than: Option<Gradient>,
    /// Only where the train may run faster than this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub faster_than: Option<Speed>,
    /// Only where there is further to go than this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub further_than: Option<Distance>,
    /// Only in this part of the year.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_season: Option<Season>,
    /// Only on these routes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub on_routes: Vec<RouteName>,
}

impl OnlyIf {
    /// Whether the rule holds whatever the hardship.
    pub fn is_always(&self) -> bool {
        *self == Self::default()
    }
}
