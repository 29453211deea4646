//! Parts, gathered from their two tables.

use super::Dated;
use super::draft::{self, Adding, Finished, JudgedBy};
use crate::columns;
use crate::input::calendar::design_begins;
use crate::input::cells::{Cells, Refused, known, words};
use crate::input::error::{Located, Location};
use crate::input::limits::TITLE_MAX_CHARS;
use crate::input::source::Source;
use crate::input::{Item, Names, located, reason};
use domain::configuration::part::{InnerPosition, Part, Vacancy};
use domain::identity::PartNumber;
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use std::collections::HashSet;

/// A part as far as it is read.
struct Draft {
    location: Location,
    /// Its row in `parts`.
    head: Result<(Part, String), Refused>,
    positions: Vec<InnerPosition>,
}

const ADDING: [Adding<Draft>; 1] = [(&columns::PART_POSITIONS, add, JudgedBy::Others)];

/// Reads all parts of an input: in the order of `parts`, but for those that others name, which
/// come before them.
pub(crate) fn gather(source: &mut Source, names: &mut Names) -> Vec<Item> {
    let items = draft::gather((source, names), &columns::PARTS, &ADDING);
    named_first(items)
}

/// Puts parts before those that name them. What could not be read comes first of all, so that it
/// is known to be wanting. Parts that name each other in a circle stay as they stand.
fn named_first(items: Vec<Item>) -> Vec<Item> {
    let mut first = Vec::with_capacity(items.len());
    let mut waiting = Vec::new();
    for item in items {
        match item {
            Ok(part) => waiting.push(part),
            Err(_) => first.push(item),
        }
    }
    while !waiting.is_empty() {
        let still: HashSet<PartNumber> = waiting.iter().filter_map(number).collect();
        let waits = |part: &Located<Command>| {
            let own = number(part);
            let mut named = named_by(part);
            named.any(|name| Some(name) != own.as_ref() && still.contains(name))
        };
        let (later, ready): (Vec<_>, Vec<_>) = waiting.into_iter().partition(waits);
        if ready.is_empty() {
            first.extend(later.into_iter().map(Ok));
            break;
        }
        first.extend(ready.into_iter().map(Ok));
        waiting = later;
    }
    first
}

fn number(located: &Located<Command>) -> Option<PartNumber> {
    match &located.value.fact {
        Fact::PartDefined(part) => Some(part.number.clone()),
        _ => None,
    }
}

/// The parts that a part names: what it approves inside itself, and what it replaces.
fn named_by(located: &Located<Command>) -> impl Iterator<Item = &PartNumber> {
    let part = match &located.value.fact {
        Fact::PartDefined(part) => Some(part),
        _ => None,
    };
    part.into_iter().flat_map(|part| {
        let inside = part.positions.iter().flat_map(|inner| &inner.approved);
        inside.chain(part.replaces.iter().map(|one| &one.part))
    })
}

impl draft::Draft for Draft {
    const KEY: &'static [&'static str] = &["part"];
    const ONCE: &'static str = "each part once";
    const LISTED: &'static str = "a part that parts lists";

    fn begin(cells: &mut Cells<'_>) -> Self {
        let part = read_head(cells);
        let reason = reason(cells);
        Self {
            location: cells.location(),
            head: part.and_then(|part| Ok((part, reason?))),
            positions: Vec::new(),
        }
    }

    fn finish(self) -> Finished {
        let Ok((head, reason)) = self.head else {
            return Err(Vec::new());
        };
        let positions = self.positions;
        let fact = Fact::PartDefined(Part { positions, ..head });
        let at = design_begins();
        Ok(located(self.location, Dated { fact, at }, reason))
    }
}

/// Reads a part that has no positions yet.
fn read_head(cells: &mut Cells<'_>) -> Result<Part, Refused> {
    let number = cells.need("part", known);
    let title = cells.need_aside("title", (words(TITLE_MAX_CHARS), "untold"));
    let kind = cells.need("kind", known);
    let modification_states = cells.list("modification_states", known);
    let replaces = cells.list("replaces", known);
    Ok(Part {
        number: number?,
        title: title?,
        kind: kind?,
        positions: Vec::new(),
        modification_states: modification_states?,
        replaces: replaces?,
    })
}

/// Adds a row of `part_positions`.
fn add(cells: &mut Cells<'_>, draft: &mut Draft) -> Result<(), Refused> {
    let code = cells.need("position", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let kind = cells.need("kind", known);
    let approved = cells.list("approved_parts", known);
    let states = cells.list("approved_states", known);
    let vacancy = cells.maybe("vacancy", known);
    draft.positions.push(InnerPosition {
        code: code?,
        title: title?,
        kind: kind?,
        approved: approved?,
        states: states?,
        vacancy: vacancy?.unwrap_or(Vacancy::Finding),
    });
    Ok(())
}
