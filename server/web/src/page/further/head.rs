//! What all these pages begin with: which train, as it stands or supposed, and where else to go.

use super::posed::Posed;
use super::{Further, WHAT};
use crate::address::encoded;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::frame::Frame;
use crate::page::decision::link::{CLOSE, FORMATION, QuestionLink};
use crate::session::SignedIn;
use crate::state::WebState;
use domain::decision::Standing;
use domain::decision::asked::AskedField;
use domain::worked::{Missing, MissingFact};
use std::collections::BTreeMap;

/// The beginning of a page.
pub(crate) struct Head {
    pub(crate) frame: Frame,
    pub(crate) title: String,
    pub(crate) about: &'static str,
    /// Of which time the page speaks.
    pub(crate) speaks: PageSpeaks,
    pub(crate) what_if: bool,
    pub(crate) supposed: Vec<String>,
    /// The decision about the same train in the same state.
    pub(crate) decision: String,
    /// The same page about the train as it stands.
    pub(crate) as_it_stands: String,
    /// The other pages about it: name, address, whether it is this one.
    pub(crate) others: Vec<(&'static str, String, bool)>,
    /// Load and brake position, as asked or assumed.
    pub(crate) case: String,
    /// The path of the page, for forms.
    pub(crate) action: String,
    /// What forms must bring along.
    pub(crate) hidden: Vec<(String, String)>,
    /// The numbers of the cars.
    pub(crate) cars: Vec<String>,
    /// The positions of their circuits: code and words, each code once.
    pub(crate) positions: Vec<(String, String)>,
    /// The reservoirs whose air is not counted, and why.
    pub(crate) not_counted: Vec<String>,
    /// Why nothing can be answered.
    pub(crate) missing: Vec<MissingFact>,
}

impl Head {
    pub(crate) fn new(
        (state, signed_in): (&WebState, &SignedIn),
        title: &str,
        (further, speaks): (Further, &Speaks),
        posed: &Posed,
    ) -> Self {
        let link = &posed.link;
        let now = link.clone().of_times(AsAtQuery::default());
        let (name, about) = name_of(further);
        let others = Further::CHOICES
            .map(|(page, name, words)| (words, address(link, &link.same(), name), page == further));
        let missing = posed.asking.question.as_ref().err();
        let path = address(link, &now.same(), name);
        Self {
            frame: Frame::new(state, signed_in),
            title: title.to_owned(),
            about,
            speaks: PageSpeaks::new((&link.times, speaks), path, WHAT),
            what_if: link.standing() == Standing::WhatIf,
            supposed: link.supposed.iter().map(ToString::to_string).collect(),
            decision: link.same(),
            as_it_stands: address(link, &link.as_it_stands(), name),
            others: others.into(),
            case: case(posed),
            action: format!("{}/{name}", link.path()),
            hidden: hidden(link),
            cars: posed
                .asking
                .cars
                .iter()
                .map(|car| car.number.to_string())
                .collect(),
            positions: positions(posed),
            not_counted: not_counted(posed, further),
            missing: missing.map_or(Vec::new(), |missing| missing.0.clone()),
        }
    }

    /// The page without an answer, and why.
    pub(crate) fn lacking(mut self, missing: Missing) -> Self {
        self.missing = missing.0;
        self
    }

    /// The address of this page with fields beyond the question.
    pub(crate) fn with<'a>(&self, fields: impl IntoIterator<Item = (&'a str, String)>) -> String {
        let question = self
            .hidden
            .iter()
            .map(|(name, value)| (name.clone(), value.clone()));
        let query: Vec<String> = question
            .chain(
                fields
                    .into_iter()
                    .map(|(name, value)| (name.to_owned(), value)),
            )
            .map(|(name, value)| format!("{name}={}", encoded(value)))
            .collect();
        format!("{}?{}", self.action, query.join("&"))
    }
}

/// "Car 4104 =BS-CM1: not counted: …" of each. What reveals a wrong cock is asked of a train that is sound.
fn not_counted(posed: &Posed, further: Further) -> Vec<String> {
    let asked = posed.asking.question.as_ref().ok();
    let asked = asked.filter(|_| further != Further::Revealed);
    let spent = asked.map(|question| question.air_not_counted().unwrap_or_default());
    let spent = spent.into_iter().flatten();
    spent
        .map(|one| format!("Car {} {}: {}", one.at.car, one.at.position, one.because))
        .collect()
}

fn name_of(further: Further) -> (&'static str, &'static str) {
    let mut choices = Further::CHOICES.into_iter();
    choices
        .find(|(page, ..)| *page == further)
        .map_or(("weak-points", "Weak points"), |(_, name, words)| {
            (name, words)
        })
}

/// The address of a page about the train of a question.
pub(crate) fn address(link: &QuestionLink, question: &str, name: &str) -> String {
    let query = question.strip_prefix(link.path()).unwrap_or_default();
    format!("{}/{name}{query}", link.path())
}

fn hidden(link: &QuestionLink) -> Vec<(String, String)> {
    let formation = link
        .formation()
        .map(|f| (FORMATION.to_owned(), f.to_owned()));
    let fields = link
        .fields()
        .map(|(name, text)| (name.to_owned(), text.to_owned()));
    let supposed = link
        .supposed
        .iter()
        .map(|one| (CLOSE.to_owned(), one.to_string()));
    let times = link.times.given();
    let times = times.map(|(name, text)| (name.to_owned(), text));
    formation
        .into_iter()
        .chain(fields)
        .chain(supposed)
        .chain(times)
        .collect()
}

fn case(posed: &Posed) -> String {
    let words = &posed.asking.words;
    let assumed = |field| {
        if posed.asking.assumed.contains(&field) {
            " (assumed)"
        } else {
            ""
        }
    };
    format!(
        "load {}{}, brake position {}{}",
        words.text(AskedField::Load),
        assumed(AskedField::Load),
        words.text(AskedField::BrakePosition),
        assumed(AskedField::BrakePosition),
    )
}

fn positions(posed: &Posed) -> Vec<(String, String)> {
    let mut positions: BTreeMap<String, String> = BTreeMap::new();
    for car in &posed.asking.cars {
        let car_type = car.circuit.car_type();
        for node in &car_type.circuit.nodes {
            let title = car_type.position(&node.position).map(|p| p.title.clone());
            positions
                .entry(node.position.to_string())
                .or_insert_with(|| title.unwrap_or_default());
        }
    }
    positions.into_iter().collect()
}
