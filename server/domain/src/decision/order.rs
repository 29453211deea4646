//! What is told first of a decision: the strictest verdict, and that the brake will fade.

use super::{Decision, RuleSetAnswer};
use crate::braking::percentage::Percentage;
use crate::rule_set::verdict::{Imposed, Permission, Verdict};
use crate::worked::{Missing, Worked};
use std::cmp::Ordering;

/// How urgent it is that somebody acts on what a rule set says, the most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// The train may not run.
    MayNotRun,
    /// There is no verdict, and so no permission.
    NoVerdict,
    /// It may run with restrictions.
    WithRestrictions,
    /// It may run.
    MayRun,
}

impl Urgency {
    /// How urgent a verdict is, or its lack.
    pub(super) fn of(verdict: &Result<Worked<Verdict>, Missing>) -> Self {
        let Ok(worked) = verdict else {
            return Self::NoVerdict;
        };
        match worked.value.permission {
            Permission::MayNotRun => Self::MayNotRun,
            Permission::WithRestrictions => Self::WithRestrictions,
            Permission::MayRun => Self::MayRun,
        }
    }
}

impl Decision {
    /// The verdicts, the strictest first: by permission, then by the speed told to the driver; where
    /// both are the same, by what they become once stored air is used up.
    pub fn strictest_first(&self) -> Vec<&RuleSetAnswer> {
        let mut sorted: Vec<&RuleSetAnswer> = self.verdicts.iter().collect();
        sorted.sort_by(|one, other| {
            let now = stricter(one.strictness_now(), other.strictness_now());
            now.then_with(|| stricter(one.strictness(), other.strictness()))
        });
        sorted
    }

    /// The urgency of its strictest verdict.
    pub fn urgency(&self) -> Urgency {
        let all = self.verdicts.iter().map(RuleSetAnswer::urgency);
        all.min().unwrap_or(Urgency::NoVerdict)
    }

    /// The brake percentage now and once stored air is used up, where it then is lower: what
    /// works now need not work in half an hour, and verdicts speak of now.
    pub fn fades(&self) -> Option<(Percentage, Percentage)> {
        let now = self.percentage.as_ref().ok()?.value.after;
        let later = self.percentage_later.as_ref().ok()?.value.after;
        (later < now).then_some((now, later))
    }
}

/// A verdict in a few words: "May run with restrictions, at most 64 km/h (40 mph)".
fn in_short(verdict: &Result<Worked<Verdict>, Missing>) -> String {
    let Ok(worked) = verdict else {
        return "No verdict".to_owned();
    };
    let Verdict {
        permission,
        restrictions,
        ..
    } = &worked.value;
    let cap = restrictions.speed.as_ref();
    let cap = cap.filter(|_| *permission == Permission::WithRestrictions);
    let cap = cap.map_or(String::new(), |cap| format!(", at most {cap}"));
    format!("{}{cap}", permission.headline())
}

/// "No verdict, for lack of signalling distance of the way ahead of train, needed by: Table".
fn no_verdict(missing: &Missing) -> String {
    let facts = missing.0.iter();
    let facts: Vec<String> = facts
        .map(|fact| format!("{} of {}", fact.what, fact.of))
        .collect();
    format!("No verdict, for lack of {}", facts.join("; "))
}

/// What a verdict restricts beside the speed that does not hold now already, and the rule that makes
/// it what it is, with its numbers.
fn besides(verdict: &Verdict, now: &Imposed) -> String {
    let Imposed {
        passengers,
        cab,
        distance_max,
        destination,
        conditions,
        tell,
        ..
    } = &verdict.restrictions;
    let runs = verdict.permission == Permission::WithRestrictions;
    let passengers = passengers.filter(|_| *passengers != now.passengers);
    let cab = cab.filter(|_| *cab != now.cab);
    let distance_max = distance_max.filter(|_| *distance_max != now.distance_max);
    let destination = destination
        .as_ref()
        .filter(|_| *destination != now.destination);
    let limits = [
        passengers.map(|where_not| format!("passengers: {where_not}")),
        cab.map(|cab| format!("driven from the {cab}")),
        distance_max.map(|most| format!("at most {:.1} km", most.0 / 1000.0)),
        destination.map(|to| format!("{}: {}", to.kind, to.words)),
    ];
    let limits = limits.into_iter().flatten().filter(|_| runs);
    let conditions = conditions
        .iter()
        .filter(|text| !now.conditions.contains(text));
    let conditions = conditions.map(|text| text.trim_end_matches('.').to_owned());
    let tell = tell.iter().filter(|text| !now.tell.contains(text));
    let tell = tell.map(|who| format!("tell {who}"));
    let rule = verdict.applied.first();
    let rule = rule.filter(|rule| rule.permission != Permission::MayRun);
    let rule = rule.map(|rule| format!("{}: {}", rule.title, rule.working));
    let all: Vec<String> = limits.chain(conditions).chain(tell).chain(rule).collect();
    all.join("; ")
}

/// How strict two verdicts are: by permission, then by speed.
fn stricter(one: (Urgency, f64), other: (Urgency, f64)) -> Ordering {
    one.0.cmp(&other.0).then_with(|| one.1.total_cmp(&other.1))
}

fn strictness(verdict: &Result<Worked<Verdict>, Missing>) -> (Urgency, f64) {
    (Urgency::of(verdict), told_speed(verdict))
}

impl RuleSetAnswer {
    /// What it says once stored air is used up, where that is something else than now: "Once
    /// stored air is used up: May not run".
    pub fn later_words(&self) -> Option<String> {
        let verdict = &self.later.as_ref()?.verdict;
        let says = in_short(verdict);
        Some(format!("Once stored air is used up: {says}"))
    }

    /// The same with what else it then restricts that it does not now, and the rule that makes it so.
    pub fn later_in_full(&self) -> Option<String> {
        let words = self.later_words()?;
        let besides = match &self.later.as_ref()?.verdict {
            Ok(worked) => {
                let now = self.verdict.as_ref().ok();
                let now = now.map(|now| now.value.restrictions.clone());
                besides(&worked.value, &now.unwrap_or_default())
            }
            Err(missing) => missing.to_string(),
        };
        Some(match besides.as_str() {
            "" => words,
            besides => format!("{words}; {besides}"),
        })
    }

    fn strictness_now(&self) -> (Urgency, f64) {
        strictness(&self.verdict)
    }

    /// How strict it is at the worst of now and later: the less, the stricter.
    fn strictness(&self) -> (Urgency, f64) {
        let later = self.later.as_ref();
        let later = later.map(|later| strictness(&later.verdict));
        let both = later.into_iter().chain([self.strictness_now()]);
        both.min_by(|one, other| stricter(*one, *other))
            .unwrap_or_else(|| self.strictness_now())
    }

    /// What another rule set in force says that is stricter: whoever goes by one is to know of it.
    pub(super) fn stricter_words(&self, other: &Self) -> Option<String> {
        let now = stricter(other.strictness_now(), self.strictness_now());
        let worst = stricter(other.strictness(), self.strictness());
        (now == Ordering::Less || worst == Ordering::Less).then(|| {
            let later = other.later_words();
            let later = later.map_or(String::new(), |later| format!(". {later}"));
            let (name, revision) = (&other.name, &other.revision);
            let says = match &other.verdict {
                Ok(_) => in_short(&other.verdict),
                Err(missing) => no_verdict(missing),
            };
            format!("{name}, revision {revision}, is in force too and stricter: {says}{later}.")
        })
    }

    /// How urgent what it says is.
    pub fn urgency(&self) -> Urgency {
        Urgency::of(&self.verdict)
    }
}

/// The speed told to the driver in km/h; without a cap, more than any.
fn told_speed(verdict: &Result<Worked<Verdict>, Missing>) -> f64 {
    let verdict = verdict.as_ref().ok();
    let cap = verdict.and_then(|worked| worked.value.restrictions.speed.as_ref());
    cap.map_or(f64::INFINITY, |cap| cap.whole_km_h().0)
}
