//! What is wrong with a rule set, before anybody relies on it.

mod percentages;
#[cfg(test)]
mod tests;

use super::consequence::{Consequence, Restrictions, SpeedCap};
use super::facts::{Movement, TrainKind, Whereabouts};
use super::requirement::{CountsAsBraked, Requirement, Within};
use super::{Rule, RuleSet, Scope};
use std::fmt;

/// Something wrong with a rule set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// In which rule; none where it is the set as a whole.
    pub rule: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub expected: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.rule {
            Some(rule) => write!(f, "rule “{rule}”: ")?,
            None => f.write_str("rule set: ")?,
        }
        write!(f, "{}; expected {}", self.what, self.expected)
    }
}

/// The greatest number of rules in a set.
pub const RULES_MAX: usize = 200;

/// Faults as they are found, without their rule: what is wrong, what was expected.
pub(super) type Faults = Vec<(String, String)>;

pub(super) fn fault(faults: &mut Faults, what: impl Into<String>, expected: impl Into<String>) {
    faults.push((what.into(), expected.into()));
}

impl RuleSet {
    /// Everything that is wrong with the set, in the order of its rules. A set with faults must
    /// not be put in force.
    pub fn check(&self) -> Vec<Fault> {
        let mut whole = Faults::new();
        self.check_whole(&mut whole);
        let mut all = with_rule(None, whole);
        for rule in &self.rules {
            let mut faults = Faults::new();
            check_rule(rule, &mut faults);
            all.extend(with_rule(Some(&rule.title), faults));
        }
        all
    }

    fn check_whole(&self, faults: &mut Faults) {
        if self
            .valid_until
            .is_some_and(|until| until < self.valid_from)
        {
            let what = format!("valid from {} until an earlier day", self.valid_from);
            fault(faults, what, "an end that is not before the beginning");
        }
        if self.rules.is_empty() || self.rules.len() > RULES_MAX {
            let what = format!("{} rules", self.rules.len());
            fault(faults, what, format!("1 to {RULES_MAX} rules"));
        }
        for (name, text) in [("issuer", &self.issuer), ("note", &self.note)] {
            if text.trim().is_empty() {
                fault(faults, format!("no {name}"), "a text");
            }
        }
        let twice = |(n, rule): (usize, &Rule)| {
            let earlier = self.rules.iter().take(n);
            earlier.clone().any(|other| other.title == rule.title)
        };
        if self.rules.iter().enumerate().any(twice) {
            fault(faults, "two rules with one title", "a title for each rule");
        }
        self.usual.check(faults);
        self.check_cover(faults);
    }

    /// Every train the set was made for must meet a rule about how much brake is left, or rules
    /// about the ends alone would let it run.
    fn check_cover(&self, faults: &mut Faults) {
        for whereabouts in all_or(&self.scope.whereabouts, Whereabouts::ALL) {
            for kind in all_or(&self.scope.kinds, TrainKind::ALL) {
                for movement in all_or(&self.scope.movements, Movement::ALL) {
                    let holds = |rule: &Rule| {
                        rule.only_if.is_always()
                            && measures_brakes(&rule.requirement)
                            && scope_holds(&rule.scope, *whereabouts, *kind, *movement)
                    };
                    if !self.rules.iter().any(holds) {
                        let what = format!("{kind}, {movement}, {whereabouts}: no rule");
                        let expected = "a rule on how much brake is left, or a narrower scope";
                        fault(faults, what, expected);
                    }
                }
            }
        }
    }
}

fn with_rule(rule: Option<&str>, faults: Faults) -> Vec<Fault> {
    let fault = |(what, expected)| Fault {
        rule: rule.map(str::to_owned),
        what,
        expected,
    };
    faults.into_iter().map(fault).collect()
}

fn all_or<'a, T>(list: &'a [T], all: &'a [T]) -> &'a [T] {
    if list.is_empty() { all } else { list }
}

fn scope_holds(scope: &Scope, place: Whereabouts, kind: TrainKind, movement: Movement) -> bool {
    all_or(&scope.whereabouts, Whereabouts::ALL).contains(&place)
        && all_or(&scope.kinds, TrainKind::ALL).contains(&kind)
        && all_or(&scope.movements, Movement::ALL).contains(&movement)
}

fn measures_brakes(requirement: &Requirement) -> bool {
    match requirement {
        Requirement::Always(_)
        | Requirement::Bands(_)
        | Requirement::Table(_)
        | Requirement::Stopping(_) => true,
        Requirement::EndVehicle(_)
        | Requirement::Adjacent(_)
        | Requirement::Holding(_)
        | Requirement::Equipment(_)
        | Requirement::Dragging(_)
        | Requirement::SlideProtection(_) => false,
    }
}

fn check_rule(rule: &Rule, faults: &mut Faults) {
    if rule.title.trim().is_empty() {
        fault(faults, "no title", "a text");
    }
    if rule.only_if.falls_steeper_than.is_some_and(|g| g.0 > 0.0) {
        fault(faults, "a fall given as positive", "a negative gradient");
    }
    match &rule.requirement {
        Requirement::Always(consequence) => check_consequence(consequence, faults),
        Requirement::Bands(bands) => percentages::check_bands(bands, faults),
        Requirement::Table(table) => percentages::check_table(table, faults),
        Requirement::Stopping(stopping) => {
            if matches!(stopping.within, Within::Distance(d) if !is_positive(d.0)) {
                fault(faults, "a stopping distance of nil", "a distance above nil");
            }
        }
        Requirement::EndVehicle(end) => {
            check_counts(end.counts_as_braked, faults);
            check_consequence(&end.otherwise, faults);
        }
        Requirement::Adjacent(adjacent) => {
            check_counts(adjacent.counts_as_braked, faults);
            check_consequence(&adjacent.otherwise, faults);
        }
        Requirement::Holding(holding) => {
            let factor = holding.safety_factor;
            if !factor.is_finite() || factor < 1.0 || !holding.gradient.0.is_finite() {
                fault(
                    faults,
                    "holding factor below 1",
                    "a safety factor of 1 or more",
                );
            }
            check_consequence(&holding.otherwise, faults);
        }
        Requirement::Equipment(equipment) => check_consequence(&equipment.otherwise, faults),
        Requirement::Dragging(dragging) => check_consequence(&dragging.otherwise, faults),
        Requirement::SlideProtection(slide) => check_consequence(&slide.otherwise, faults),
    }
}

fn is_positive(number: f64) -> bool {
    number.is_finite() && number > 0.0
}

fn check_counts(when: CountsAsBraked, faults: &mut Faults) {
    if when == CountsAsBraked::AxlesAtLeast(0) {
        fault(faults, "braked with no axle", "at least 1 axle");
    }
}

fn check_consequence(consequence: &Consequence, faults: &mut Faults) {
    let Consequence::WithRestrictions(restrictions) = consequence else {
        return;
    };
    if *restrictions == Restrictions::default() {
        fault(
            faults,
            "restrictions without any",
            "at least one restriction",
        );
    }
    if restrictions.distance_max.is_some_and(|d| !is_positive(d.0)) {
        fault(faults, "a distance of nil", "a distance above nil");
    }
    for cap in &restrictions.speed_caps {
        check_cap(cap, faults);
    }
}

fn check_cap(cap: &SpeedCap, faults: &mut Faults) {
    let above_nil = "a speed above nil in km/h";
    match cap {
        SpeedCap::Fixed { speed, .. } if !is_positive(speed.0) => {
            fault(
                faults,
                format!("a speed cap of {} km/h", speed.0),
                above_nil,
            );
        }
        SpeedCap::PercentOfMaximum { percent } if !(1..=100).contains(percent) => {
            let what = format!("a speed cap of {percent} % of the greatest speed");
            fault(faults, what, "1 to 100 %");
        }
        SpeedCap::BelowMaximum { by, not_below } => {
            let told = [
                ("below the greatest speed", by),
                ("as the least", not_below),
            ];
            for (words, speed) in told.into_iter().filter(|(_, speed)| !is_positive(speed.0)) {
                let what = format!("a speed cap with {} km/h {words}", speed.0);
                fault(faults, what, above_nil);
            }
        }
        SpeedCap::Fixed { .. } | SpeedCap::PercentOfMaximum { .. } => {}
    }
}
