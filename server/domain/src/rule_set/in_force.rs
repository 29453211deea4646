//! Which of the rule sets that were ever issued are in force on a day.

use super::RuleSet;
use crate::identity::RuleSetName;
use crate::time::Day;
use std::collections::BTreeMap;

/// Of each name the revision issued last among those valid on the day, by name. The sets are
/// given with the number of the entry that issued them. Near linear in the sets.
pub fn in_force<'a, By: Ord>(
    issued: impl IntoIterator<Item = (By, &'a RuleSet)>,
    day: Day,
) -> Vec<&'a RuleSet> {
    let mut newest: BTreeMap<&RuleSetName, (By, &RuleSet)> = BTreeMap::new();
    for (by, rules) in issued {
        let before = newest.get(&rules.name);
        if rules.is_valid_on(day) && before.is_none_or(|(other, _)| *other < by) {
            newest.insert(&rules.name, (by, rules));
        }
    }
    newest.into_values().map(|(_, rules)| rules).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rule_set::Scope;
    use crate::rule_set::usual::Usual;

    fn rules(name: &str, revision: &str, from: &str, until: Option<&str>) -> RuleSet {
        RuleSet {
            name: name.parse().expect("a name"),
            revision: revision.parse().expect("a revision"),
            issuer: String::new(),
            note: String::new(),
            valid_from: from.parse().expect("a day"),
            valid_until: until.map(|day| day.parse().expect("a day")),
            scope: Scope::default(),
            usual: Usual::default(),
            rules: Vec::new(),
            agreed: None,
        }
    }

    #[test]
    fn of_each_name_the_revision_issued_last_among_those_valid_is_in_force() {
        let sets = [
            rules("B", "1", "2026-01-01", None),
            rules("A", "1", "2026-01-01", None),
            rules("A", "2", "2026-02-01", None),
            rules("A", "3", "2026-04-01", None),
            rules("C", "1", "2026-01-01", Some("2026-02-28")),
        ];
        let on = |day: &str| -> Vec<String> {
            let day = day.parse().expect("a day");
            let found = in_force(sets.iter().enumerate(), day);
            found
                .iter()
                .map(|r| format!("{} {}", r.name, r.revision))
                .collect()
        };
        assert_eq!(on("2026-01-15"), ["A 1", "B 1", "C 1"]);
        assert_eq!(on("2026-03-01"), ["A 2", "B 1"]);
        assert!(on("2025-12-31").is_empty());
    }
}
