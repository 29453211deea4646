//! Lists as XLSX workbooks with one sheet.

use super::{Cell, OutputError};
use domain::time::Day;
use rust_xlsxwriter::{Format, Workbook, Worksheet};
use std::io::{Seek, Write};

/// The most rows of a sheet below its header; the file format ends there.
pub const SHEET_ROWS_MAX: u32 = 1_048_575;

/// Day 0 of the dates of a sheet is this many days before 1970-01-01.
const SHEET_EPOCH_DAYS: i32 = 25_569;

/// Writes a list as a workbook with one sheet. Rows go to a temporary file as they come. Texts
/// are written as texts, so that none of them opens as a formula.
pub fn write_xlsx<W: Write + Seek + Send>(
    output: W,
    sheet: &str,
    header: &[&str],
    rows: impl IntoIterator<Item = Vec<Cell>>,
) -> Result<(), OutputError> {
    let mut workbook = Workbook::new();
    let page = workbook.add_worksheet_with_constant_memory()?;
    page.set_name(sheet)?.set_freeze_panes(1, 0)?;
    let bold = Format::new().set_bold();
    for (column, title) in (0_u16..).zip(header) {
        page.write_string_with_format(0, column, *title, &bold)?;
    }
    let date = Format::new().set_num_format("yyyy-mm-dd");
    for (row, cells) in (1_u32..).zip(rows) {
        if SHEET_ROWS_MAX < row {
            return Err(OutputError::TooManyRows);
        }
        for (column, cell) in (0_u16..).zip(&cells) {
            write_cell(page, (row, column), cell, &date)?;
        }
    }
    workbook.save_to_writer(output)?;
    Ok(())
}

fn write_cell(
    page: &mut Worksheet,
    (row, column): (u32, u16),
    cell: &Cell,
    date: &Format,
) -> Result<(), OutputError> {
    match cell {
        Cell::Text(text) => page.write_string(row, column, text)?,
        Cell::Number(number) if number.is_finite() => page.write_number(row, column, *number)?,
        Cell::Day(day) => page.write_number_with_format(row, column, serial(*day), date)?,
        Cell::Number(_) | Cell::Empty => page,
    };
    Ok(())
}

/// A date as a sheet counts it. Its calendar has a 29 February 1900, so that dates before
/// March 1900 lie a day lower.
fn serial(day: Day) -> f64 {
    let number = day.number() + SHEET_EPOCH_DAYS;
    f64::from(if number <= 60 { number - 1 } else { number })
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::{Data, Reader, Xlsx};
    use std::io::Cursor;

    fn written(rows: Vec<Vec<Cell>>) -> Vec<Vec<Data>> {
        let mut output = Cursor::new(Vec::new());
        write_xlsx(&mut output, "due list", &["position", "value"], rows).expect("a workbook");
        let mut book = Xlsx::new(output).expect("a workbook");
        let range = book.worksheet_range("due list").expect("the sheet");
        range.rows().map(<[Data]>::to_vec).collect()
    }

    #[test]
    fn texts_numbers_and_dates_keep_their_kind() {
        let day: Day = "2026-03-31".parse().expect("a day");
        let rows = written(vec![
            vec![Cell::Text("=BS1-Q1".to_owned()), Cell::Number(3.5)],
            vec![Cell::Empty, Cell::Day(day)],
        ]);
        assert_eq!(rows[1], [Data::String("=BS1-Q1".into()), Data::Float(3.5)]);
        let Data::DateTime(date) = &rows[2][1] else {
            panic!("{:?} is no date", rows[2][1]);
        };
        assert_eq!(date.to_ymd_hms_milli(), (2026, 3, 31, 0, 0, 0, 0));
    }

    #[test]
    fn dates_around_the_leap_day_that_1900_never_had_are_right() {
        for text in ["1900-02-28", "1900-03-01", "1999-12-31", "2199-12-31"] {
            let day: Day = text.parse().expect("a day");
            let rows = written(vec![vec![Cell::Day(day)]]);
            let Data::DateTime(date) = &rows[1][0] else {
                panic!("no date");
            };
            let (year, month, day, ..) = date.to_ymd_hms_milli();
            assert_eq!(format!("{year:04}-{month:02}-{day:02}"), text);
        }
    }
}
