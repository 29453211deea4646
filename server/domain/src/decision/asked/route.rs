//! The route as the rules spell it that name it. A rule that holds on some routes only must not
//! vanish because somebody typed the name of one otherwise.

use super::{AskedField, Words};
use crate::identity::RouteName;
use crate::rule_set::RuleSet;
use crate::unreadable::Unreadable;
use std::collections::BTreeSet;

/// The word for a route that no rule names.
const ANOTHER: &str = "another";

impl Words {
    /// Spells the route as a rule of these sets does, whatever the case and the blanks it was typed
    /// with. Where rules name routes, any other is refused but for the word that says so; where none
    /// does, any stays as it was typed.
    pub(in crate::decision) fn spell_route(
        &mut self,
        rule_sets: &[&RuleSet],
    ) -> Result<(), (AskedField, Unreadable)> {
        let field = AskedField::Route;
        let typed = folded(self.text(field));
        let named = named(rule_sets);
        if typed.is_empty() || named.is_empty() {
            return Ok(());
        }
        let mut same = named.iter().filter(|route| folded(route.as_str()) == typed);
        let spelt = match (same.next(), typed.as_str()) {
            (Some(route), _) => route.as_str(),
            (None, ANOTHER) => ANOTHER,
            (None, _) => {
                let text = self.text(field);
                return Err((field, Unreadable::new(field.name(), text, expected(&named))));
            }
        };
        self.put(field, spelt);
        Ok(())
    }
}

fn expected(routes: &BTreeSet<&RouteName>) -> String {
    let names: Vec<String> = routes.iter().map(ToString::to_string).collect();
    format!(
        "a route that a rule in force names, {}; or “{ANOTHER}”, if it runs on none of these",
        names.join(", ")
    )
}

/// The routes that rules name, each once.
fn named<'r>(rule_sets: &[&'r RuleSet]) -> BTreeSet<&'r RouteName> {
    let rules = rule_sets.iter().flat_map(|set| &set.rules);
    rules.flat_map(|rule| &rule.only_if.on_routes).collect()
}

fn folded(name: &str) -> String {
    let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn rules(routes: &[&str]) -> RuleSet {
        let rule = json!({
            "title": "Steep", "source": "common_practice", "only_if": {"on_routes": routes},
            "requirement": {"always": "may_run"},
        });
        let set = json!({
            "name": "Rules", "revision": "1", "issuer": "", "note": "",
            "valid_from": "2026-01-01", "rules": [],
        });
        let mut set: RuleSet = serde_json::from_value(set).expect("a rule set");
        set.rules = vec![serde_json::from_value(rule).expect("a rule")];
        set
    }

    fn spelt(typed: &str, routes: &[&str]) -> Result<String, String> {
        let mut words = Words::default();
        words.put(AskedField::Route, typed);
        let spelt = words.spell_route(&[&rules(routes)]);
        spelt.map_err(|(_, why)| why.expected)?;
        Ok(words.text(AskedField::Route).to_owned())
    }

    #[test]
    fn a_route_is_that_of_a_rule_whatever_its_case_and_blanks() {
        for typed in ["Hill line", "hill line", " HILL   line "] {
            assert_eq!(
                spelt(typed, &["Hill line", "Coast"]).as_deref(),
                Ok("Hill line")
            );
        }
        assert_eq!(spelt("", &["Hill line"]).as_deref(), Ok(""), "not known");
        assert_eq!(spelt("Another", &["Hill line"]).as_deref(), Ok("another"));
        assert_eq!(
            spelt("Hil line", &[]).as_deref(),
            Ok("Hil line"),
            "no rule asks"
        );
    }

    #[test]
    fn a_route_that_no_rule_names_is_refused_with_those_that_are() {
        let expected = spelt("Hil line", &["Hill line", "Coast"]).expect_err("a refusal");
        assert!(
            expected.contains("Coast, Hill line; or “another”"),
            "{expected}"
        );
    }
}
