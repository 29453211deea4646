//! Putting a rule set to a train. Every rule that applies is judged; the strictest decides, and
//! the restrictions of all add up. One missing fact, and there is no verdict, except where another
//! rule forbids the train to run: no fact could make that milder, and it must not be hidden.

mod ends;
mod other;
mod speed;

use super::consequence::{CabRestriction, Consequence};
use super::facts::TrainFacts;
use super::measure::needed;
use super::requirement::{Bands, Requirement};
use super::season::Season;
use super::verdict::{AppliedRule, Imposed, Permission, Verdict};
use super::{OnlyIf, Rule, RuleSet, Scope};
use crate::identity::RouteName;
use crate::time::Day;
use crate::worked::{Missing, MissingFact, Source, Step, Worked};
use std::collections::BTreeMap;

/// What a rule finds of a train.
struct Finding {
    working: String,
    permission: Permission,
    restrictions: Imposed,
}

/// Whether a rule applies, and if not why.
enum Applies {
    Yes,
    No(String),
}

/// The verdict of a rule set for a train, with every rule as a step. No verdict when a fact that
/// a rule needs is missing and no other rule forbids the train to run, when the set was not made
/// for such trains, or when none of its rules applies; all that is missing is listed together.
/// Whether the set is valid today is the caller's
/// question ([`RuleSet::is_valid_on`]). Linear in rules times vehicles.
pub fn evaluate(set: &RuleSet, train: &TrainFacts) -> Result<Worked<Verdict>, Missing> {
    if let Applies::No(why) = in_scope(&set.scope, train)? {
        let of = format!("rule set {}: {why}", set.name);
        return Err(Missing::one("rules made for such trains", of));
    }
    let (mut applied, mut steps) = (Vec::new(), Vec::new());
    let mut missing: BTreeMap<MissingFact, Vec<&str>> = BTreeMap::new();
    for rule in &set.rules {
        match apply(rule, train) {
            Ok(Ok(judged)) => applied.push(judged),
            Ok(Err(why)) => steps.push(step(rule, format!("does not apply: {why}"))),
            Err(Missing(facts)) => facts
                .into_iter()
                .for_each(|fact| missing.entry(fact).or_default().push(&rule.title)),
        }
    }
    let missing = Missing(missing.into_iter().map(needed_by).collect());
    let forbids = |rule: &AppliedRule| rule.permission == Permission::MayNotRun;
    if !missing.0.is_empty() && !applied.iter().any(forbids) {
        return Err(missing);
    }
    if applied.is_empty() {
        let of = format!("rule set {} for this train", set.name);
        return Err(Missing::one("a rule that applies", of));
    }
    applied.sort_by(AppliedRule::strictest_first);
    Ok(conclude(set, applied, steps, &missing))
}

/// The fact with the rules that need it.
fn needed_by((fact, rules): (MissingFact, Vec<&str>)) -> MissingFact {
    let of = format!("{}, needed by: {}", fact.of, rules.join("; "));
    MissingFact { of, ..fact }
}

fn conclude(
    set: &RuleSet,
    applied: Vec<AppliedRule>,
    left_aside: Vec<Step>,
    missing: &Missing,
) -> Worked<Verdict> {
    let permission = applied
        .first()
        .map_or(Permission::MayNotRun, |r| r.permission);
    let all = applied.iter().map(|rule| rule.restrictions.clone());
    let restrictions = all.fold(Imposed::default(), Imposed::and);
    let judged = applied.iter().map(|rule| Step {
        what: rule.title.clone(),
        working: format!("{}: {}", rule.working, rule.permission),
        source: rule.source.clone(),
    });
    let decision = Step {
        what: "verdict".into(),
        working: format!("the strictest of {} rules: {permission}", applied.len()),
        source: this_set(set),
    };
    let not_judged = missing.0.iter().map(|fact| Step {
        what: "not judged".into(),
        working: format!("missing: {} of {}", fact.what, fact.of),
        source: this_set(set),
    });
    let steps = judged.chain(left_aside).chain(not_judged);
    let steps = steps.chain([decision]).collect();
    let value = Verdict {
        rule_set: set.name.clone(),
        revision: set.revision.clone(),
        issuer: set.issuer.clone(),
        permission,
        restrictions,
        applied,
        rules: set.rules.len(),
        cautions: cautions(set, missing),
    };
    Worked { value, steps }
}

fn this_set(set: &RuleSet) -> Source {
    Source::Operator(format!("rule set {} revision {}", set.name, set.revision))
}

fn cautions(set: &RuleSet, missing: &Missing) -> Vec<String> {
    let facts = missing.0.iter();
    let facts: Vec<String> = facts
        .map(|fact| format!("{} of {}", fact.what, fact.of))
        .collect();
    let not_judged = (!facts.is_empty()).then(|| {
        let facts = facts.join("; ");
        format!(
            "Not every rule was judged, because this is missing: {facts}. Whatever it is, the \
             train may not run."
        )
    });
    let always = [
        set.note.clone(),
        "This is advice: the authorised person decides.".into(),
        "Void as soon as the formation, the load or the state of any brake changes.".into(),
    ];
    not_judged.into_iter().chain(always).collect()
}

fn step(rule: &Rule, working: String) -> Step {
    Step {
        what: rule.title.clone(),
        working,
        source: rule.source.clone(),
    }
}

/// A judged rule, or in the inner error why it does not apply.
fn apply(rule: &Rule, train: &TrainFacts) -> Result<Result<AppliedRule, String>, Missing> {
    if let Applies::No(why) = in_scope(&rule.scope, train)? {
        return Ok(Err(why));
    }
    if let Applies::No(why) = hard_enough(&rule.only_if, train)? {
        return Ok(Err(why));
    }
    let Finding {
        working,
        permission,
        restrictions,
    } = judge(&rule.requirement, train)?;
    Ok(Ok(AppliedRule {
        title: rule.title.clone(),
        source: rule.source.clone(),
        working,
        permission,
        restrictions,
    }))
}

fn judge(requirement: &Requirement, train: &TrainFacts) -> Result<Finding, Missing> {
    match requirement {
        Requirement::Always(consequence) => {
            finding("holds for every such train".into(), consequence, train)
        }
        Requirement::Bands(bands) => judge_bands(bands, train),
        Requirement::Table(table) => speed::judge_table(table, train),
        Requirement::Stopping(stopping) => speed::judge_stopping(*stopping, train),
        Requirement::EndVehicle(end) => ends::judge_end(end, train),
        Requirement::Adjacent(adjacent) => ends::judge_adjacent(adjacent, train),
        Requirement::Holding(holding) => other::judge_holding(holding, train),
        Requirement::Equipment(equipment) => other::judge_equipment(equipment, train),
        Requirement::Dragging(dragging) => other::judge_dragging(dragging, train),
        Requirement::SlideProtection(slide) => other::judge_slide_protection(slide, train),
    }
}

fn judge_bands(bands: &Bands, train: &TrainFacts) -> Result<Finding, Missing> {
    let measured = bands.measure.of(train)?;
    let mut fitting = bands.bands.iter().filter(|band| {
        let below = |end| !measured.ratio.is_at_least(end);
        measured.ratio.is_at_least(band.at_least_percent) && band.below_percent.is_none_or(below)
    });
    let (Some(band), None) = (fitting.next(), fitting.next()) else {
        let of = format!("rule set for {}", measured.working);
        return Err(Missing::one("exactly one band", of));
    };
    let working = format!("{}: {}", measured.working, band.range());
    finding(working, &band.consequence, train)
}

/// A finding by a consequence of the rule set. A restriction of the cab that the train cannot meet as it
/// stands forbids it to run.
fn finding(
    working: String,
    consequence: &Consequence,
    train: &TrainFacts,
) -> Result<Finding, Missing> {
    let (permission, restrictions) = consequence.impose(train.speed_max)?;
    let unmet = match restrictions.cab {
        Some(cab @ CabRestriction::LeadingCabWithBrake) => ends::leading_brake_amiss(cab, train)?,
        Some(CabRestriction::LeadingCab) | None => None,
    };
    let (working, permission) = match unmet {
        Some(why) => (format!("{working}; {why}"), Permission::MayNotRun),
        None => (working, permission),
    };
    Ok(Finding {
        working,
        permission,
        restrictions,
    })
}

/// A rule that is kept asks for nothing.
fn kept(working: String) -> Finding {
    Finding {
        working,
        permission: Permission::MayRun,
        restrictions: Imposed::default(),
    }
}

fn in_scope(scope: &Scope, train: &TrainFacts) -> Result<Applies, Missing> {
    let listed = [
        is_listed(&scope.whereabouts, train.whereabouts, "whereabouts"),
        is_listed(&scope.kinds, train.kind, "kind"),
        is_listed(&scope.movements, train.movement, "movement"),
    ];
    all_of(listed)
}

fn is_listed<T>(list: &[T], fact: Option<T>, what: &str) -> Result<Applies, Missing>
where
    T: Copy + PartialEq + std::fmt::Display,
{
    if list.is_empty() {
        return Ok(Applies::Yes);
    }
    let fact = needed(fact, what, "train")?;
    let no = || Applies::No(format!("{what} of the train is {fact}"));
    Ok(if list.contains(&fact) {
        Applies::Yes
    } else {
        no()
    })
}

fn hard_enough(only_if: &OnlyIf, train: &TrainFacts) -> Result<Applies, Missing> {
    // Falls are compared as positive steepness.
    let fall = only_if.falls_steeper_than.map(|limit| -limit.0);
    let steepness = train.gradient.map(|gradient| -gradient.0);
    let faster = only_if.faster_than.map(|limit| limit.0);
    let further = only_if.further_than.map(|limit| limit.0);
    all_of([
        is_over(fall, steepness, "fall of the way ahead"),
        is_over(faster, train.speed_max.map(|s| s.0), "greatest speed"),
        is_over(further, train.distance_to_go.map(|d| d.0), "distance to go"),
        is_in_season(only_if.in_season, train.day),
        is_on_route(&only_if.on_routes, train.route.as_ref()),
    ])
}

fn is_in_season(season: Option<Season>, day: Option<Day>) -> Result<Applies, Missing> {
    let Some(season) = season else {
        return Ok(Applies::Yes);
    };
    let day = needed(day, "day it runs on", "train")?;
    Ok(if season.holds(day) {
        Applies::Yes
    } else {
        Applies::No(format!("{day} is not within {season}"))
    })
}

fn is_on_route(routes: &[RouteName], route: Option<&RouteName>) -> Result<Applies, Missing> {
    if routes.is_empty() {
        return Ok(Applies::Yes);
    }
    let route = needed(route, "route", "train")?;
    Ok(if routes.contains(route) {
        Applies::Yes
    } else {
        Applies::No(format!("the route is {route}"))
    })
}

fn is_over(limit: Option<f64>, fact: Option<f64>, what: &str) -> Result<Applies, Missing> {
    let Some(limit) = limit else {
        return Ok(Applies::Yes);
    };
    let fact = needed(fact.filter(|fact| fact.is_finite()), what, "train")?;
    let no = || Applies::No(format!("{what} is {fact}, not over {limit}"));
    Ok(if fact > limit { Applies::Yes } else { no() })
}

/// All conditions together. A condition known not to be met decides, whatever else is missing.
fn all_of<const N: usize>(conditions: [Result<Applies, Missing>; N]) -> Result<Applies, Missing> {
    let mut missing = Vec::new();
    for condition in conditions {
        match condition {
            Ok(Applies::Yes) => {}
            Ok(no) => return Ok(no),
            Err(Missing(facts)) => missing.extend(facts),
        }
    }
    if missing.is_empty() {
        Ok(Applies::Yes)
    } else {
        Err(Missing(missing))
    }
}
