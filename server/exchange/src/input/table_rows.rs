//! The rows of one table of an input, from a CSV file or from a sheet.

use super::csv_rows::{CsvFault, CsvRows};
use super::error::{InputError, Location};
use super::header::Header;
use super::limits::RECORD_MAX_BYTES;
use super::record::Record;
use crate::columns::Table;
use std::fs::File;
use std::io::BufReader;

/// Where rows come from.
pub(crate) enum Rows {
    /// A file, row by row.
    Csv(Box<CsvRows<BufReader<File>>>),
    /// A sheet in memory.
    Sheet(std::vec::IntoIter<Record>),
}

impl Rows {
    /// The next row that is not empty. False at the end.
    fn next(&mut self, record: &mut Record) -> Result<bool, CsvFault> {
        match self {
            Self::Csv(rows) => rows.next(record),
            Self::Sheet(rows) => Ok(rows.next().map(|next| *record = next).is_some()),
        }
    }

    /// How many cells a row has for a header of some width: the rows of a sheet end with their
    /// last filled cell.
    fn fits(&self, width: usize, header: usize) -> bool {
        match self {
            Self::Csv(_) => width == header,
            Self::Sheet(_) => width <= header,
        }
    }
}

/// A table whose header row is read.
pub(crate) struct TableRows {
    /// Which table.
    pub(crate) table: &'static Table,
    /// The name of the file or sheet.
    pub(crate) file: String,
    /// Its header.
    pub(crate) header: Header,
    rows: Rows,
}

impl TableRows {
    /// Reads the header row.
    pub(crate) fn open(
        table: &'static Table,
        file: String,
        mut rows: Rows,
    ) -> Result<Self, Vec<InputError>> {
        let mut record = Record::default();
        match rows.next(&mut record) {
            Ok(true) => {
                let header = Header::read(table, &file, &record)?;
                Ok(Self {
                    table,
                    file,
                    header,
                    rows,
                })
            }
            Ok(false) => Err(vec![InputError::of_file(&file, "", "a header row")]),
            Err(fault) => Err(vec![file_error(&file, &fault)]),
        }
    }

    /// Reads the next row that holds anything. `None` at the end. After an error of a row the
    /// rows after it can be read; an error of the whole file is the last.
    pub(crate) fn next(&mut self, record: &mut Record) -> Option<Result<(), InputError>> {
        loop {
            match self.rows.next(record) {
                Ok(false) => return None,
                Ok(true) if record.is_blank() => {}
                Ok(true) => return Some(self.check_width(record)),
                Err(fault) => {
                    self.rows = Rows::Sheet(Vec::new().into_iter());
                    return Some(Err(file_error(&self.file, &fault)));
                }
            }
        }
    }

    /// Where a row stands.
    pub(crate) fn location(&self, record: &Record) -> Location {
        Location {
            file: self.file.clone(),
            row: record.row,
        }
    }

    fn check_width(&self, record: &Record) -> Result<(), InputError> {
        if self.rows.fits(record.width(), self.header.width) {
            return Ok(());
        }
        let cells = match record.width() {
            1 => "1 cell".to_owned(),
            width => format!("{width} cells"),
        };
        let header = self.header.width;
        let wrong = format!("the row has {cells}; expected {header} cells, as in the header row");
        Err(InputError::at(self.location(record), "", wrong))
    }
}

fn file_error(file: &str, fault: &CsvFault) -> InputError {
    match fault {
        CsvFault::Io(error) => {
            InputError::of_file(file, &error.to_string(), "a file that can be read")
        }
        CsvFault::Utf16 => InputError::of_file(
            file,
            "",
            "text in UTF-8; this looks like UTF-16. Save it as CSV in UTF-8",
        ),
        CsvFault::Unclosed { row } => {
            let (file, row) = (file.to_owned(), *row);
            let expected = "a quotation mark (\") is opened here and not closed, so that all that \
                            follows in the file stands in one cell";
            InputError::at(Location { file, row }, "", expected)
        }
        CsvFault::TooLong { row } => {
            let (file, row) = (file.to_owned(), *row);
            let expected = format!(
                "expected a row of at most {RECORD_MAX_BYTES} bytes; perhaps a quotation mark is not closed"
            );
            InputError::at(Location { file, row }, "", expected)
        }
    }
}
