//! What is told first of a decision: the strictest verdict, and that the brake will fade.

use super::{Decision, RuleSetAnswer};
use crate::braking::percentage::Percentage;
use crate::rule_set::verdict::{Permission, Verdict};
use crate::worked::{Missing, Worked};

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
    /// The verdicts, the strictest first: by permission, then by the speed told to the driver.
    pub fn strictest_first(&self) -> Vec<&RuleSetAnswer> {
        let mut sorted: Vec<&RuleSetAnswer> = self.verdicts.iter().collect();
        sorted.sort_by(|one, other| {
            let by_speed = || one.told_speed().total_cmp(&other.told_speed());
            one.urgency().cmp(&other.urgency()).then_with(by_speed)
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

impl RuleSetAnswer {
    /// What it says once stored air is used up, where that is something else than now: "Once
    /// stored air is used up: May not run".
    pub fn later_words(&self) -> Option<String> {
        let verdict = &self.later.as_ref()?.verdict;
        let says = match verdict {
            Err(_) => "No verdict".to_owned(),
            Ok(worked) => {
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
        };
        Some(format!("Once stored air is used up: {says}"))
    }
}

impl RuleSetAnswer {
    /// How urgent what it says is.
    pub fn urgency(&self) -> Urgency {
        Urgency::of(&self.verdict)
    }

    /// The speed told to the driver in km/h; without a cap, more than any.
    fn told_speed(&self) -> f64 {
        let verdict = self.verdict.as_ref().ok();
        let cap = verdict.and_then(|worked| worked.value.restrictions.speed.as_ref());
        cap.map_or(f64::INFINITY, |cap| cap.whole_km_h().0)
    }
}
