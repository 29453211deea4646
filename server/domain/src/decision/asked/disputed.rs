//! Fields that nobody gave and that are not assumed either, since the rule sets in force do not take
//! the same as usual. Whoever sees no verdict for it is told so.

use super::{AskedField, Words};
use crate::decision::{Decision, Question};
use crate::rule_set::RuleSet;
use crate::rule_set::usual::Usual;
use crate::worked::{Missing, MissingFact};
use std::fmt::Display;

/// A field on which rule sets disagree, and what each of them takes as usual.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::decision) struct Disputed {
    field: AskedField,
    said: String,
}

impl Words {
    /// The fields that nobody gave and on which rule sets disagree.
    pub(in crate::decision) fn disputed(&self, rule_sets: &[&RuleSet]) -> Vec<Disputed> {
        let fields = [
            (AskedField::Load, differ(rule_sets, |usual| usual.load)),
            (
                AskedField::Gradient,
                differ(rule_sets, |usual| usual.gradient.map(|of| of.0)),
            ),
            (
                AskedField::SignallingDistance,
                differ(rule_sets, |usual| usual.signalling_distance.map(|of| of.0)),
            ),
            (
                AskedField::Whereabouts,
                differ(rule_sets, |usual| usual.whereabouts),
            ),
            (
                AskedField::TrainKind,
                differ(rule_sets, |usual| usual.train_kind),
            ),
            (
                AskedField::Movement,
                differ(rule_sets, |usual| usual.movement),
            ),
        ];
        let open = fields
            .into_iter()
            .filter(|(field, _)| self.text(*field).is_empty());
        open.filter_map(|(field, said)| Some(Disputed { field, said: said? }))
            .collect()
    }
}

/// What each rule set says, where they do not all say the same.
fn differ<T: PartialEq + Display>(
    rule_sets: &[&RuleSet],
    field: fn(&Usual) -> Option<T>,
) -> Option<String> {
    let said = rule_sets
        .iter()
        .filter_map(|set| Some((field(&set.usual)?, *set)));
    let said: Vec<(T, &RuleSet)> = said.collect();
    let (first, _) = said.first()?;
    if said.iter().all(|(other, _)| other == first) {
        return None;
    }
    let words: Vec<String> = said
        .iter()
        .map(|(value, set)| format!("{value} by {} {}", set.name, set.revision))
        .collect();
    Some(words.join(", "))
}

impl Disputed {
    /// Whether a fact that is lacking is lacking for it.
    fn is_lacking(&self, fact: &MissingFact) -> bool {
        let what = fact.what.as_str();
        match self.field {
            AskedField::Load => what == "load state",
            AskedField::Gradient => what.ends_with("of the way ahead") && !what.starts_with("sig"),
            AskedField::SignallingDistance => what.starts_with("signalling distance"),
            AskedField::Whereabouts => what == "whereabouts",
            AskedField::TrainKind => what == "kind",
            AskedField::Movement => what == "movement",
            AskedField::BrakePosition
            | AskedField::Speed
            | AskedField::DistanceToGo
            | AskedField::Route
            | AskedField::HoldingAdhesion => false,
        }
    }
}

/// Says with what is lacking for a question why it was not assumed.
pub(in crate::decision) fn tell_of_question(
    question: Result<Question, Missing>,
    disputed: &[Disputed],
) -> Result<Question, Missing> {
    question.map_err(|mut missing| {
        tell(&mut missing, disputed);
        missing
    })
}

/// Says with what is lacking for verdicts why it was not assumed.
pub(in crate::decision) fn tell_of_verdicts(decision: &mut Decision, disputed: &[Disputed]) {
    for answer in &mut decision.verdicts {
        let later = answer.later.as_mut().map(|later| &mut later.verdict);
        for verdict in [&mut answer.verdict].into_iter().chain(later) {
            if let Err(missing) = verdict {
                tell(missing, disputed);
            }
        }
    }
}

fn tell(missing: &mut Missing, disputed: &[Disputed]) {
    for fact in &mut missing.0 {
        if let Some(found) = disputed.iter().find(|one| one.is_lacking(fact)) {
            let unit = found.field.unit();
            let unit = unit.map_or(String::new(), |unit| format!(" in {unit}"));
            fact.of = format!(
                "{}: it was not given, and the rule sets in force take different ones as \
                 usual{unit}: {}",
                fact.of, found.said
            );
        }
    }
}
