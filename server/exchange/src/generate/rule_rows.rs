//! Rule sets as rows of the format.

use super::sink::{Maybe, listed};
use super::{Generator, Result};
use crate::columns::{RULE_SETS, RULES};
use domain::configuration::car_type::LoadState;
use domain::identity::RouteName;
use domain::people::agreement::Agreement;
use domain::rule_set::facts::{Movement, TrainKind, Whereabouts};
use domain::rule_set::{Rule, RuleSet, Scope};
use domain::worked::Source;

impl Generator<'_> {
    /// Writes a rule set with its rules.
    pub(super) fn write_rule_set(&mut self, set: &RuleSet) -> Result<()> {
        let [whereabouts, kinds, movements] = scope_cells(&set.scope);
        let usual = &set.usual;
        let agreed = set.agreed.as_ref();
        let adhesion = usual.holding_adhesion.as_ref();
        let adhesion_source = adhesion.map(|of| source_cells(&of.source));
        self.write(
            &RULE_SETS,
            &[
                ("rule_set", &set.name),
                ("revision", &set.revision),
                ("issuer", &set.issuer),
                ("proposed_by", &Maybe(agreed.map(Agreement::proposed_by))),
                ("approved_by", &Maybe(agreed.map(Agreement::approved_by))),
                ("note", &set.note),
                ("valid_from", &set.valid_from),
                ("valid_until", &Maybe(set.valid_until)),
                ("whereabouts", &whereabouts),
                ("train_kinds", &kinds),
                ("movements", &movements),
                ("usual_load", &Maybe(usual.load.map(LoadState::name))),
                (
                    "usual_gradient_per_mille",
                    &Maybe(usual.gradient.map(|of| of.0)),
                ),
                (
                    "usual_signalling_distance_m",
                    &Maybe(usual.signalling_distance.map(|of| of.0)),
                ),
                (
                    "usual_whereabouts",
                    &Maybe(usual.whereabouts.map(Whereabouts::name)),
                ),
                (
                    "usual_train_kind",
                    &Maybe(usual.train_kind.map(TrainKind::name)),
                ),
                ("usual_movement", &Maybe(usual.movement.map(Movement::name))),
                (
                    "usual_holding_adhesion_thousandths",
                    &Maybe(adhesion.map(|of| of.thousandths.0)),
                ),
                (
                    "usual_holding_adhesion_source_kind",
                    &Maybe(adhesion_source.map(|of| of.0)),
                ),
                (
                    "usual_holding_adhesion_source",
                    &Maybe(adhesion_source.and_then(|of| of.1)),
                ),
            ],
        )?;
        let mut numbered = (1_u32..).zip(&set.rules);
        numbered.try_for_each(|(number, rule)| self.write_rule(set, number, rule))
    }

    fn write_rule(&mut self, set: &RuleSet, number: u32, rule: &Rule) -> Result<()> {
        let (source_kind, source) = source_cells(&rule.source);
        let [whereabouts, kinds, movements] = scope_cells(&rule.scope);
        let only_if = &rule.only_if;
        let falls = Maybe(only_if.falls_steeper_than.map(|gradient| gradient.0));
        self.write(
            &RULES,
            &[
                ("rule_set", &set.name),
                ("revision", &set.revision),
                ("rule", &number),
                ("title", &rule.title),
                ("source_kind", &source_kind),
                ("source", &Maybe(source)),
                ("whereabouts", &whereabouts),
                ("train_kinds", &kinds),
                ("movements", &movements),
                ("falls_steeper_than_per_mille", &falls),
                ("faster_than_km_h", &Maybe(only_if.faster_than.map(|s| s.0))),
                ("further_than_m", &Maybe(only_if.further_than.map(|d| d.0))),
                ("in_season", &Maybe(only_if.in_season)),
                (
                    "on_routes",
                    &listed(only_if.on_routes.iter().map(RouteName::as_str)),
                ),
                ("requirement", &serde_json::to_string(&rule.requirement)?),
            ],
        )
    }
}

/// The kind of a source, and its words.
fn source_cells(source: &Source) -> (&'static str, Option<&String>) {
    match source {
        Source::Published(words) => ("published", Some(words)),
        Source::Operator(words) => ("operator", Some(words)),
        Source::CommonPractice => ("common_practice", None),
    }
}

/// The cells `whereabouts`, `train_kinds` and `movements`.
fn scope_cells(scope: &Scope) -> [String; 3] {
    let whereabouts = scope.whereabouts.iter().copied();
    let movements = scope.movements.iter().copied();
    [
        listed(whereabouts.map(Whereabouts::name)),
        listed(scope.kinds.iter().copied().map(TrainKind::name)),
        listed(movements.map(Movement::name)),
    ]
}
