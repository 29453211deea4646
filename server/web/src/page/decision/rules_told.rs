//! The rules of a decision on its sheet: the strictest with their steps, as many as there is room for,
//! and of the others at least what they are about and what they say.

use super::room::{LINE_CHARS, Setting};
use domain::decision::taken::FoundRule;
use domain::rule_set::verdict::Permission;

/// Characters of the words around the rules that are only named.
const AROUND_CHARS: usize = 90;

/// A rule with its steps.
pub(super) struct RuleOnSheet {
    pub(super) words: String,
    pub(super) source: String,
}

/// The rules on a sheet.
pub(super) struct RulesOnSheet {
    /// Those with their steps, the strictest first.
    pub(super) shown: Vec<RuleOnSheet>,
    /// How many more there are.
    pub(super) more: usize,
    /// Of these what they are about and what they say, as many as there is room for.
    pub(super) named: Vec<String>,
}

impl RulesOnSheet {
    /// Those that fit so many lines, beside one that is kept for how many more there are. A rule loses
    /// its steps before another is not named; the strictest one never does.
    pub(super) fn of(rules: &[FoundRule], room: usize, setting: Setting) -> Self {
        let least = rules.len().min(1);
        let full = |count: &usize| {
            let (shown, others) = rules.split_at(*count);
            lines(shown, setting) + lines_of_names(others, setting).saturating_sub(1) <= room
        };
        let count = (least..=rules.len()).rev().find(full).unwrap_or(least);
        let (shown, others) = rules.split_at(count);
        let left = room.saturating_sub(lines(shown, setting)) + 1;
        let fits = |named: &usize| lines_of_names(&others[..*named], setting) <= left;
        let named = (0..=others.len()).rev().find(fits).unwrap_or(0);
        Self {
            shown: shown.iter().map(with_steps).collect(),
            more: others.len(),
            named: others[..named].iter().map(name).collect(),
        }
    }
}

fn lines(shown: &[FoundRule], setting: Setting) -> usize {
    shown.iter().map(|rule| setting.lines_of_rule(rule)).sum()
}

/// The lines of the names of some rules; none where there are none.
fn lines_of_names(others: &[FoundRule], setting: Setting) -> usize {
    if others.is_empty() {
        return 0;
    }
    let chars = others.iter().map(|rule| name(rule).chars().count() + 2);
    setting.lines_of(AROUND_CHARS + chars.sum::<usize>(), LINE_CHARS)
}

fn with_steps(rule: &FoundRule) -> RuleOnSheet {
    RuleOnSheet {
        words: format!("{}: {}", rule.title, rule.working),
        source: rule.source.clone(),
    }
}

/// "Parking brake of the standing train (may run)".
fn name(rule: &FoundRule) -> String {
    let says = match rule.permission {
        Permission::MayRun => "may run",
        Permission::WithRestrictions => "restricts",
        Permission::MayNotRun => "may not run",
    };
    format!("{} ({says})", rule.title.trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rules(count: usize) -> Vec<FoundRule> {
        let rule = |place: usize| FoundRule {
            title: format!("Rule {place}"),
            permission: Permission::MayRun,
            working: "w".repeat(300),
            source: "example".to_owned(),
        };
        (1..=count).map(rule).collect()
    }

    /// With steps, without and named, and neither.
    fn told(count: usize, room: usize) -> [usize; 3] {
        let told = RulesOnSheet::of(&rules(count), room, Setting::Usual);
        assert_eq!(told.shown.len() + told.more, count);
        [
            told.shown.len(),
            told.named.len(),
            told.more - told.named.len(),
        ]
    }

    #[test]
    fn a_rule_loses_its_steps_before_another_is_not_named() {
        // Three lines each, and one more for the names of the others.
        let each = Setting::Usual.lines_of_rule(&rules(1)[0]);
        assert_eq!(told(4, 4 * each), [4, 0, 0]);
        assert_eq!(told(4, 2 * each + 1), [2, 2, 0]);
        assert_eq!(told(4, 2 * each), [1, 3, 0]);
        assert_eq!(told(0, 3), [0, 0, 0]);
    }

    #[test]
    fn the_strictest_rule_is_told_however_little_room_there_is() {
        let [with_steps, named, neither] = told(20, 0);
        assert_eq!(with_steps, 1);
        assert!(named < 2, "{named}");
        assert_eq!(neither, 19 - named);
        assert_eq!(name(&rules(1)[0]), "Rule 1 (may run)");
    }
}
