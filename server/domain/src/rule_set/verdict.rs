//! The answer of a rule set: whether the train may run, under which restrictions, and every rule
//! that led there, the strictest first.

use super::consequence::{CabRestriction, Destination, PassengerRestriction};
use crate::identity::{Revision, RuleSetName};
use crate::units::{Distance, Speed};
use crate::words::word_list;
use crate::worked::Source;
use serde::Serialize;
use std::cmp::Ordering;
use std::fmt;

word_list! {
    /// Whether a train may run, strictest first.
    Permission, "permission" {
        /// It may not run.
        MayNotRun = "may_not_run",
        /// It may run with restrictions.
        WithRestrictions = "with_restrictions",
        /// It may run.
        MayRun = "may_run",
    }
}

impl Permission {
    /// As it is told to people.
    pub const fn headline(self) -> &'static str {
        match self {
            Self::MayNotRun => "May not run",
            Self::WithRestrictions => "May run with restrictions",
            Self::MayRun => "May run",
        }
    }
}

/// A cap of the speed as it holds for the train.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ImposedSpeed {
    /// The speed, exact.
    pub speed: Speed,
    /// How it came about: "20 mph", "50 % of 127.1 km/h = 63.57 km/h".
    pub words: String,
}

impl ImposedSpeed {
    /// The speed to be told to the driver: whole km/h, rounded down.
    pub fn whole_km_h(&self) -> Speed {
        Speed(self.speed.0.floor())
    }

    /// The lower of two caps.
    #[must_use]
    pub fn least(self, other: Self) -> Self {
        if other.speed < self.speed {
            other
        } else {
            self
        }
    }
}

impl fmt::Display for ImposedSpeed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} ({})", self.whole_km_h(), self.words)
    }
}

/// The restrictions as they hold for the train.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Imposed {
    /// The greatest speed.
    pub speed: Option<ImposedSpeed>,
    /// Where passengers may not be.
    pub passengers: Option<PassengerRestriction>,
    /// From which cab it may be driven.
    pub cab: Option<CabRestriction>,
    /// How far at most.
    pub distance_max: Option<Distance>,
    /// Where to at the furthest.
    pub destination: Option<Destination>,
    /// What else must be done.
    pub conditions: Vec<String>,
    /// Who must be told.
    pub tell: Vec<String>,
}

impl Imposed {
    /// Both restrictions together: of each kind the stricter, of conditions and people all. Of
    /// two destinations the nearer kind holds; of two of one kind the first.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let destinations = self.destination.into_iter().chain(other.destination);
        let distances = self.distance_max.into_iter().chain(other.distance_max);
        let speeds = self.speed.into_iter().chain(other.speed);
        Self {
            speed: speeds.reduce(ImposedSpeed::least),
            passengers: self.passengers.max(other.passengers),
            cab: self.cab.max(other.cab),
            distance_max: distances.reduce(|a, b| if b < a { b } else { a }),
            destination: destinations.min_by_key(|destination| destination.kind),
            conditions: united(self.conditions, other.conditions),
            tell: united(self.tell, other.tell),
        }
    }

    fn speed_or_infinite(&self) -> f64 {
        self.speed.as_ref().map_or(f64::INFINITY, |cap| cap.speed.0)
    }
}

fn united(mut first: Vec<String>, second: Vec<String>) -> Vec<String> {
    for text in second {
        if !first.contains(&text) {
            first.push(text);
        }
    }
    first
}

/// A rule that was applied.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AppliedRule {
    /// What it is about.
    pub title: String,
    /// Where it comes from.
    pub source: Source,
    /// What was found, with the numbers.
    pub working: String,
    /// Whether the train may run by this rule.
    pub permission: Permission,
    /// Under which restrictions.
    pub restrictions: Imposed,
}

impl AppliedRule {
    /// Stricter rules before milder: by permission, then speed, passengers, destination and cab.
    pub fn strictest_first(&self, other: &Self) -> Ordering {
        let (a, b) = (&self.restrictions, &other.restrictions);
        let destination = |imposed: &Imposed| imposed.destination.as_ref().map(|d| d.kind);
        let nearer = match (destination(a), destination(b)) {
            (Some(a), Some(b)) => a.cmp(&b),
            (a, b) => b.cmp(&a),
        };
        self.permission
            .cmp(&other.permission)
            .then_with(|| a.speed_or_infinite().total_cmp(&b.speed_or_infinite()))
            .then_with(|| b.passengers.cmp(&a.passengers))
            .then(nearer)
            .then_with(|| b.cab.cmp(&a.cab))
    }
}

/// The answer of a rule set for a train. It is advice to the authorised person, who decides.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// Which rule set.
    pub rule_set: RuleSetName,
    /// Which revision of it.
    pub revision: Revision,
    /// Who issued it.
    pub issuer: String,
    /// Whether the train may run.
    pub permission: Permission,
    /// All restrictions together; where the train may not run they say what else was found and
    /// who must be told.
    pub restrictions: Imposed,
    /// Every rule that was applied, the strictest first.
    pub applied: Vec<AppliedRule>,
    /// How many rules the set has, with those that do not apply or could not be judged.
    pub rules: usize,
    /// What must be said with the verdict.
    pub cautions: Vec<String>,
}

impl Verdict {
    /// Whether this verdict is at least as strict as another, in permission, speed, passengers and cab.
    pub fn is_at_least_as_strict_as(&self, other: &Self) -> bool {
        at_least_as_strict(
            (self.permission, &self.restrictions),
            (other.permission, &other.restrictions),
        )
    }
}

/// Whether the first outcome is at least as strict as the second. Not running is stricter than
/// any restriction.
pub(super) fn at_least_as_strict(
    first: (Permission, &Imposed),
    second: (Permission, &Imposed),
) -> bool {
    let restrictions = first.1.speed_or_infinite() <= second.1.speed_or_infinite()
        && first.1.passengers >= second.1.passengers
        && first.1.cab >= second.1.cab;
    first.0 == Permission::MayNotRun || (first.0 <= second.0 && restrictions)
}
