//! The files of the input format and their columns, in the order in which they are read. The
//! reader, the writer of generated fleets, the error texts and `seed-data/README.md` follow
//! this one table.

mod cells;
mod change;
mod design;
mod fleet;
mod rules;

#[cfg(test)]
mod tests;

pub use change::{CONCESSIONS, FLEET_CHECKS, HOLDS, MODIFICATIONS, PLATES, VISITS};
pub use design::{
    AXLES, BRAKE_GROUPS, BRAKED_WEIGHTS, CAR_TYPES, CYLINDER_PRESSURES, LINES, PART_POSITIONS,
    PARTS, POSITIONS, PROCEDURES, TASKS,
};
pub use fleet::{
    CARS, COMPONENTS, CONDITIONS, EMBODIED, FITMENTS, FORMATIONS, INNER_FITMENTS, ISOLATIONS,
    LOCATIONS, METER_REPLACEMENTS, READINGS, RELOCATIONS, SETTINGS, TASKS_DONE, TEST_RECORDS,
    TRAINS, UNITS,
};
pub use rules::{RULE_SETS, RULES};

/// A file of the format: `<name>.csv` in a folder, or the sheet `<name>` of a workbook.
#[derive(Debug, PartialEq, Eq)]
pub struct Table {
    /// Its name without an extension.
    pub name: &'static str,
    /// What a row stands for.
    pub row: &'static str,
    /// Its columns. A file may have them in any order.
    pub columns: &'static [Column],
}

/// A column of a file.
#[derive(Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name in the header row.
    pub name: &'static str,
    /// Whether it may be absent or empty.
    pub need: Need,
    /// What its cells hold.
    pub holds: &'static str,
}

/// Whether a column may be absent, and its cells empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// The column is there and every cell holds something.
    Required,
    /// The column or the cell may be absent.
    Optional,
}

impl Table {
    /// The place of a column in [`Table::columns`].
    pub fn place(&self, column: &str) -> Option<usize> {
        self.columns.iter().position(|c| c.name == column)
    }
}

/// The table of that name, if it belongs to the format.
pub fn table(name: &str) -> Option<&'static Table> {
    TABLES.into_iter().find(|table| table.name == name)
}

/// The place of a file, named as in an error, in the order of reading; what is no table of the format
/// comes first, since rows of others may refer to its rows.
pub fn reading_order(file: &str) -> usize {
    let name = file.strip_suffix(".csv").unwrap_or(file);
    TABLES
        .iter()
        .position(|table| table.name == name)
        .map_or(0, |place| place + 1)
}

/// Whether a column of a table names things: in a workbook a number or a date that a cell shows as
/// something else is none of their names.
pub(crate) fn is_name(table: &str, column: &str) -> bool {
    let moment = column == "from" && table != LINES.name;
    NAMES.contains(&column) && !moment
}

/// The columns that name things; `from` in lines alone, elsewhere it is a time.
const NAMES: [&str; 40] = [
    "approved_parts",
    "batch",
    "bound_for",
    "car",
    "car_type",
    "cars",
    "certificate",
    "concession",
    "depot",
    "fleet",
    "from",
    "host_part",
    "host_serial",
    "instrument",
    "location",
    "measured_at",
    "modification",
    "modification_state",
    "modification_states",
    "modifications",
    "part",
    "plate",
    "position",
    "positions",
    "procedure",
    "proved_by",
    "removed_to",
    "replaces",
    "revision",
    "rule_set",
    "satisfies",
    "serial",
    "serials_begin",
    "task",
    "test_record",
    "to",
    "train",
    "unit",
    "vehicle_number",
    "visit",
];

/// All tables of the format in the order in which they are read.
pub static TABLES: [&Table; 35] = [
    &PARTS,
    &PART_POSITIONS,
    &CAR_TYPES,
    &AXLES,
    &POSITIONS,
    &LINES,
    &BRAKED_WEIGHTS,
    &BRAKE_GROUPS,
    &CYLINDER_PRESSURES,
    &TASKS,
    &PROCEDURES,
    &RULE_SETS,
    &RULES,
    &MODIFICATIONS,
    &CONCESSIONS,
    &CARS,
    &UNITS,
    &METER_REPLACEMENTS,
    &READINGS,
    &LOCATIONS,
    &COMPONENTS,
    &CONDITIONS,
    &PLATES,
    &INNER_FITMENTS,
    &FITMENTS,
    &RELOCATIONS,
    &SETTINGS,
    &EMBODIED,
    &TASKS_DONE,
    &TEST_RECORDS,
    &TRAINS,
    &ISOLATIONS,
    &VISITS,
    &FLEET_CHECKS,
    &HOLDS,
];
