//! Writing lists for people: a header and rows, as CSV or as an XLSX workbook, at a memory that
//! does not grow with the rows.

mod csv;
mod xlsx;

pub use self::csv::write_csv;
pub use self::xlsx::{SHEET_ROWS_MAX, write_xlsx};

use domain::time::Day;

/// What a cell of a list holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words, codes, numbers that nobody adds up.
    Text(String),
    /// A number to reckon with. What is not finite is written as an empty cell.
    Number(f64),
    /// A date.
    Day(Day),
    /// Nothing.
    Empty,
}

/// Why a list was not written.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// The receiver does not take it.
    #[error("the list cannot be written: {0}")]
    Io(#[from] std::io::Error),
    /// The workbook cannot be made.
    #[error("the workbook cannot be made: {0}")]
    Workbook(#[from] rust_xlsxwriter::XlsxError),
    /// A sheet has an end.
    #[error("a sheet holds at most {SHEET_ROWS_MAX} rows; write the list as CSV")]
    TooManyRows,
}
