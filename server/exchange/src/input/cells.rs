//! The cells of a row by the name of their column, as what they stand for. Everything wrong in
//! a row is noted, not only the first thing.

use super::error::{InputError, Location, Tells};
use super::listed::naming;
use super::names::Names;
use super::record::Record;
use super::table_rows::TableRows;
use super::things::Thing;
use crate::columns::{Column, Table};
use domain::identity::{CarNumber, PositionCode};
use domain::time::Day;
use domain::unreadable::Unreadable;
use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

/// A row being read.
pub(crate) struct Cells<'a> {
    rows: &'a TableRows,
    record: &'a Record,
    errors: Vec<InputError>,
    names: Option<&'a Names>,
    /// What is not known, for want of which a position could not be told; with the place of the
    /// error that says so.
    wants: Option<(Thing, usize)>,
    /// How many of the errors are of cells by which no other row is judged.
    aside: usize,
}

/// Something could not be read; what was wrong is noted in the cells of its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Refused(());

impl<'a> Cells<'a> {
    pub(crate) fn new(rows: &'a TableRows, record: &'a Record) -> Self {
        let errors = Vec::new();
        let mut cells = Self {
            rows,
            record,
            errors,
            names: None,
            wants: None,
            aside: 0,
        };
        for fault in &record.faults {
            let error = InputError::at(cells.location(), &fault.value, &fault.expected);
            let column = cells.column_at(fault.place);
            let error = column.map_or(error.clone(), |column| error.in_column(column.name));
            cells.errors.push(error);
        }
        cells
    }

    /// The same row, which may name positions of cars by any of their names.
    pub(crate) fn beside(self, names: &'a Names) -> Self {
        Self {
            names: Some(names),
            ..self
        }
    }

    /// The position of a car that a cell names: by its code, or by another name that is of it
    /// alone by the baseline of a day.
    pub(crate) fn position(
        &mut self,
        column: &str,
        (car, on): (&CarNumber, Day),
    ) -> Result<PositionCode, Refused> {
        let code = known(self.text(column));
        let (Err(_), Some(names), true) = (&code, self.names, self.is_filled(column)) else {
            return self.need(column, |_: &str| code.clone());
        };
        names.position(car, self.text(column), on).map_err(|why| {
            self.wants = why.wants.map(|thing| (thing, self.errors.len()));
            self.refuse(column, why.expected)
        })
    }

    /// The same where the car or the day cannot be read, which was told or will be: by its code
    /// alone. Another name may be right, so that nothing is said of it.
    pub(crate) fn position_of_none(&mut self, column: &str) -> Result<PositionCode, Refused> {
        match self.text(column) {
            "" => self.need(column, known),
            text => known(text).map_err(|_: String| Refused(())),
        }
    }

    /// Whether something was found wrong with a cell.
    pub(crate) fn is_wrong(&self, column: &str) -> bool {
        let mut errors = self.errors.iter();
        errors.any(|error| error.column.as_deref() == Some(column))
    }

    /// What the row is read beside, where it is.
    pub(crate) fn names(&self) -> Option<&'a Names> {
        self.names
    }

    /// Notes each cell that names what is neither in the register nor listed by the input.
    pub(crate) fn check_names(&mut self) {
        let Some(names) = self.names else {
            return;
        };
        for (column, kind) in naming(self.table()) {
            if self.text(column).is_empty() || self.is_wrong(column) {
                continue;
            }
            for name in self.text(column).split(';').map(str::trim) {
                if !names.may_have(kind, name) {
                    let expected = format!("a {} that is in the register", kind.called());
                    let error = InputError::at(self.location(), name, expected);
                    self.errors.push(error.in_column(column));
                }
            }
        }
    }

    /// Whether all that is wrong is in cells by which no other row is judged.
    pub(crate) fn wrong_aside(&self) -> bool {
        self.errors.len() == self.aside
    }

    /// Where the row stands.
    pub(crate) fn location(&self) -> Location {
        self.rows.location(self.record)
    }

    /// What was found wrong; empty if nothing was.
    pub(crate) fn into_errors(self) -> Vec<InputError> {
        self.into_errors_and_wants().0
    }

    /// The same with what is not known, for want of which the row could not be read, where that is
    /// all that is wrong. Beside anything else it is not told, as it may follow from that.
    pub(crate) fn into_errors_and_wants(mut self) -> (Vec<InputError>, Option<Thing>) {
        match self.wants {
            Some((_, place)) if 1 < self.errors.len() => {
                self.errors.remove(place);
                (self.errors, None)
            }
            Some((thing, _)) => (self.errors, Some(thing)),
            None => (self.errors, None),
        }
    }

    /// A cell that must hold something.
    pub(crate) fn need<T>(&mut self, column: &str, read: impl Reads<T>) -> Result<T, Refused> {
        match self.maybe(column, read)? {
            Some(value) => Ok(value),
            None => Err(self.refuse_other(column)),
        }
    }

    /// A cell that may be empty.
    pub(crate) fn maybe<T>(
        &mut self,
        column: &str,
        read: impl Reads<T>,
    ) -> Result<Option<T>, Refused> {
        match self.text(column) {
            "" if self.is_faulty(column) => Err(Refused(())),
            "" => Ok(None),
            text => match read(text) {
                Ok(value) => Ok(Some(value)),
                Err(expected) => Err(self.refuse(column, expected)),
            },
        }
    }

    /// A cell by which no other row is judged: what is wrong with it is noted, and the row is read
    /// on without it, so that others which refer to what it brings are judged all the same.
    pub(crate) fn aside<T>(&mut self, column: &str, read: impl Reads<T>) -> Option<T> {
        let before = self.errors.len();
        let read = self.maybe(column, read);
        self.put_aside(column, before);
        read.ok().flatten()
    }

    /// Such a cell that must hold something: another text stands in for what is wrong.
    pub(crate) fn need_aside<T>(
        &mut self,
        column: &str,
        (read, stand_in): (impl Reads<T>, &str),
    ) -> Result<T, Refused> {
        let before = self.errors.len();
        let found = self.need(column, &read);
        self.put_aside(column, before);
        found.or_else(|refused| read(stand_in).map_err(|_| refused))
    }

    /// Counts what is wrong with such a cell: what was found since there were so many errors, and
    /// that it holds no text, which was noted with the row.
    fn put_aside(&mut self, column: &str, before: usize) {
        self.aside += self.errors.len() - before + usize::from(self.is_faulty(column));
    }

    /// Notes that such a cell is not as it should be.
    pub(crate) fn refuse_aside(&mut self, column: &str, expected: &str) {
        let _ = self.refuse(column, expected);
        self.aside += 1;
    }

    /// The values of a cell with semicolons between them; none if it is empty.
    pub(crate) fn list<T>(&mut self, column: &str, read: impl Reads<T>) -> Result<Vec<T>, Refused> {
        let all = |text: &str| text.split(';').map(|part| read(part.trim())).collect();
        self.maybe(column, all).map(Option::unwrap_or_default)
    }

    /// Whether a cell holds anything, readable or not.
    pub(crate) fn is_filled(&self, column: &str) -> bool {
        !self.text(column).is_empty() || self.is_faulty(column)
    }

    /// The text of a cell as it stands; empty if there is none.
    pub(crate) fn text(&self, column: &str) -> &'a str {
        let place = self.place(column);
        place.map_or("", |place| self.record.cell(place))
    }

    /// Notes that a cell is not as it should be.
    pub(crate) fn refuse(&mut self, column: &str, expected: impl Into<String>) -> Refused {
        let error = InputError::at(self.location(), self.text(column), expected);
        self.errors.push(error.in_column(column));
        Refused(())
    }

    /// Notes why what stands in a cell cannot be.
    pub(crate) fn refuse_for(&mut self, column: &str, why: impl Into<String>) -> Refused {
        let error = InputError::at(self.location(), self.text(column), why);
        let tells = Tells::Refused;
        let error = InputError { tells, ..error };
        self.errors.push(error.in_column(column));
        Refused(())
    }

    /// Notes that a cell does not hold what its column holds.
    pub(crate) fn refuse_other(&mut self, column: &str) -> Refused {
        let table = self.table();
        let found = table
            .place(column)
            .and_then(|place| table.columns.get(place));
        self.refuse(column, found.map_or("", |column| column.holds))
    }

    fn is_faulty(&self, column: &str) -> bool {
        let place = self.place(column);
        let mut faults = self.record.faults.iter();
        place.is_some_and(|place| faults.any(|fault| fault.place == place))
    }

    /// Its table.
    pub(crate) fn table(&self) -> &'static Table {
        self.rows.table
    }

    fn place(&self, column: &str) -> Option<usize> {
        let place = self.table().place(column);
        debug_assert!(place.is_some(), "{} has no {column}", self.table().name);
        self.rows.header.place(place?)
    }

    fn column_at(&self, place: usize) -> Option<&'static Column> {
        let columns = self.table().columns.iter().enumerate();
        let mut here = columns.filter(|(n, _)| self.rows.header.place(*n) == Some(place));
        here.next().map(|(_, column)| column)
    }
}

/// Reads the text of a cell, or says what was expected of it.
pub(crate) trait Reads<T>: Fn(&str) -> Result<T, String> {}
impl<T, F: Fn(&str) -> Result<T, String>> Reads<T> for F {}

/// Reads what the core knows to read: a name, a code, a word of a list.
pub(crate) fn known<T: FromStr<Err = Unreadable>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: Unreadable| error.expected)
}

/// Reads words of at most so many characters.
pub(crate) fn words(most_chars: usize) -> impl Reads<String> {
    move |text| {
        if most_chars < text.chars().count() {
            Err(format!("at most {most_chars} characters"))
        } else if text.trim().is_empty() {
            Err("words, not only blanks".to_owned())
        } else {
            Ok(text.to_owned())
        }
    }
}

/// Reads a whole number of a range.
pub(crate) fn whole<T>(range: RangeInclusive<T>) -> impl Reads<T>
where
    T: FromStr + PartialOrd + Display,
{
    move |text| {
        let digits = text.bytes().all(|b| b.is_ascii_digit());
        let number = digits.then(|| text.parse().ok()).flatten();
        let expected = || format!("a whole number from {} to {}", range.start(), range.end());
        number.filter(|n| range.contains(n)).ok_or_else(expected)
    }
}

/// Reads yes or no.
pub(crate) fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("yes or no".to_owned()),
    }
}
