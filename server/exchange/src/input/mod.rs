//! Bringing data in: a folder of CSV files or an XLSX workbook, read row by row as commands to
//! the register. The format is that of [`crate::columns`].
//!
//! Nothing is recorded here. The caller reads an input to its end, collects all errors in a
//! [`Report`](crate::report::Report), and records the commands only if there are none.

mod archive;
mod calendar;
mod cells;
mod command;
mod csv_rows;
mod error;
mod groups;
mod header;
pub mod limits;
mod listed;
mod names;
mod number_format;
mod record;
pub(crate) mod rows;
mod said;
mod source;
mod table_rows;
mod things;
mod unread;
mod workbook;

#[cfg(test)]
mod tests;

pub use calendar::Options;
pub use error::{InputError, Located, Location, Tells};
pub use names::Names;
use things::Kind;
pub use things::Thing;
pub(crate) use unread::Wanting;
pub use unread::{Refers, Unread};

use crate::columns::Table;
use cells::Cells;
use command::{located, reason};
use domain::ledger::command::Command;
use groups::{Group, Groups};
use record::Record;
use rows::{ReadGroup, ReadRow, STEPS, Step};
use said::Said;
use source::Source;
use std::collections::VecDeque;
use std::path::Path;
use table_rows::TableRows;

/// What an input gives: a command with the row it comes from, or all that is wrong with a row
/// or with rows that belong together.
pub type Item = Result<Located<Command>, Unread>;

/// An input being read. It gives commands in an order in which each builds on those before it.
///
/// Memory does not grow with the rows of CSV files, except for the few that describe car types,
/// cars, units and rule sets; a sheet of a workbook is held while it is read, see [`limits::SHEET_ROWS_MAX`].
pub struct Input {
    source: Source,
    options: Options,
    steps: std::array::IntoIter<Step, { STEPS.len() }>,
    current: Option<Reading>,
    ready: VecDeque<Item>,
    said: Said,
    names: Names,
}

/// The tables whose rows are taken in the order of time, however they stand: a car leaves one unit
/// before it comes into another.
const IN_TIME: [&str; 2] = ["cars", "units"];

/// A table being read.
enum Reading {
    Rows(TableRows, ReadRow),
    Groups(Groups, ReadGroup),
}

impl Input {
    /// Opens a folder or a workbook. An error says that nothing can be read at all; whatever is
    /// wrong with single tables comes with the rows.
    pub fn open(path: &Path, options: Options) -> Result<Self, InputError> {
        let source = Source::at(path)?;
        let ready = source.strangers().into_iter().map(Err);
        Ok(Self {
            source,
            options,
            steps: STEPS.into_iter(),
            current: None,
            ready: ready.collect(),
            said: Said::default(),
            names: Names::default(),
        })
    }

    /// The same input, read beside a register: it may name positions of the register's cars by
    /// any of their names.
    #[must_use]
    pub fn beside(self, mut names: Names) -> Self {
        let unread = self.ready.iter().filter_map(|item| item.as_ref().err());
        let untold = unread.flat_map(|unread| &unread.things);
        untold.for_each(|thing| names.add(thing));
        Self { names, ..self }
    }

    /// Takes in which things a table lists, of a kind of which there are few: a row may name one
    /// that stands after it.
    fn list_ahead(&mut self, table: &'static Table) {
        if !Names::lists(table) {
            return;
        }
        let mut rows = match self.source.open(table) {
            None => return,
            Some(Err(_)) => return self.names.list_untold(table),
            Some(Ok(rows)) => rows,
        };
        let mut record = Record::default();
        while let Some(row) = rows.next(&mut record) {
            match row {
                Ok(()) => self.names.list(table, &Cells::new(&rows, &record)),
                Err(_) => self.names.list_untold(table),
            }
        }
    }

    /// About how many rows there are, if that can be told without reading them in full. Costs
    /// a pass over the files.
    pub fn rows_total_hint(&self) -> Option<u64> {
        self.source.lines()
    }

    /// Reads on until something is ready. False at the end.
    fn advance(&mut self) -> bool {
        match &mut self.current {
            Some(Reading::Rows(rows, read)) => {
                match read_row((rows, *read), &self.options, &self.names) {
                    Some(items) => self.ready.extend(items),
                    None => self.current = None,
                }
            }
            Some(Reading::Groups(groups, read)) => match groups.next() {
                Some(group) => {
                    let read = (&groups.rows, *read);
                    let item = read_group(read, group, &self.options, &self.names);
                    self.ready.push_back(item);
                }
                None => self.current = None,
            },
            None => match self.steps.next() {
                Some(step) => self.begin(step),
                None => return false,
            },
        }
        true
    }

    fn begin(&mut self, step: Step) {
        let table = match step {
            Step::Gathered(gather) => {
                let items = gather(&mut self.source, &mut self.names);
                return self.ready.extend(items);
            }
            Step::Rows(table, _) | Step::Groups(table, ..) => table,
        };
        self.list_ahead(table);
        match (self.source.open(table), step) {
            (Some(Err(errors)), _) => {
                let unread = Unread::new(errors, Thing::of_table(table));
                self.ready.push_back(Err(unread));
            }
            (Some(Ok(rows)), Step::Rows(_, read)) => {
                self.current = Some(Reading::Rows(rows, read));
            }
            (Some(Ok(rows)), Step::Groups(_, together, read)) => {
                self.current = Some(Reading::Groups(Groups::new(rows, together), read));
            }
            (None, _) | (_, Step::Gathered(_)) => {}
        }
        if IN_TIME.contains(&table.name) {
            self.read_in_time();
        }
    }

    /// Reads the table at hand to its end and puts it in the order of time. What is wrong with it
    /// comes first.
    fn read_in_time(&mut self) {
        while self.current.is_some() && self.advance() {}
        let time = |item: &Item| Some(item.as_ref().ok()?.value.effective_at);
        self.ready.make_contiguous().sort_by_key(time);
    }
}

impl Iterator for Input {
    type Item = Item;

    fn next(&mut self) -> Option<Item> {
        loop {
            if let Some(item) = self.ready.pop_front() {
                let (said, names) = (&mut self.said, &mut self.names);
                let located = match item {
                    Ok(located) => located,
                    Err(unread) => {
                        let stand_ins = unread.stand_ins.iter();
                        stand_ins.for_each(|located| names.learn(&located.value.fact));
                        names.miss(&unread.things);
                        return Some(Err(unread));
                    }
                };
                names.learn(&located.value.fact);
                return Some(said.check(located).map_err(Unread::from));
            }
            if !self.advance() {
                return None;
            }
        }
    }
}

/// Reads the next row. `None` at the end of the table.
fn read_row(
    (rows, read): (&mut TableRows, ReadRow),
    options: &Options,
    names: &Names,
) -> Option<Vec<Item>> {
    let mut record = Record::default();
    if let Err(error) = rows.next(&mut record)? {
        let unread = Unread::new(vec![error], Thing::of_table(rows.table));
        return Some(vec![Err(unread)]);
    }
    let mut cells = Cells::new(rows, &record).beside(names);
    let facts = read(&mut cells, options);
    let reason = reason(&mut cells);
    cells.check_names();
    let location = cells.location();
    let things = Thing::of_row(rows.table, &cells);
    let (aside, component) = (cells.wrong_aside(), of_unlisted_part(&cells));
    let (errors, wants) = cells.into_errors_and_wants();
    let wants = wants.or(component);
    let (Ok(facts), Ok(reason), true) = (facts, reason, aside) else {
        return Some(vec![Err(Unread::new(errors, things).for_want_of(wants))]);
    };
    let facts = facts.into_iter();
    let commands = facts.map(|dated| located(location.clone(), dated, reason.clone()));
    if errors.is_empty() {
        return Some(commands.map(Ok).collect());
    }
    let unread = Unread::new(errors, None).standing_in(commands.collect());
    Some(vec![Err(unread)])
}

/// The component that a row names by a part that nothing lists: where its own row was told to be
/// wrong, that is not told again.
fn of_unlisted_part(cells: &Cells<'_>) -> Option<Thing> {
    let table = cells.table();
    let has = |column: &str| table.place(column).is_some();
    let named = [("host_part", "host_serial"), ("part", "serial")];
    let mut named = named.into_iter().filter(|_| table.name != "components");
    let (part, serial) =
        named.find(|(part, serial)| has(part) && has(serial) && cells.is_wrong(part))?;
    let name = format!("{} {}", cells.text(part), cells.text(serial));
    Some(Thing::new(Kind::Component, name))
}

/// Reads rows that belong together. Their reason is that of the first.
fn read_group(
    (rows, read): (&TableRows, ReadGroup),
    group: Group,
    options: &Options,
    names: &Names,
) -> Item {
    let Group {
        records,
        mut errors,
    } = group;
    let records = records.iter();
    let mut cells: Vec<Cells> = records
        .map(|record| Cells::new(rows, record).beside(names))
        .collect();
    let Some(location) = cells.first().map(Cells::location) else {
        return Err(Unread::new(errors, Thing::of_table(rows.table)));
    };
    let fact = read(&mut cells, options);
    let reasons: Result<Vec<String>, _> = cells.iter_mut().map(reason).collect();
    cells.iter_mut().for_each(Cells::check_names);
    let first = cells.first();
    let things = first.map_or_else(Vec::new, |first| Thing::of_row(rows.table, first));
    errors.extend(cells.into_iter().flat_map(Cells::into_errors));
    match (fact, reasons) {
        (Ok(fact), Ok(mut reasons)) if errors.is_empty() => {
            Ok(located(location, fact, reasons.swap_remove(0)))
        }
        _ => Err(Unread::new(errors, things)),
    }
}
