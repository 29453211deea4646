//! Generated fleets of a small design.

mod design;
mod fleet;
mod ledger;
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

/// Rows in memory, by the name of their table, with the cells by the name of their column.
#[derive(Default, PartialEq, Debug)]
struct Memory(BTreeMap<&'static str, Vec<BTreeMap<&'static str, String>>>);

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
        let mut memory = Self::default();
        generate(&design::design(), options, &mut memory).expect("memory");
        memory
    }

    fn table(&self, name: &str) -> &[BTreeMap<&'static str, String>] {
        self.0.get(name).map_or(&[], Vec::as_slice)
    }
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
