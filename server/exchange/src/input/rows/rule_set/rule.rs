//! A rule of a rule set.

use super::quantity::quantity;
use super::{Draft, read_scope};
use crate::input::cells::{Cells, Refused, known, words};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::json;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::rule_set::requirement::Requirement;
use domain::rule_set::{OnlyIf, Rule};
use domain::units::{Distance, Gradient, Speed};
use domain::worked::Source;

/// Adds a row of `rules`.
pub(super) fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    draft.rows += 1;
    let numbered = read_number(cells, draft.rows);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let source = read_source(cells, ("source_kind", "source"));
    let scope = read_scope(cells);
    let only_if = read_only_if(cells);
    let requirement = cells.need("requirement", read_requirement);
    numbered?;
    draft.rules.push(Rule {
        title: title?,
        source: source?,
        scope: scope?,
        only_if: only_if?,
        requirement: requirement?,
    });
    Ok(())
}

/// Checks that the rules of a set stand in the order of their numbers, so that none is lost
/// unnoticed.
fn read_number(cells: &mut Cells<'_>, place: u32) -> Result<(), Refused> {
    let expected = format!("{place}: the rules of a set are numbered 1, 2, 3 in their rows");
    let number = place.to_string();
    let is_next = |text: &str| (text == number).then_some(()).ok_or(expected.clone());
    cells.need("rule", is_next)
}

/// Reads where something comes from: a column of its kind and a column of its words.
pub(super) fn read_source(
    cells: &mut Cells<'_>,
    (kind, source): (&str, &str),
) -> Result<Source, Refused> {
    let words = cells.maybe(source, words(REASON_MAX_CHARS))?;
    match (cells.text(kind), words) {
        ("published", Some(words)) => Ok(Source::Published(words)),
        ("operator", Some(words)) => Ok(Source::Operator(words)),
        ("published" | "operator", None) => Err(cells.refuse_other(source)),
        ("common_practice", None) => Ok(Source::CommonPractice),
        ("common_practice", Some(_)) => {
            Err(cells.refuse(source, "nothing where it is common practice"))
        }
        _ => Err(cells.refuse_other(kind)),
    }
}

/// Reads from which hardship on the rule holds.
fn read_only_if(cells: &mut Cells<'_>) -> Result<OnlyIf, Refused> {
    let falls_steeper_than = cells.maybe("falls_steeper_than_per_mille", quantity(Gradient));
    let faster_than = cells.maybe("faster_than_km_h", quantity(Speed));
    let further_than = cells.maybe("further_than_m", quantity(Distance));
    let in_season = cells.maybe("in_season", known);
    let on_routes = cells.list("on_routes", known);
    Ok(OnlyIf {
        falls_steeper_than: falls_steeper_than?,
        faster_than: faster_than?,
        further_than: further_than?,
        in_season: in_season?,
        on_routes: on_routes?,
    })
}

/// Reads a requirement in JSON. What is unknown, lacking or twice there is refused.
fn read_requirement(text: &str) -> Result<Requirement, String> {
    json::read(text.as_bytes()).map_err(|wrong| {
        format!("a requirement in JSON as the description of the format shows them; {wrong}")
    })
}
