//! Speed over distance, and the table of speeds that are still permitted by gradient.

use super::link::QuestionLink;
use super::shown::METHOD;
use crate::drawing::speed_distance::{SpeedDistance, diagram};
use domain::braking::stopping_distance::Method;
use domain::braking::stopping_distance::braked_weight_relation::CONSTANTS;
use domain::decision::permitted::{PermittedPair, PermittedRow, permitted_table};
use domain::decision::{Decision, METHODS, Standing};
use domain::units::Speed;
use domain::worked::{Missing, MissingFact};

/// Diagram and table, with the choice of methods.
#[derive(Debug)]
pub(crate) struct Speeds {
    pub(crate) diagram: Option<SpeedDistance>,
    pub(crate) table: Option<SpeedTable>,
    /// What is lacking for the table.
    pub(crate) missing: Vec<MissingFact>,
    pub(crate) choice: Choice,
}

/// The form that chooses methods.
#[derive(Debug)]
pub(crate) struct Choice {
    /// What the form must bring along.
    pub(crate) hidden: Vec<(String, String)>,
    /// Every method: its name, its words, whether it is shown.
    pub(crate) methods: Vec<(&'static str, &'static str, bool)>,
}

/// The table.
#[derive(Debug)]
pub(crate) struct SpeedTable {
    pub(crate) within: String,
    pub(crate) most: String,
    pub(crate) methods: Vec<&'static str>,
    pub(crate) rows: Vec<SpeedRow>,
    /// Why a method has no answer, once each.
    pub(crate) notes: Vec<String>,
    /// The speeds of which alone a method says something, where it is shown.
    pub(crate) constants: Option<String>,
}

/// A row of it.
#[derive(Debug)]
pub(crate) struct SpeedRow {
    pub(crate) gradient: String,
    /// Whether it is the gradient asked for.
    pub(crate) asked: bool,
    /// Before and after, and whether it is lower after.
    pub(crate) cells: Vec<(String, String, bool)>,
}

impl Speeds {
    pub(crate) fn of(decision: &Decision, link: &QuestionLink) -> Self {
        let chosen = link.shown.chosen(&decision.stopping);
        let after = match decision.standing {
            Standing::AsItStands => "as it stands",
            Standing::WhatIf => "as supposed",
        };
        let found = permitted_table(&chosen, &decision.way, decision.speed_max);
        let missing = found.as_ref().err().map_or(Vec::new(), |m| m.0.clone());
        let table = found.ok().map(|table| SpeedTable {
            within: format!("{:.0}", table.within),
            most: format!("{:.0}", table.most),
            methods: table.methods.iter().map(|method| method.label()).collect(),
            notes: notes(&table.methods, &table.rows),
            constants: table
                .methods
                .contains(&Method::BrakedWeightRelation)
                .then(constants),
            rows: table.rows.iter().map(|row| row_of(row, decision)).collect(),
        });
        Self {
            diagram: diagram(&chosen, &decision.way, after),
            table,
            missing,
            choice: Choice::of(link),
        }
    }
}

fn row_of(row: &PermittedRow, decision: &Decision) -> SpeedRow {
    let cell = |pair: &PermittedPair| {
        let lower = match (&pair.before, &pair.after) {
            (Ok(before), Ok(after)) => after < before,
            (Ok(_), Err(_)) => true,
            (Err(_), _) => false,
        };
        // What stands before a speed that is only a lower bound.
        let bound = |at_least| if at_least { "at least " } else { "" };
        let [before_bound, after_bound] = pair.at_least.map(bound);
        (
            words(before_bound, &pair.before),
            words(after_bound, &pair.after),
            lower,
        )
    };
    SpeedRow {
        gradient: format!("{}", row.gradient.0),
        asked: decision.way.gradient == Some(row.gradient),
        cells: row.by_method.iter().map(cell).collect(),
    }
}

fn words(bound: &str, found: &Result<Option<Speed>, Missing>) -> String {
    match found {
        Ok(Some(speed)) => format!("{bound}{:.0}", speed.0),
        Ok(None) => "none".to_owned(),
        Err(_) => "?".to_owned(),
    }
}

/// "100 and 120 km/h".
fn constants() -> String {
    let speeds = CONSTANTS.iter().map(|of| format!("{:.0}", of.speed.0));
    format!("{} km/h", speeds.collect::<Vec<_>>().join(" and "))
}

/// Why a method has no answer, each reason once.
fn notes(methods: &[Method], rows: &[PermittedRow]) -> Vec<String> {
    let of_method = |(place, method): (usize, &Method)| {
        let pairs = rows.iter().filter_map(|row| row.by_method.get(place));
        let mut whys = pairs.filter_map(|pair| match (&pair.before, &pair.after) {
            (Err(missing), _) | (_, Err(missing)) => Some(missing.0.first()?),
            _ => None,
        });
        let fact = whys.next()?;
        Some(format!(
            "{}: needs {} ({})",
            method.label(),
            fact.what,
            fact.of
        ))
    };
    methods.iter().enumerate().filter_map(of_method).collect()
}

impl Choice {
    fn of(link: &QuestionLink) -> Self {
        let hidden = link.pairs().into_iter().filter(|(name, _)| *name != METHOD);
        Self {
            hidden: hidden
                .map(|(name, value)| (name.to_owned(), value))
                .collect(),
            methods: METHODS
                .iter()
                .map(|method| (method.name(), method.label(), link.shown.shows(*method)))
                .collect(),
        }
    }
}
