//! Things that several small tables describe together: one row in the first table and any
//! number of rows in the others, with the same name and revision. They are few and are held in
//! memory until the last of the tables is read.

use crate::columns::Table;
use crate::input::cells::{Cells, Refused};
use crate::input::error::InputError;
use crate::input::error::Located;
use crate::input::limits::DESIGN_ROWS_MAX;
use crate::input::record::Record;
use crate::input::source::Source;
use crate::input::table_rows::TableRows;
use crate::input::{Item, Thing, Unread, reason};
use domain::ledger::command::Command;
use std::collections::HashMap;

/// A thing as far as it is read.
pub(super) trait Draft: Sized {
    /// The columns that name it, which all its tables have.
    const KEY: &'static [&'static str];
    /// What is expected where the first table has it twice.
    const ONCE: &'static str;
    /// What is expected where another table has it and the first has not.
    const LISTED: &'static str;

    /// Begins with the row in the first table. If that cannot be read, the other rows are
    /// checked all the same.
    fn begin(cells: &mut Cells<'_>) -> Self;

    /// What was found wrong with it.
    fn errors(&mut self) -> &mut Vec<InputError>;

    /// Everything was read.
    fn finish(self) -> Finished;
}

/// A thing as a command, or what is wrong with it.
pub(super) type Finished = Result<Located<Command>, Vec<InputError>>;

/// Adds a row to the draft it belongs to.
pub(super) type AddRow<D> = fn(&mut Cells<'_>, &mut D) -> Result<(), Refused>;

/// Reads all things that are described by a first table and others, in the order of the first.
/// All errors of one thing stand together.
pub(super) fn gather<D: Draft>(
    source: &mut Source,
    first: &'static Table,
    others: &[(&'static Table, AddRow<D>)],
) -> Vec<Item> {
    let mut drafts = Drafts::new();
    let heads = drafts.each_row(source, first, |drafts, cells| drafts.begin(first, cells));
    let mut rest = Seen::All;
    for (table, add) in others {
        let seen = drafts.each_row(source, table, |drafts, cells| {
            drafts.add(cells, *add, heads);
        });
        rest = rest.and(seen);
    }
    let untold = Thing::of_table(first).filter(|_| heads == Seen::Some);
    drafts.finish(untold, rest)
}

/// Whether all rows of a table could be looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Seen {
    All,
    Some,
}

impl Seen {
    fn and(self, other: Self) -> Self {
        if self == Self::All { other } else { self }
    }
}

/// The drafts of an input, found by the texts that name them.
struct Drafts<D> {
    all: Vec<(D, Option<Thing>)>,
    places: HashMap<Vec<String>, usize>,
    /// Errors that belong to no draft.
    strays: Vec<InputError>,
}

impl<D: Draft> Drafts<D> {
    fn new() -> Self {
        Self {
            all: Vec::new(),
            places: HashMap::new(),
            strays: Vec::new(),
        }
    }

    /// Shows each row of a table to a reader.
    fn each_row(
        &mut self,
        source: &mut Source,
        table: &'static Table,
        mut read: impl FnMut(&mut Self, Cells<'_>),
    ) -> Seen {
        let mut rows = match source.open(table) {
            None => return Seen::All,
            Some(Ok(rows)) => rows,
            Some(Err(errors)) => {
                self.strays.extend(errors);
                return Seen::Some;
            }
        };
        let mut record = Record::default();
        let mut seen = Seen::All;
        let mut count = 0;
        while let Some(row) = rows.next(&mut record) {
            count += 1;
            if DESIGN_ROWS_MAX < count {
                self.strays.push(too_many(&rows, &record));
                return Seen::Some;
            }
            match row {
                Ok(()) => read(self, Cells::new(&rows, &record)),
                Err(error) => {
                    self.strays.push(error);
                    seen = Seen::Some;
                }
            }
        }
        seen
    }

    /// Begins a draft with its row in the first table.
    fn begin(&mut self, table: &Table, mut cells: Cells<'_>) {
        let key = key::<D>(&cells);
        let mut draft = D::begin(&mut cells);
        if self.places.contains_key(&key) {
            cells.refuse(D::KEY.last().copied().unwrap_or_default(), D::ONCE);
            return self.strays.extend(cells.into_errors());
        }
        let thing = Thing::of_row(table, &cells);
        draft.errors().extend(cells.into_errors());
        self.places.insert(key, self.all.len());
        self.all.push((draft, thing));
    }

    /// Adds a row of one of the other tables.
    fn add(&mut self, mut cells: Cells<'_>, add: AddRow<D>, heads: Seen) {
        let place = self.places.get(&key::<D>(&cells));
        if let Some((draft, _)) = place.and_then(|&place| self.all.get_mut(place)) {
            // Whatever was wrong is noted in the cells.
            let _ = add(&mut cells, draft);
            let _ = reason(&mut cells);
            return draft.errors().extend(cells.into_errors());
        }
        let absent = D::KEY.iter().find(|column| !cells.is_filled(column));
        match (absent, D::KEY.first()) {
            (Some(column), _) => drop(cells.refuse_other(column)),
            (None, Some(column)) if heads == Seen::All => {
                cells.refuse(column, D::LISTED);
            }
            _ => {}
        }
        self.strays.extend(cells.into_errors());
    }

    /// Where rows of the other tables could not be read, nobody knows which thing lacks them:
    /// none is whole, and what is wrong with those rows is told once.
    fn finish(self, untold: Option<Thing>, rest: Seen) -> Vec<Item> {
        let mut things: Vec<Thing> = untold.into_iter().collect();
        let mut items = Vec::with_capacity(self.all.len() + 1);
        for (draft, thing) in self.all {
            match (draft.finish(), rest) {
                (Ok(located), Seen::All) => items.push(Ok(located)),
                (Ok(_), Seen::Some) => things.extend(thing),
                (Err(errors), _) => items.push(Err(Unread::new(errors, thing))),
            }
        }
        if !self.strays.is_empty() {
            items.insert(0, Err(Unread::new(self.strays, things)));
        }
        items
    }
}

fn key<D: Draft>(cells: &Cells<'_>) -> Vec<String> {
    let texts = D::KEY.iter().map(|column| cells.text(column).to_owned());
    texts.collect()
}

fn too_many(rows: &TableRows, record: &Record) -> InputError {
    let expected = format!("expected at most {DESIGN_ROWS_MAX} rows in {}", rows.file);
    InputError::at(rows.location(record), "", expected)
}
