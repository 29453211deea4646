//! The header row of a file: which of its columns is which of the format's.

use super::error::{InputError, Location};
use super::limits::COLUMNS_MAX;
use super::record::Record;
use crate::columns::{Need, Table};

/// Where each column of a table stands in the rows of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Header {
    /// For each column of the table its place in the file's rows.
    places: Vec<Option<usize>>,
    /// The number of columns of the file.
    pub(crate) width: usize,
}

impl Header {
    /// Reads a header row, or says all that is wrong with it.
    pub(crate) fn read(
        table: &Table,
        file: &str,
        record: &Record,
    ) -> Result<Self, Vec<InputError>> {
        let location = Location {
            file: file.to_owned(),
            row: record.row,
        };
        if COLUMNS_MAX < record.width() {
            let expected = format!("expected at most {COLUMNS_MAX} columns");
            return Err(vec![InputError::at(location, "", expected)]);
        }
        if let Some(error) = separated_otherwise(&location, record) {
            return Err(vec![error]);
        }
        let mut errors = Vec::new();
        let mut places = vec![None; table.columns.len()];
        for fault in &record.faults {
            errors.push(InputError::at(
                location.clone(),
                &fault.value,
                &fault.expected,
            ));
        }
        for place in 0..record.width() {
            let name = record.cell(place);
            let unread = record.faults.iter().any(|fault| fault.place == place);
            match table.place(name).map(|column| &mut places[column]) {
                Some(slot) if slot.is_none() => *slot = Some(place),
                Some(_) => errors.push(InputError::at(
                    location.clone(),
                    name,
                    "each column once in the header row",
                )),
                None if unread => {}
                None => errors.push(InputError::at(location.clone(), name, known(table))),
            }
        }
        errors.extend(absent(table, &places, &location));
        let width = record.width();
        errors
            .is_empty()
            .then_some(Self { places, width })
            .ok_or(errors)
    }

    /// The place of a column, given by its place in the table.
    pub(crate) fn place(&self, column: usize) -> Option<usize> {
        self.places.get(column).copied().flatten()
    }
}

/// A header row that is one cell with other separators in it.
fn separated_otherwise(location: &Location, record: &Record) -> Option<InputError> {
    let separators = [(';', "semicolons"), ('\t', "tabulators"), ('|', "bars")];
    let is_one = record.width() == 1;
    let text = match record.faults.first() {
        Some(fault) => fault.value.as_str(),
        None => record.cell(0),
    };
    let mut found = separators.into_iter();
    // Whatever cannot be shown, as a tabulator, stands as this sign in what is repeated of it.
    let (_, names) = found
        .find(|(sign, _)| text.contains(*sign) || (*sign == '\t' && text.contains('\u{fffd}')))?;
    let expected =
        format!("commas between the columns, where {names} stand here; save it as CSV with commas");
    is_one.then(|| InputError::at(location.clone(), text, expected))
}

fn known(table: &Table) -> String {
    let names: Vec<&str> = table.columns.iter().map(|column| column.name).collect();
    format!("in the header row only the columns {}", names.join(", "))
}

fn absent(table: &Table, places: &[Option<usize>], location: &Location) -> Vec<InputError> {
    let columns = table.columns.iter().zip(places);
    columns
        .filter(|(column, place)| place.is_none() && column.need == Need::Required)
        .map(|(column, _)| {
            let expected = format!("a column {}: {}", column.name, column.holds);
            InputError::at(location.clone(), "", expected).in_column(column.name)
        })
        .collect()
}
