//! What rows may name: what the register has, and what the input lists before them, well or badly.
//! So a name that nothing bears is told at its own cell, whatever else is wrong with the things
//! that its row refers to. Only of tables with few rows: components and tests are looked up in
//! the register, row by row.

use super::cells::Cells;
use super::things::{Kind, Thing};
use crate::columns::Table;
use domain::identity::{CarNumber, CarTypeName, PartNumber, ProcedureCode, TaskCode, UnitNumber};
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
        if name.is_empty() || !reads(kind, &name) {
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
        for thing in Thing::of_row(table, cells) {
            self.add(thing);
        }
    }

    /// Whether a thing of that name may be there.
    pub(super) fn may_have(&self, kind: Kind, name: &str) -> bool {
        let known = self.names.get(&kind);
        self.untold.contains(&kind) || known.is_some_and(|names| names.contains(name))
    }
}

/// Whether a text can be the name of a thing; what has another was listed under it.
fn reads(kind: Kind, name: &str) -> bool {
    match kind {
        Kind::Part => name.parse::<PartNumber>().is_ok(),
        Kind::CarType => name.parse::<CarTypeName>().is_ok(),
        Kind::Task => name.parse::<TaskCode>().is_ok(),
        Kind::Procedure => name.parse::<ProcedureCode>().is_ok(),
        Kind::Car => name.parse::<CarNumber>().is_ok(),
        Kind::Unit => name.parse::<UnitNumber>().is_ok(),
        _ => true,
    }
}

/// The columns of a table that name things listed elsewhere.
pub(super) fn naming(table: &'static Table) -> impl Iterator<Item = (&'static str, Kind)> {
    table.columns.iter().filter_map(|column| {
        // The things that a table lists itself; and what each row of several says again.
        let is_said_elsewhere = matches!(
            (table.name, column.name),
            ("parts" | "test_records" | "fleet_checks", "part")
                | ("car_types", "car_type")
                | ("tasks", "task")
                | ("procedures", "procedure")
                | ("cars", "car")
                | ("units", "unit")
        );
        if is_said_elsewhere {
            return None;
        }
        let kind = match (table.name, column.name) {
            (_, "part" | "host_part" | "approved_parts") => Kind::Part,
            ("tasks" | "procedures" | "modifications" | "cars", "car_type") => Kind::CarType,
            (_, "task" | "satisfies") => Kind::Task,
            (_, "procedure") => Kind::Procedure,
            (_, "car") => Kind::Car,
            ("trains" | "visits", "unit") => Kind::Unit,
            _ => return None,
        };
        Some((column.name, kind))
    })
}
