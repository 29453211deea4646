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
use crate::input::{Item, Names, Thing, Unread, reason};
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

    /// Not all rows of a table could be read: what is not among those that were may stand there.
    fn misses_rows_of(&mut self, _table: &'static Table) {}

    /// Everything was read.
    fn finish(self) -> Finished;
}

/// A thing as a command, or what is wrong with it as a whole; nothing where that was told by row.
pub(super) type Finished = Result<Located<Command>, Vec<InputError>>;

/// Adds a row to the draft it belongs to.
pub(super) type AddRow<D> = fn(&mut Cells<'_>, &mut D) -> Result<(), Refused>;

/// Whether rows that refer to a thing are judged by a part of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum JudgedBy {
    /// Others are judged by it: where it is wrong, they cannot be.
    Others,
    /// None is: where it is wrong, they are judged without it.
    NoOther,
}

/// A table that adds to things, with the reader of its rows.
pub(super) type Adding<D> = (&'static Table, AddRow<D>, JudgedBy);

/// Reads all things that are described by a first table and others, in the order of the first.
/// All errors of one thing stand together.
pub(super) fn gather<D: Draft>(
    (source, names): (&mut Source, &mut Names),
    first: &'static Table,
    others: &[Adding<D>],
) -> Vec<Item> {
    let mut drafts = Drafts::new(names);
    let heads = drafts.each_row(source, first, |drafts, cells| drafts.begin(first, cells));
    if heads == Seen::Some {
        drafts.names.list_untold(first);
    }
    let mut rest = Seen::All;
    for (table, add, judged) in others {
        let seen = drafts.each_row(source, table, |drafts, cells| {
            drafts.add(cells, (*add, *judged), heads);
        });
        if seen == Seen::Some {
            for kept in &mut drafts.all {
                kept.draft.misses_rows_of(table);
            }
        }
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
struct Drafts<'n, D> {
    all: Vec<Kept<D>>,
    names: &'n mut Names,
    places: HashMap<Vec<String>, usize>,
    /// Whether the names of all things of the first table could be read.
    named: Seen,
    /// Errors that belong to no draft.
    strays: Vec<InputError>,
}

/// A draft with what was found wrong with it.
struct Kept<D> {
    draft: D,
    things: Vec<Thing>,
    errors: Vec<InputError>,
    /// Whether all rows of it are here, as far as those go that others are judged by.
    seen: Seen,
    /// Whether others are judged by anything that is wrong.
    judged: JudgedBy,
}

impl<D> Kept<D> {
    fn note(&mut self, cells: Cells<'_>, judged: JudgedBy) {
        if !cells.wrong_aside() && judged == JudgedBy::Others {
            self.judged = judged;
        }
        self.errors.extend(cells.into_errors());
    }
}

impl<'n, D: Draft> Drafts<'n, D> {
    fn new(names: &'n mut Names) -> Self {
        Self {
            all: Vec::new(),
            names,
            places: HashMap::new(),
            named: Seen::All,
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
        let draft = D::begin(&mut cells);
        let named = key.iter().all(|text| !text.is_empty());
        if named && self.places.contains_key(&key) {
            cells.refuse(D::KEY.last().copied().unwrap_or_default(), D::ONCE);
            return self.strays.extend(cells.into_errors());
        }
        self.names.list(table, &cells);
        let things = Thing::of_row(table, &cells);
        if !named || D::KEY.iter().any(|column| cells.is_wrong(column)) {
            self.named = Seen::Some;
        }
        let mut kept = Kept {
            draft,
            things,
            errors: Vec::new(),
            seen: Seen::All,
            judged: JudgedBy::NoOther,
        };
        kept.note(cells, JudgedBy::Others);
        if named {
            self.places.insert(key, self.all.len());
        }
        self.all.push(kept);
    }

    /// Adds a row of one of the other tables.
    fn add(&mut self, cells: Cells<'_>, (add, judged): (AddRow<D>, JudgedBy), heads: Seen) {
        let mut cells = cells.beside(self.names);
        let key = key::<D>(&cells);
        let place = self.places.get(&key);
        if let Some(kept) = place.and_then(|&place| self.all.get_mut(place)) {
            // Whatever was wrong is noted in the cells.
            let _ = add(&mut cells, &mut kept.draft);
            let _ = reason(&mut cells);
            cells.check_names();
            return kept.note(cells, judged);
        }
        let absent = D::KEY.iter().find(|column| !cells.is_filled(column));
        match (absent, D::KEY.first()) {
            (Some(column), _) => drop(cells.refuse_other(column)),
            (None, Some(column)) if heads.and(self.named) == Seen::All => {
                let readable = key.iter().all(|text| !text.is_empty());
                if readable {
                    cells.refuse(self.unlisted(&key).unwrap_or(*column), D::LISTED);
                }
            }
            _ => {}
        }
        let (table, errors) = (cells.table(), cells.into_errors());
        if !errors.is_empty() {
            self.lost_row(table, &key, judged);
        }
        self.strays.extend(errors);
    }

    /// The column of a row that names nothing which the first table has: the last of those that do,
    /// where others before it do.
    fn unlisted(&self, key: &[String]) -> Option<&'static str> {
        let first = key.first();
        let listed = self.places.keys().any(|known| known.first() == first);
        D::KEY.last().copied().filter(|_| listed)
    }

    /// Notes that a row belongs to nobody knows which thing: one of those that it names in part, or
    /// else any.
    fn lost_row(&mut self, table: &'static Table, key: &[String], judged: JudgedBy) {
        let same = |known: &[String]| {
            let mut texts = known.iter().zip(key);
            texts.any(|(known, text)| known == text)
        };
        let named = self
            .places
            .iter()
            .filter(|(known, _)| same(known.as_slice()));
        let mut places: Vec<usize> = named.map(|(_, place)| *place).collect();
        if places.is_empty() {
            places = (0..self.all.len()).collect();
        }
        for place in places {
            if let Some(kept) = self.all.get_mut(place) {
                kept.draft.misses_rows_of(table);
                if judged == JudgedBy::Others {
                    kept.seen = Seen::Some;
                }
            }
        }
    }

    /// Where rows of the other tables could not be read, nobody knows which thing lacks them:
    /// none is whole, and what is wrong with those rows is told once.
    fn finish(self, untold: Option<Thing>, rest: Seen) -> Vec<Item> {
        let mut things: Vec<Thing> = untold.into_iter().collect();
        let mut items = Vec::with_capacity(self.all.len() + 1);
        for kept in self.all {
            let Kept {
                things: brings,
                errors,
                ..
            } = kept;
            match (kept.draft.finish(), rest.and(kept.seen)) {
                (Ok(located), Seen::All) if errors.is_empty() => items.push(Ok(located)),
                (Ok(located), Seen::All) if kept.judged == JudgedBy::NoOther => {
                    let unread = Unread::new(errors, None);
                    items.push(Err(unread.standing_in(vec![located])));
                }
                (_, Seen::Some) if errors.is_empty() => things.extend(brings),
                (Err(whole), Seen::All) if errors.is_empty() => {
                    items.push(Err(Unread::new(whole, brings)));
                }
                _ => items.push(Err(Unread::new(errors, brings))),
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
