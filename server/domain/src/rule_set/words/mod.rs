//! A rule set in words, part by part: as people read it, approve it and compare it with another
//! revision. Every figure of the data stands in the words, so that no difference is hidden.

mod consequence;
mod figures;
mod requirement;

use super::usual::Usual;
use super::{OnlyIf, Rule, RuleSet, Scope};
use figures::{km_h, metres, per_mille};
use std::fmt::Display;

/// One part of a rule set in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Which part: what stands in its head, or the title of a rule.
    pub what: String,
    /// What it says, one line for each thing said.
    pub lines: Vec<String>,
}

/// A part that two rule sets do not have in the same words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Which part.
    pub what: String,
    /// What the first says; nothing where it has no such part.
    pub before: Vec<String>,
    /// What the second says.
    pub after: Vec<String>,
}

/// What stands in the head of a rule set, in words.
pub fn head(rules: &RuleSet) -> Vec<Part> {
    let mut parts = vec![
        part("issuer", [rules.issuer.clone()]),
        part("note", [rules.note.clone()]),
        part("valid", [validity(rules)]),
        part("made for", scope(&rules.scope)),
        part("taken as usual", usual(&rules.usual)),
    ];
    parts.retain(|part| !part.lines.is_empty());
    parts
}

/// Each rule in words, in its order.
pub fn rules(rules: &RuleSet) -> Vec<Part> {
    rules.rules.iter().map(rule).collect()
}

/// What differs between two rule sets, head first. The order of rules means nothing, since all
/// that apply hold together; a rule is known by its title. Quadratic in the rules, which are few.
pub fn differences(before: &RuleSet, after: &RuleSet) -> Vec<Difference> {
    let [before, after] = [before, after].map(|rules| [head(rules), self::rules(rules)].concat());
    let lines = |of: &[Part], what: &str| -> Vec<String> {
        let found = of.iter().find(|part| part.what == what);
        found.map(|part| part.lines.clone()).unwrap_or_default()
    };
    let gone = before
        .iter()
        .filter(|part| lines(&after, &part.what).is_empty());
    let all = after.iter().chain(gone);
    let pairs = all.map(|part| Difference {
        what: part.what.clone(),
        before: lines(&before, &part.what),
        after: lines(&after, &part.what),
    });
    pairs.filter(|pair| pair.before != pair.after).collect()
}

fn part(what: &str, lines: impl IntoIterator<Item = String>) -> Part {
    Part {
        what: what.to_owned(),
        lines: lines.into_iter().collect(),
    }
}

fn validity(rules: &RuleSet) -> String {
    match rules.valid_until {
        Some(until) => format!("from {} to {until}", rules.valid_from),
        None => format!("from {}", rules.valid_from),
    }
}

fn rule(rule: &Rule) -> Part {
    let mut lines = scope(&rule.scope);
    lines.extend(only_if(&rule.only_if));
    lines.extend(requirement::lines(&rule.requirement));
    lines.push(format!("source: {}", rule.source));
    part(&rule.title, lines)
}

fn listed(values: &[impl Display]) -> String {
    let words: Vec<String> = values.iter().map(ToString::to_string).collect();
    words.join(", ")
}

fn scope(scope: &Scope) -> Vec<String> {
    let mut lines = Vec::new();
    if !scope.whereabouts.is_empty() {
        lines.push(format!(
            "only trains that are {}",
            listed(&scope.whereabouts)
        ));
    }
    if !scope.kinds.is_empty() {
        lines.push(format!("only trains of the kind {}", listed(&scope.kinds)));
    }
    if !scope.movements.is_empty() {
        lines.push(format!("only trains that run {}", listed(&scope.movements)));
    }
    lines
}

fn only_if(only_if: &OnlyIf) -> Vec<String> {
    let falls = only_if.falls_steeper_than;
    let falls = falls.map(|than| {
        let than = per_mille(than);
        format!("only where the way falls more steeply than {than}")
    });
    let faster = only_if.faster_than;
    let faster = faster.map(|than| {
        let than = km_h(than);
        format!("only where the train may run faster than {than}")
    });
    let further = only_if.further_than;
    let further = further.map(|than| {
        let than = metres(than);
        format!("only where there is further to go than {than}")
    });
    let season = only_if.in_season;
    let season = season.map(|season| format!("only in the season {season}"));
    let routes = (!only_if.on_routes.is_empty())
        .then(|| format!("only on the route {}", listed(&only_if.on_routes)));
    let hardships = [falls, faster, further, season, routes];
    hardships.into_iter().flatten().collect()
}

fn usual(usual: &Usual) -> Vec<String> {
    let say = |what: &str, value: Option<String>| value.map(|value| format!("{what} {value}"));
    let lines = [
        say("load", usual.load.map(|load| load.to_string())),
        say("gradient", usual.gradient.map(per_mille)),
        say(
            "signalling distance",
            usual
                .signalling_distance
                .map(|distance| distance.to_string()),
        ),
        say(
            "the train is",
            usual.whereabouts.map(|place| place.to_string()),
        ),
        say(
            "kind of train",
            usual.train_kind.map(|kind| kind.to_string()),
        ),
        say(
            "it runs",
            usual.movement.map(|movement| movement.to_string()),
        ),
        say(
            "adhesion of holding axles at most",
            usual
                .holding_adhesion
                .as_ref()
                .map(|of| format!("{} ({})", of.thousandths, of.source)),
        ),
    ];
    lines.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn rule_set(rules: &Value) -> RuleSet {
        serde_json::from_value(json!({
            "name": "Example", "revision": "A", "issuer": "test", "note": "invented",
            "valid_from": "2029-01-01", "rules": rules,
        }))
        .expect("a rule set")
    }

    #[test]
    fn every_figure_of_a_rule_stands_in_its_words() {
        let slow = json!({"with_restrictions": {
            "speed_caps": [{"fixed": {"speed": 24.14016, "printed": "15 mph"}},
                           {"percent_of_maximum": {"percent": 50}}],
            "passengers": "none_aboard", "cab": "leading_cab_only", "distance_max": 12_500.0,
            "destination": {"kind": "next_siding", "words": "past it if it is full"},
            "conditions": ["Walked round."], "tell": ["controller"],
        }});
        let rules = rule_set(&json!([
            {"title": "Share", "source": {"published": "a law, 1(2)"},
             "scope": {"whereabouts": ["on_the_road"]}, "only_if": {"faster_than": 99.5},
             "requirement": {"bands": {"measure": {"proportion": {"by": {"cars": {"axles_at_least": 3}}}},
                "bands": [{"at_least_percent": 0, "below_percent": 85, "consequence": slow},
                          {"at_least_percent": 85, "consequence": "may_run"}]}}},
        ]));
        assert_eq!(
            super::rules(&rules)[0].lines,
            [
                "only trains that are on the road",
                "only where the train may run faster than 99.5 km/h",
                "share of operative brakes by vehicles, where a vehicle counts as braked when at \
                 least 3 of its axles are",
                "below 85 %: may run with restrictions: at most 24.14016 km/h, \
                 printed as 15 mph; at most 50 % of the greatest speed of the train; passengers \
                 none aboard; driven from the leading cab only; no further than 12500 m; to the next siding: past it if it is full; \
                 Walked round; tell controller",
                "at least 85 %: may run",
                "source: a law, 1(2)",
            ]
        );
    }

    #[test]
    fn revisions_differ_in_what_was_added_taken_away_or_worded_anew_and_not_in_order() {
        let rule = |title: &str, at_most: u32| {
            json!({"title": title, "source": "common_practice",
                   "requirement": {"dragging": {"when": "now", "at_most": at_most,
                                                 "otherwise": "may_not_run"}}})
        };
        let before = rule_set(&json!([rule("a", 1), rule("b", 1), rule("c", 1)]));
        let mut after = rule_set(&json!([rule("d", 1), rule("c", 2), rule("a", 1)]));
        assert_eq!(differences(&before, &before), []);
        after.valid_until = Some("2030-12-31".parse().expect("a day"));
        let found = differences(&before, &after);
        let told: Vec<_> = found
            .iter()
            .map(|one| (one.what.as_str(), one.before.len(), one.after.len()))
            .collect();
        assert_eq!(
            told,
            [("valid", 1, 1), ("d", 0, 3), ("c", 3, 3), ("b", 3, 0)]
        );
        assert_eq!(found[0].after, ["from 2029-01-01 to 2030-12-31"]);
        assert_eq!(found[2].after[0], "at most 2 brakes drag at once");
    }
}
