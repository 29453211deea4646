//! The verdict of each rule set, in words that can be read at arm's length.

use crate::address;
use domain::decision::{Decision, RuleSetAnswer};
use domain::rule_set::verdict::{AppliedRule, Imposed, Permission, Verdict};
use domain::worked::{Missing, MissingFact, Step};

/// What a rule set says.
#[derive(Debug)]
pub(crate) struct VerdictBlock {
    /// The class by which it is drawn.
    pub(crate) class: &'static str,
    /// The mark before it: the colour is never the only sign.
    pub(crate) mark: &'static str,
    pub(crate) headline: &'static str,
    pub(crate) rule_set: String,
    /// The page that shows the rule set.
    pub(crate) address: String,
    pub(crate) issuer: String,
    /// The restrictions, each with its name.
    pub(crate) restrictions: Vec<(&'static str, String)>,
    /// The rules that were applied, the strictest first.
    pub(crate) rules: Vec<RuleRow>,
    /// How many the set has.
    pub(crate) of_rules: usize,
    pub(crate) cautions: Vec<String>,
    /// What it says once stored air is used up, where that is something else.
    pub(crate) later: Option<String>,
    /// The rules that do not apply, and how the verdict follows from those that do.
    pub(crate) steps: Vec<Step>,
    /// What is lacking, where there is no verdict.
    pub(crate) missing: Vec<MissingFact>,
}

/// A rule that was applied.
#[derive(Debug)]
pub(crate) struct RuleRow {
    pub(crate) title: String,
    pub(crate) class: &'static str,
    pub(crate) says: String,
    pub(crate) working: String,
    pub(crate) source: String,
}

/// The verdicts, the strictest first.
pub(crate) fn blocks(decision: &Decision) -> Vec<VerdictBlock> {
    decision.strictest_first().into_iter().map(block).collect()
}

fn block(answer: &RuleSetAnswer) -> VerdictBlock {
    let rule_set = format!("{}, revision {}", answer.name, answer.revision);
    let address = address::rule_set(&answer.name, &answer.revision);
    match &answer.verdict {
        Err(Missing(missing)) => VerdictBlock {
            class: "no_verdict",
            mark: "?",
            headline: "No verdict",
            rule_set,
            address,
            issuer: String::new(),
            restrictions: Vec::new(),
            rules: Vec::new(),
            of_rules: 0,
            cautions: Vec::new(),
            later: answer.later_in_full(),
            steps: Vec::new(),
            missing: missing.clone(),
        },
        Ok(worked) => {
            let verdict = &worked.value;
            VerdictBlock {
                class: verdict.permission.name(),
                mark: mark(verdict.permission),
                headline: verdict.permission.headline(),
                rule_set,
                address,
                issuer: verdict.issuer.clone(),
                restrictions: restrictions(verdict.permission, &verdict.restrictions),
                rules: verdict.applied.iter().map(rule).collect(),
                of_rules: verdict.rules,
                cautions: verdict.cautions.clone(),
                later: answer.later_in_full(),
                steps: worked
                    .steps
                    .iter()
                    .skip(verdict.applied.len())
                    .cloned()
                    .collect(),
                missing: Vec::new(),
            }
        }
    }
}

/// The mark of a permission.
pub(crate) fn mark(permission: Permission) -> &'static str {
    match permission {
        Permission::MayNotRun => "✕",
        Permission::WithRestrictions => "◆",
        Permission::MayRun => "✓",
    }
}

/// All restrictions with their names. What does not limit a train that may run is said too, so
/// that nobody takes silence for an oversight; of a train that may not run only what must be
/// done and who must be told.
pub(crate) fn restrictions(
    permission: Permission,
    imposed: &Imposed,
) -> Vec<(&'static str, String)> {
    let mut all = match permission {
        Permission::MayNotRun => Vec::new(),
        _ => limits(imposed, Some("no restriction by these rules")),
    };
    all.extend(duties(imposed));
    all
}

/// How the train may run; what does not limit it is left out, or said in the words given.
fn limits(imposed: &Imposed, free: Option<&str>) -> Vec<(&'static str, String)> {
    let free = || free.map(str::to_owned);
    let mut all = Vec::new();
    let speed = imposed.speed.as_ref().map(|cap| format!("at most {cap}"));
    all.extend(speed.or_else(free).map(|text| ("Speed", text)));
    let passengers = imposed.passengers.map(|where_not| where_not.to_string());
    all.extend(passengers.or_else(free).map(|text| ("Passengers", text)));
    // Few rules speak of the cab: what they do not say of it needs no line.
    let cab = imposed.cab.map(|cab| format!("drive from the {cab}"));
    all.extend(cab.map(|text| ("Cab", text)));
    all.extend(far(imposed).or_else(free).map(|text| ("How far", text)));
    all
}

/// What must be done and who must be told.
fn duties(imposed: &Imposed) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if !imposed.conditions.is_empty() {
        all.push(("Also", imposed.conditions.join(" ")));
    }
    if !imposed.tell.is_empty() {
        all.push(("Tell", imposed.tell.join("; ")));
    }
    all
}

fn far(imposed: &Imposed) -> Option<String> {
    let distance = imposed.distance_max.map(|distance| {
        let kilometres = distance.0 / 1000.0;
        format!("at most {kilometres:.1} km")
    });
    let destination = imposed.destination.as_ref();
    let destination = destination.map(|to| format!("{}: {}", to.kind, to.words));
    let both: Vec<String> = distance.into_iter().chain(destination).collect();
    (!both.is_empty()).then(|| both.join("; "))
}

fn rule(applied: &AppliedRule) -> RuleRow {
    let mut says = vec![applied.permission.headline().to_owned()];
    let imposed = &applied.restrictions;
    let all = limits(imposed, None).into_iter().chain(duties(imposed));
    says.extend(all.map(|(name, text)| format!("{}: {text}", name.to_lowercase())));
    RuleRow {
        title: applied.title.clone(),
        class: applied.permission.name(),
        says: says.join("; "),
        working: applied.working.clone(),
        source: applied.source.to_string(),
    }
}

/// The verdict in one line for the board: all restrictions and duties, or the rule that forbids.
pub(crate) fn in_one_line(verdict: &Verdict) -> String {
    let imposed = &verdict.restrictions;
    let named = |(name, text): (&str, String)| {
        let text = text.trim_end_matches('.');
        format!("{name}: {text}")
    };
    match verdict.permission {
        Permission::MayNotRun => {
            let first = std::iter::once(strongest(verdict));
            let duties = duties(imposed).into_iter().map(named);
            first.chain(duties).collect::<Vec<_>>().join(". ")
        }
        Permission::MayRun | Permission::WithRestrictions => {
            let all = limits(imposed, None).into_iter().chain(duties(imposed));
            all.map(named).collect::<Vec<_>>().join(". ")
        }
    }
}

/// The verdict in one line for a list: the strongest restriction, or the rule that forbids.
pub(crate) fn strongest(verdict: &Verdict) -> String {
    let first = verdict.applied.first();
    let forbids = || first.map(|rule| format!("{}: {}", rule.title, rule.working));
    match verdict.permission {
        Permission::MayNotRun => forbids().unwrap_or_default(),
        Permission::MayRun => String::new(),
        Permission::WithRestrictions => {
            let imposed = &verdict.restrictions;
            let mut all = limits(imposed, None).into_iter().chain(duties(imposed));
            let first = all.next();
            first.map_or(String::new(), |(name, text)| format!("{name}: {text}"))
        }
    }
}
