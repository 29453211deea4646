//! Where something stands in an input, and what is wrong there.

use crate::columns::{TABLES, Table};
use domain::configuration::held::Held;
use domain::refusal::Refusal;
use domain::unreadable::{GIVEN_MAX_CHARS, Unreadable};
use serde::Serialize;
use std::fmt;

/// A row of a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Location {
    /// The file, or the sheet of a workbook, under the name its owner gave it.
    pub file: String,
    /// The row as a spreadsheet numbers it: the header is row 1, empty rows count. 0 is the
    /// file as a whole.
    pub row: u64,
}

impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.row {
            0 => f.write_str(&self.file),
            row => write!(f, "{}, row {row}", self.file),
        }
    }
}

/// Something with the row it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Located<T> {
    /// Where it was read; of several rows that belong together, the first.
    pub location: Location,
    /// What was read.
    pub value: T,
}

/// What is wrong in an input: where, what stands there, what was expected.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct InputError {
    /// Which row.
    #[serde(flatten)]
    pub location: Location,
    /// Which column, if it is the matter of one.
    pub column: Option<String>,
    /// What stands there, shortened; empty if nothing does.
    pub value: String,
    /// What would have been right, or why what is there cannot be; of a row as a whole in which no
    /// value is named, what is wrong.
    pub expected: String,
    /// Which of the two.
    pub tells: Tells,
}

/// What an error of an input tells of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tells {
    /// What would have been right.
    Expected,
    /// Why the register refuses it.
    Refused,
}

impl InputError {
    /// An error of a whole row, or of a file where the row is 0.
    pub(crate) fn at(location: Location, value: &str, expected: impl Into<String>) -> Self {
        Self {
            location,
            column: None,
            value: shortened(value),
            expected: expected.into(),
            tells: Tells::Expected,
        }
    }

    /// An error of a whole file.
    pub(crate) fn of_file(file: &str, value: &str, expected: impl Into<String>) -> Self {
        let file = file.to_owned();
        Self::at(Location { file, row: 0 }, value, expected)
    }

    /// The same error of one column of its row.
    pub(crate) fn in_column(mut self, column: &str) -> Self {
        self.column = Some(shortened(column));
        self
    }
}

impl InputError {
    /// A row that reads well and that the register refuses all the same. What stands against it
    /// may be another row of the same input.
    pub fn refused(location: Location, refusal: &Refusal, other: Option<&Location>) -> Self {
        let told = |refusal: &Refusal| match (refusal, other) {
            (Refusal::AlreadyDefined { allowed, .. }, Some(other)) => {
                format!("it once; {other}, says something else of it; or {allowed}")
            }
            (refusal, Some(other)) => format!("{refusal}; that entry is {other}, of this input"),
            (refusal, None) => refusal.to_string(),
        };
        if let Refusal::Repeated { by } = refusal {
            let first = other.map_or_else(|| format!("an earlier row ({by})"), ToString::to_string);
            return Self::at(location, "", format!("{first}, says the same; say it once"));
        }
        let table = table_of(&location.file);
        let (value, expected) = match refusal {
            Refusal::Unknown { what, name } => (
                name.clone(),
                format!("a {} that is in the register", what.replace('_', " ")),
            ),
            Refusal::Impossible { given, allowed, .. } => (given.clone(), allowed.clone()),
            Refusal::OffMeter { given, why, .. } => {
                let told = other.map_or_else(
                    || refusal.to_string(),
                    |other| format!("{why} The other value stands in {other}, of this input."),
                );
                (given.clone(), told)
            }
            Refusal::PositionTaken { position, .. } => (position.to_string(), told(refusal)),
            Refusal::NotApproved { part, .. } => (part.to_string(), told(refusal)),
            Refusal::AlreadyDefined { name, .. } => (name.clone(), told(refusal)),
            Refusal::ConditionForbids { condition, .. } if tells_condition(table) => {
                (condition.to_string(), told(refusal))
            }
            Refusal::FittedElsewhere { component, .. }
            | Refusal::NotFitted { component }
            | Refusal::StateNotApproved { component, .. }
            | Refusal::ConditionForbids { component, .. }
            | Refusal::LifeOver { component, .. } => (component.serial.to_string(), told(refusal)),
            // The refusal says what it is about.
            other => (String::new(), told(other)),
        };
        let tells = match (refusal, other) {
            (Refusal::Unknown { .. }, _) | (Refusal::AlreadyDefined { .. }, Some(_)) => {
                Tells::Expected
            }
            _ => Tells::Refused,
        };
        let field = field_of(refusal, table);
        if let Some(column) = column_of(table, field) {
            let error = Self::at(location, &value, expected).in_column(column);
            return Self { tells, ..error };
        }
        let gathered = table.is_some_and(|table| GATHERED.contains(&table.name));
        let beside = gathered && !value.is_empty();
        let beside = if beside {
            "; it stands in a table that belongs to this row"
        } else {
            ""
        };
        let error = Self::at(location, &value, format!("{expected}{beside}"));
        Self { tells, ..error }
    }
}

/// Tables of which each row has others in further tables; the fact that they make together has its
/// place in this one.
const GATHERED: [&str; 3] = ["parts", "car_types", "rule_sets"];

/// The field that a refusal is about in a row of a table.
fn field_of(refusal: &Refusal, table: Option<&'static Table>) -> &'static str {
    let name = table.map_or("", |table| table.name);
    match (refusal, name) {
        // Which of the parts that its row names is not there: its own is by being listed.
        (Refusal::Unknown { what: "part", .. }, "parts") => "replaces",
        // What has the revision is looked up by itself.
        (
            Refusal::Unknown {
                what: "car_type", ..
            },
            "cars",
        )
        | (
            Refusal::Unknown {
                what: "procedure", ..
            },
            "test_records",
        ) => "revision",
        (Refusal::ConditionForbids { .. }, _) if !tells_condition(table) => "serial",
        (Refusal::HeldAsEvidence { held, .. }, _) => match **held {
            Held::Component(_) => "serial",
            Held::Car(_) => "car",
            Held::Entry(_) => refusal.field(),
        },
        _ => refusal.field(),
    }
}

/// Whether the rows of a table tell in which condition something is.
fn tells_condition(table: Option<&'static Table>) -> bool {
    table.is_none_or(|table| table.place("condition").is_some())
}

/// What tables call their own time.
const TIMES: [&str; 3] = ["at", "since", "from"];
/// What tables call the location where something goes.
const LOCATIONS: [&str; 3] = ["location", "to", "removed_to"];

/// What they call the condition in which something is, or came off.
const CONDITIONS: [&str; 2] = ["condition", "condition_after"];
/// What they call a modification, or several.
const MODIFICATIONS: [&str; 2] = ["modification", "modifications"];

/// The column of a table that a refusal is about; of an unknown table the field itself.
fn column_of(table: Option<&'static Table>, field: &'static str) -> Option<&'static str> {
    let Some(table) = table else {
        return Some(field);
    };
    let has = |name: &&str| table.columns.iter().any(|column| column.name == *name);
    match field {
        "at" => TIMES.into_iter().find(has),
        "condition" => CONDITIONS.into_iter().find(has),
        "modification" => MODIFICATIONS.into_iter().find(has),
        "location" => LOCATIONS.into_iter().find(has),
        field => Some(field).filter(has),
    }
}

fn table_of(file: &str) -> Option<&'static Table> {
    let name = file.strip_suffix(".csv").unwrap_or(file);
    TABLES.iter().copied().find(|table| table.name == name)
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.location)?;
        if let Some(column) = &self.column {
            write!(f, ", column {column}")?;
        }
        match self.value.as_str() {
            "" if self.tells == Tells::Refused
                || (self.column.is_none() && self.location.row != 0) =>
            {
                return write!(f, ": {}", self.expected);
            }
            "" if self.column.is_none() => {
                return write!(f, ": expected {}", self.expected);
            }
            "" => write!(f, ": nothing there"),
            value => write!(f, ": “{value}”"),
        }?;
        match self.tells {
            Tells::Expected => write!(f, "; expected {}", self.expected),
            Tells::Refused => write!(f, "; {}", self.expected),
        }
    }
}

impl std::error::Error for InputError {}

/// What is repeated of a value: its first [`GIVEN_MAX_CHARS`] characters on one line.
pub(crate) fn shortened(value: &str) -> String {
    let on_one_line = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    let start: String = value
        .chars()
        .take(GIVEN_MAX_CHARS + 1)
        .map(on_one_line)
        .collect();
    Unreadable::new("", &start, "").given
}
