//! What is told first of a decision: the strictest verdict, and that the brake will fade.

use super::{Decision, RuleSetAnswer};
use crate::braking::percentage::Percentage;
use crate::rule_set::verdict::{Permission, Verdict};

impl Decision {
    /// The verdicts, the strictest first: by permission, then by the speed told to the driver.
    /// No verdict is no permission, and comes next to not running.
    pub fn strictest_first(&self) -> Vec<&RuleSetAnswer> {
        let mut sorted: Vec<&RuleSetAnswer> = self.verdicts.iter().collect();
        sorted.sort_by(|one, other| {
            let (one, other) = (rank(one), rank(other));
            one.0.cmp(&other.0).then_with(|| one.1.total_cmp(&other.1))
        });
        sorted
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

fn rank(answer: &RuleSetAnswer) -> (u8, f64) {
    let Ok(worked) = &answer.verdict else {
        return (1, 0.0);
    };
    let Verdict {
        permission,
        restrictions,
        ..
    } = &worked.value;
    let cap = restrictions.speed.as_ref();
    let speed = cap.map_or(f64::INFINITY, |cap| cap.whole_km_h().0);
    match permission {
        Permission::MayNotRun => (0, speed),
        Permission::WithRestrictions => (2, speed),
        Permission::MayRun => (3, speed),
    }
}
