//! Rule sets, gathered from their two tables.

mod quantity;
mod rule;

use super::Dated;
use super::draft::{self, Adding, Finished, JudgedBy};
use crate::columns;
use crate::input::calendar::design_begins;
use crate::input::cells::{Cells, Refused, known, whole, words};
use crate::input::error::Location;
use crate::input::limits::NOTE_MAX_CHARS;
use crate::input::source::Source;
use crate::input::{Item, Names, located, reason};
use domain::identity::PersonName;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;
use domain::people::agreement::Agreement;
use domain::rule_set::usual::{HoldingAdhesion, Usual};
use domain::rule_set::{Rule, RuleSet, Scope};
use domain::units::{Distance, Gradient, Thousandths};
use quantity::quantity;

/// A rule set as far as it is read.
struct Draft {
    location: Location,
    /// Its row in `rule_sets`.
    head: Result<(RuleSet, String), Refused>,
    /// How many rows of `rules` there are so far.
    rows: u32,
    rules: Vec<Rule>,
}

const ADDING: [Adding<Draft>; 1] = [(&columns::RULES, rule::add, JudgedBy::Others)];

/// Reads all rule sets of an input, in the order of `rule_sets`.
pub(crate) fn gather(source: &mut Source, names: &mut Names) -> Vec<Item> {
    draft::gather((source, names), &columns::RULE_SETS, &ADDING)
}

impl draft::Draft for Draft {
    const KEY: &'static [&'static str] = &["rule_set", "revision"];
    const ONCE: &'static str = "each revision of a rule set once";
    const LISTED: &'static str = "a rule set and revision that rule_sets lists";

    fn begin(cells: &mut Cells<'_>) -> Self {
        let rule_set = read_head(cells);
        let reason = reason(cells);
        Self {
            location: cells.location(),
            head: rule_set.and_then(|rule_set| Ok((rule_set, reason?))),
            rows: 0,
            rules: Vec::new(),
        }
    }

    fn finish(self) -> Finished {
        let Ok((head, reason)) = self.head else {
            return Err(Vec::new());
        };
        let rules = self.rules;
        let fact = Fact::RuleSetIssued(Box::new(RuleSet { rules, ..head }));
        let at = design_begins();
        Ok(located(self.location, Dated { fact, at }, reason))
    }
}

/// Reads a rule set that has no rules yet. Its validity is not part of an invented history, so
/// its days are read as they stand.
fn read_head(cells: &mut Cells<'_>) -> Result<RuleSet, Refused> {
    let name = cells.need("rule_set", known);
    let revision = cells.need("revision", known);
    let issuer = cells.need("issuer", words(REASON_MAX_CHARS));
    let note = cells.need("note", words(NOTE_MAX_CHARS));
    let valid_from = cells.need("valid_from", known);
    let valid_until = cells.maybe("valid_until", known);
    let scope = read_scope(cells);
    let usual = read_usual(cells);
    let agreed = read_agreed(cells);
    Ok(RuleSet {
        name: name?,
        revision: revision?,
        issuer: issuer?,
        note: note?,
        valid_from: valid_from?,
        valid_until: valid_until?,
        scope: scope?,
        usual: usual?,
        rules: Vec::new(),
        agreed: Some(agreed?),
    })
}

/// Reads the two people who agreed on a rule set. What is brought in takes effect at once, so
/// the file must name both.
fn read_agreed(cells: &mut Cells<'_>) -> Result<Agreement, Refused> {
    let proposed_by = cells.need("proposed_by", known::<PersonName>)?;
    cells.need("approved_by", |text: &str| {
        let approved_by = known(text)?;
        Agreement::new(proposed_by.clone(), approved_by).map_err(|why| why.expected)
    })
}

/// Reads the nine columns of what is taken as usual.
fn read_usual(cells: &mut Cells<'_>) -> Result<Usual, Refused> {
    let load = cells.maybe("usual_load", known);
    let gradient = cells.maybe("usual_gradient_per_mille", quantity(Gradient));
    let signalling_distance = cells.maybe("usual_signalling_distance_m", quantity(Distance));
    let whereabouts = cells.maybe("usual_whereabouts", known);
    let train_kind = cells.maybe("usual_train_kind", known);
    let movement = cells.maybe("usual_movement", known);
    let holding_adhesion = read_holding_adhesion(cells);
    Ok(Usual {
        load: load?,
        gradient: gradient?,
        signalling_distance: signalling_distance?,
        whereabouts: whereabouts?,
        train_kind: train_kind?,
        movement: movement?,
        holding_adhesion: holding_adhesion?,
    })
}

/// Reads the three columns of the holding adhesion; a source without an adhesion is refused.
fn read_holding_adhesion(cells: &mut Cells<'_>) -> Result<Option<HoldingAdhesion>, Refused> {
    const COLUMNS: [&str; 3] = [
        "usual_holding_adhesion_thousandths",
        "usual_holding_adhesion_source_kind",
        "usual_holding_adhesion_source",
    ];
    let [adhesion, kind, source] = COLUMNS;
    if !COLUMNS.iter().any(|column| cells.is_filled(column)) {
        return Ok(None);
    }
    let thousandths = cells.need(adhesion, whole(10..=500));
    let source = rule::read_source(cells, (kind, source));
    Ok(Some(HoldingAdhesion {
        thousandths: Thousandths(thousandths?),
        source: source?,
    }))
}

/// Reads the three columns that say for which trains and places something holds.
fn read_scope(cells: &mut Cells<'_>) -> Result<Scope, Refused> {
    let whereabouts = cells.list("whereabouts", known);
    let kinds = cells.list("train_kinds", known);
    let movements = cells.list("movements", known);
    Ok(Scope {
        whereabouts: whereabouts?,
        kinds: kinds?,
        movements: movements?,
    })
}
