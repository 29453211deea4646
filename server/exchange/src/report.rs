//! All errors of an input in one report: the first ones in full, in the order of the files and
//! rows, and the rest counted.

use crate::columns::reading_order;
use crate::input::{InputError, Located, Location, Refers, Unread, Wanting};
use domain::ledger::command::Command;
use domain::refusal::Refusal;
use serde::Serialize;
use std::fmt;

/// How many errors a report usually shows in full.
pub const SHOWN_MAX: usize = 1_000;

/// The errors of an input. Its size is bounded however many errors there are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Report {
    /// How many errors there are.
    total: u64,
    /// The first of them by file and row.
    errors: Vec<InputError>,
    /// How many more there are, by file.
    not_shown: Vec<NotShown>,
    /// How many rows were not looked at for which of the errors.
    #[serde(rename = "not_looked_at")]
    wanting: Wanting,
    /// The row that was refused last.
    #[serde(skip)]
    refused_last: Option<Location>,
    #[serde(skip)]
    shown_max: usize,
}

/// How many errors of a file are not shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotShown {
    /// The file.
    pub file: String,
    /// How many.
    pub errors: u64,
}

impl Report {
    /// An empty report that will show at most so many errors in full.
    pub fn new(shown_max: usize) -> Self {
        Self {
            total: 0,
            errors: Vec::new(),
            not_shown: Vec::new(),
            wanting: Wanting::default(),
            refused_last: None,
            shown_max,
        }
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.total == 0
    }

    /// How many errors there are, shown or not.
    pub fn total(&self) -> u64 {
        self.total
    }

    /// The errors shown in full, in the order of files and rows.
    pub fn errors(&self) -> &[InputError] {
        &self.errors
    }

    /// How many more there are, by file.
    pub fn not_shown(&self) -> &[NotShown] {
        &self.not_shown
    }

    /// Adds what could not be read, unless that is for something that is wanting. Gives what is
    /// looked at in its place.
    pub fn unread(&mut self, unread: Unread) -> Vec<Located<Command>> {
        if unread
            .refers()
            .is_some_and(|refers| self.wanting.explains_unknown(&refers))
        {
            return Vec::new();
        }
        let Unread {
            errors,
            things,
            stand_ins,
            ..
        } = unread;
        if let Some(first) = errors.first() {
            self.wanting.note(&first.location, things);
        }
        self.extend(errors);
        stand_ins
    }

    /// What a row is to be looked at for. Where something that it refers to is wanting, it is counted,
    /// and there is nothing to it but the components that it names.
    pub fn looked_at(&mut self, refers: Refers) -> Option<Refers> {
        if self.wanting.holds_back(&refers) {
            refers.for_its_names()
        } else {
            Some(refers)
        }
    }

    /// Adds that the register refuses a row, unless that is for something that is wanting. What
    /// stands against it may be another row.
    pub fn refused(&mut self, refers: Refers, refusal: &Refusal, other: Option<&Location>) {
        let location = refers.location.clone();
        let of_host = refers.is_of_host(refusal);
        if refers.is_only_named() {
            if self.wanting.has_component_of(&refers) {
                return;
            }
        } else if refers.is_there_already(refusal) || self.wanting.explains(&refers, refusal) {
            return;
        } else {
            self.wanting.refused(refers, refusal);
        }
        // What else that row says follows from what was refused, as the end of a cut-out.
        if self.refused_last.as_ref() == Some(&location) {
            return;
        }
        self.refused_last = Some(location.clone());
        let error = InputError::refused(location, refusal, other);
        self.add(if of_host {
            error.in_column("host_serial")
        } else {
            error
        });
    }

    /// Adds an error. Costs a search and a move among those shown.
    pub fn add(&mut self, error: InputError) {
        self.total += 1;
        let place = self
            .errors
            .partition_point(|other| order(other) <= order(&error));
        self.errors.insert(place, error);
        if self.shown_max < self.errors.len() {
            self.shorten();
        }
    }

    /// Counts the last error instead of showing it.
    fn shorten(&mut self) {
        let Some(InputError { location, .. }) = self.errors.pop() else {
            return;
        };
        let file = location.file;
        let order = |file: &str| (reading_order(file), file.to_owned());
        let place = self
            .not_shown
            .partition_point(|other| order(&other.file) < order(&file));
        match self
            .not_shown
            .get_mut(place)
            .filter(|other| other.file == file)
        {
            Some(counted) => counted.errors += 1,
            None => self.not_shown.insert(place, NotShown { file, errors: 1 }),
        }
    }
}

impl Default for Report {
    fn default() -> Self {
        Self::new(SHOWN_MAX)
    }
}

impl Extend<InputError> for Report {
    fn extend<I: IntoIterator<Item = InputError>>(&mut self, errors: I) {
        errors.into_iter().for_each(|error| self.add(error));
    }
}

fn order(error: &InputError) -> (usize, &InputError) {
    (reading_order(&error.location.file), error)
}

impl fmt::Display for Report {
    /// One line for each error, then one for each file with more.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for error in &self.errors {
            writeln!(f, "{error}")?;
        }
        for NotShown { file, errors } in &self.not_shown {
            writeln!(f, "{file}: {errors} more errors")?;
        }
        for held_back in self.wanting.followed() {
            writeln!(f, "{held_back}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::{Location, Tells};

    fn error(file: &str, row: u64) -> InputError {
        let file = file.to_owned();
        InputError {
            location: Location { file, row },
            column: Some("part".to_owned()),
            value: "x".to_owned(),
            expected: "a part number".to_owned(),
            tells: Tells::Expected,
        }
    }

    #[test]
    fn errors_stand_in_the_order_of_files_and_rows_however_they_came() {
        let mut report = Report::default();
        report.extend([
            error("components.csv", 9),
            error("parts.csv", 10),
            error("components.csv", 2),
            error("parts.csv", 2),
        ]);
        let lines = report.to_string();
        let places: Vec<&str> = lines
            .lines()
            .filter_map(|l| l.split(", column").next())
            .collect();
        let expected = [
            "parts.csv, row 2",
            "parts.csv, row 10",
            "components.csv, row 2",
            "components.csv, row 9",
        ];
        assert_eq!(places, expected);
    }

    #[test]
    fn a_report_shows_the_first_errors_and_counts_the_rest_by_file() {
        let mut report = Report::new(2);
        report.extend((2..=50).rev().map(|row| error("fitments.csv", row)));
        report.add(error("cars.csv", 7));
        assert_eq!(report.total(), 50);
        assert_eq!(
            report.to_string(),
            "cars.csv, row 7, column part: “x”; expected a part number\n\
             fitments.csv, row 2, column part: “x”; expected a part number\n\
             fitments.csv: 48 more errors\n"
        );
    }

    #[test]
    fn a_report_reads_as_json() {
        let mut report = Report::new(1);
        report.extend([error("cars.csv", 7), error("cars.csv", 8)]);
        let json = serde_json::to_value(&report).expect("texts and numbers");
        let expected = serde_json::json!({
            "total": 2,
            "errors": [{
                "file": "cars.csv", "row": 7, "column": "part",
                "value": "x", "expected": "a part number", "tells": "expected",
            }],
            "not_shown": [{ "file": "cars.csv", "errors": 1 }],
            "not_looked_at": [],
        });
        assert_eq!(json, expected);
    }
}
