//! The form of the question: every field as it was asked, and which of them were assumed.

use super::link::{CLOSE, FORMATION, QuestionLink};
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::decision::Standing;
use domain::decision::answer::Answer;
use domain::decision::asked::AskedField;
use domain::rule_set::facts::{Movement, TrainKind, Whereabouts};

/// The form.
#[derive(Debug)]
pub(crate) struct Asking {
    pub(crate) action: String,
    pub(crate) hidden: Vec<(&'static str, String)>,
    pub(crate) fields: Vec<AskingField>,
    /// What stands before a verdict that is none of the train as it stands now; else empty.
    pub(crate) tag: &'static str,
    /// Over the figures of the train as it is asked about.
    pub(crate) stands: &'static str,
    /// Where the question can be changed and the rules are told, unless on the page itself.
    pub(crate) elsewhere: String,
    /// Whether something was assumed.
    pub(crate) assumed: bool,
    /// Whether something cannot be read.
    pub(crate) faulty: bool,
}

/// A field of it.
#[derive(Debug)]
pub(crate) struct AskingField {
    pub(crate) name: &'static str,
    pub(crate) label: &'static str,
    pub(crate) value: String,
    /// The values to choose from, with their words; none for a number.
    pub(crate) choices: Vec<(&'static str, String)>,
    pub(crate) unit: &'static str,
    pub(crate) assumed: bool,
    /// Why that was assumed, where nothing else on the page says so.
    pub(crate) because: &'static str,
    pub(crate) error: Option<String>,
}

impl AskingField {
    /// What it says, with its unit, for paper and for the line of what was asked.
    pub(crate) fn words(&self) -> String {
        let chosen = self.choices.iter().find(|(value, _)| *value == self.value);
        match chosen {
            _ if self.value.is_empty() => "not known".to_owned(),
            Some((_, words)) => words.clone(),
            None if self.unit.is_empty() => self.value.clone(),
            None => format!("{} {}", self.value, self.unit),
        }
    }
}

impl Asking {
    /// The form of an answered question.
    pub(crate) fn new(answer: &Answer, link: &QuestionLink) -> Self {
        let field = |field: &AskedField| AskingField {
            name: field.name(),
            label: label(*field),
            value: answer.words.text(*field).to_owned(),
            choices: choices(*field),
            unit: field.unit().unwrap_or_default(),
            assumed: answer.assumed.contains(field),
            because: answer.because(*field).unwrap_or_default(),
            error: error(answer, *field),
        };
        let formation = link.formation().map(|f| (FORMATION, f.to_owned()));
        let supposed = link.supposed.iter().map(|one| (CLOSE, one.to_string()));
        let (tag, stands) = match (link.standing(), link.is_of_then()) {
            (Standing::AsItStands, false) => ("", "As it stands"),
            (Standing::WhatIf, false) => ("What if", "As supposed"),
            (Standing::AsItStands, true) => ("As at then", "As it stood"),
            (Standing::WhatIf, true) => ("What if, as at then", "As supposed"),
        };
        Self {
            tag,
            stands,
            elsewhere: String::new(),
            action: link.path().to_owned(),
            hidden: formation
                .into_iter()
                .chain(supposed)
                .chain(link.times.given())
                .chain(link.shown.pairs())
                .collect(),
            fields: AskedField::ALL.iter().map(field).collect(),
            assumed: !answer.assumed.is_empty(),
            faulty: !answer.faults.is_empty(),
        }
    }
}

fn error(answer: &Answer, field: AskedField) -> Option<String> {
    let mut faults = answer.faults.iter();
    let (_, why) = faults.find(|(of, _)| *of == field)?;
    Some(format!("expected {}", why.expected))
}

fn label(field: AskedField) -> &'static str {
    match field {
        AskedField::Load => "Load",
        AskedField::BrakePosition => "Brake position",
        AskedField::Speed => "Speed to stop from",
        AskedField::Gradient => "Steepest gradient ahead; falling is negative",
        AskedField::SignallingDistance => "Signalling distance",
        AskedField::DistanceToGo => "Distance to go",
        AskedField::Whereabouts => "Where it is",
        AskedField::TrainKind => "Kind of train",
        AskedField::Movement => "Runs",
        AskedField::Route => "Route",
        AskedField::HoldingAdhesion => "Adhesion of a holding axle, at most",
    }
}

fn choices(field: AskedField) -> Vec<(&'static str, String)> {
    macro_rules! all {
        ($word:ty) => {
            <$word>::ALL
                .iter()
                .map(|word| (word.name(), word.to_string()))
                .collect()
        };
    }
    match field {
        AskedField::Load => all!(LoadState),
        AskedField::BrakePosition => all!(BrakePosition),
        AskedField::Whereabouts => all!(Whereabouts),
        AskedField::TrainKind => all!(TrainKind),
        AskedField::Movement => all!(Movement),
        AskedField::Speed
        | AskedField::Gradient
        | AskedField::SignallingDistance
        | AskedField::DistanceToGo
        | AskedField::Route
        | AskedField::HoldingAdhesion => Vec::new(),
    }
}
