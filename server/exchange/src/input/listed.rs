//! What rows may name: what the register has, and what the input lists before them, well or badly.
//! So a name that nothing bears is told at its own cell, whatever else is wrong with the things
//! that its row refers to. Only of tables with few rows: components and tests are looked up in
//! the register, row by row.

use super::cells::Cells;
use super::things::{Kind, Thing};
use crate::columns::Table;
use std::collections::{HashMap, HashSet};

/// The names of things, by their kind.
#[derive(Debug, Clone, Default)]
pub(super) struct Listed {
    names: HashMap<Kind, HashSet<String>>,
    /// Kinds of which some thing could not be told: any name may be its.
    untold: HashSet<Kind>,
}

impl Listed {
    /// The kinds of which everything is remembered.
    const KINDS: [Kind; 6] = [
        Kind::Part,
        Kind::CarType,
        Kind::Task,
        Kind::Procedure,
        Kind::Car,
        Kind::Unit,
    ];

    /// Remembers a thing.
    pub(super) fn add(&mut self, thing: Thing) {
        let Thing { kind, name } = thing;
        if name.is_empty() {
            self.untold.insert(kind);
        } else if Self::KINDS.contains(&kind) {
            self.names.entry(kind).or_default().insert(name);
        }
    }

    /// Whether rows of a table list things that are remembered.
    pub(super) fn lists(table: &Table) -> bool {
        Self::KINDS.iter().any(|kind| kind.table() == table.name)
    }

    /// Remembers what a row lists, whether or not it can be read.
    pub(super) fn add_row(&mut self, table: &Table, cells: &Cells<'_>) {
        if let Some(thing) = Thing::of_row(table, cells) {
            self.add(thing);
        }
    }

    /// Whether a thing of that name may be there.
    pub(super) fn may_have(&self, kind: Kind, name: &str) -> bool {
        let known = self.names.get(&kind);
        self.untold.contains(&kind) || known.is_some_and(|names| names.contains(name))
    }
}

/// The columns of a table that name things listed elsewhere.
pub(super) fn naming(table: &'static Table) -> impl Iterator<Item = (&'static str, Kind)> {
    table.columns.iter().filter_map(|column| {
        let kind = match (table.name, column.name) {
            // The things that a table lists itself.
            ("parts", "part")
            | ("car_types", "car_type")
            | ("tasks", "task")
            | ("procedures", "procedure")
            | ("cars", "car")
            | ("units", "unit") => return None,
            ("components" | "tasks" | "procedures" | "modifications" | "concessions", "part")
            | (_, "approved_parts") => Kind::Part,
            ("tasks" | "procedures" | "modifications" | "cars", "car_type") => Kind::CarType,
            (_, "task" | "satisfies") => Kind::Task,
            (_, "procedure") => Kind::Procedure,
            (_, "car") => Kind::Car,
            (_, "unit") => Kind::Unit,
            _ => return None,
        };
        Some((column.name, kind))
    })
}
