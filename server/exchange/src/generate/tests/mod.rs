//! Generated fleets of a small design.

mod cut_outs;
mod design;
mod fleet;
mod ledger;
mod returned;
mod test_records;
mod troubles;

use super::{Design, FolderSink, History, Options, Sink, Summary, generate};
use crate::columns::Table;
use crate::input::{self, Input};
use domain::ledger::command::Command;
use domain::time::{Day, Zone};
use std::collections::BTreeMap;
use std::io;
use tempfile::TempDir;

fn as_at() -> Day {
    "2026-03-31".parse().expect("a day")
}

fn options(cars: u32) -> Options {
    Options {
        seed: 1,
        cars,
        as_at: as_at(),
        history: History::Years(3),
        positions_per_car: None,
    }
}

/// The cells of a row by the name of their column.
type Row = BTreeMap<&'static str, String>;

/// Rows in memory, by the name of their table.
#[derive(Default, PartialEq, Debug)]
struct Memory(BTreeMap<&'static str, Vec<Row>>);

impl Sink for Memory {
    fn row(&mut self, table: &'static Table, cells: &[String]) -> io::Result<()> {
        assert_eq!(cells.len(), table.columns.len());
        let names = table.columns.iter().map(|column| column.name);
        let row = names.zip(cells.iter().cloned()).collect();
        self.0.entry(table.name).or_default().push(row);
        Ok(())
    }
}

impl Memory {
    fn of(options: Options) -> Self {
        Self::built(&design::design(), options)
    }

    fn built(design: &Design, options: Options) -> Self {
        let mut memory = Self::default();
        generate(design, options, &mut memory).expect("memory");
        memory
    }

    fn table(&self, name: &str) -> &[Row] {
        self.0.get(name).map_or(&[], Vec::as_slice)
    }
}

/// A fleet of the small design that is large enough for whatever happens to a few.
fn fleet() -> Memory {
    Memory::of(options(240))
}

/// The designs that come with the register.
fn seed_design() -> Design {
    let seed_data = concat!(env!("CARGO_MANIFEST_DIR"), "/../../seed-data");
    Design::read(seed_data.as_ref()).expect("a design")
}

/// The day of a date or time.
fn day(text: &str) -> Day {
    text.get(..10).unwrap_or(text).parse().expect("a day")
}

fn count(rows: &[Row], is_so: impl Fn(&Row) -> bool) -> usize {
    rows.iter().filter(|row| is_so(row)).count()
}

/// A fleet of the small design in a folder.
fn in_folder(options: Options) -> (TempDir, Summary) {
    built_in_folder(&design::design(), options)
}

/// A fleet in a folder.
fn built_in_folder(design: &Design, options: Options) -> (TempDir, Summary) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut sink = FolderSink::create(folder.path()).expect("a folder");
    let summary = generate(design, options, &mut sink).expect("a fleet");
    sink.finish().expect("written");
    (folder, summary)
}

/// The commands of a fleet, in which nothing may be wrong.
fn commands(folder: &TempDir) -> Vec<Command> {
    let zone = Zone::UTC;
    let options = input::Options {
        zone,
        shift_days: 0,
    };
    let input = Input::open(folder.path(), options).expect("an input");
    input.map(|item| item.expect("no error").value).collect()
}
