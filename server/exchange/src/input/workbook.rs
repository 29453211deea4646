//! The sheets of an XLSX workbook as rows. A sheet is held in memory while it is read, so
//! sheets are limited in size; a CSV file is not.

use super::archive::admit;
use super::error::{InputError, Location};
use super::limits::{COLUMNS_MAX, SHEET_ROWS_MAX};
use super::number_format::shows_otherwise;
use super::record::Record;
use crate::columns::is_name;
use calamine::{DataRef, ExcelDateTime, Reader, Xlsx, XlsxError, XlsxFormulaMetadata};
use std::collections::HashMap;
use std::fs::File;
use std::io::BufReader;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;

type Book = Xlsx<BufReader<File>>;

/// An open workbook.
pub(crate) struct Workbook {
    book: Book,
}

const EXPECTED_BOOK: &str = "an XLSX workbook that can be read; save it anew and try again";

/// Runs the parser of workbooks. It is made for files that an office program wrote; on others
/// its arithmetic may overflow, and that too is an answer about the file.
fn guarded<T>(file: &str, parse: impl FnOnce() -> Result<T, InputError>) -> Result<T, InputError> {
    catch_unwind(AssertUnwindSafe(parse))
        .unwrap_or_else(|_| Err(InputError::of_file(file, "", EXPECTED_BOOK)))
}

fn unreadable(file: &str) -> InputError {
    InputError::of_file(file, "", EXPECTED_BOOK)
}

impl Workbook {
    /// Opens a workbook after checking its size. `file` names it in errors.
    pub(crate) fn open(path: &Path, file: &str) -> Result<Self, InputError> {
        let open = || {
            File::open(path)
                .map_err(|error| InputError::of_file(file, &error.to_string(), EXPECTED_BOOK))
        };
        admit(open()?).map_err(|fault| InputError::of_file(file, "", fault.to_string()))?;
        let input = BufReader::new(open()?);
        guarded(file, || {
            let book = Xlsx::new(input).map_err(|_| unreadable(file))?;
            Ok(Self { book })
        })
    }

    /// The names of its sheets.
    pub(crate) fn sheet_names(&self) -> Vec<String> {
        self.book.sheet_names()
    }

    /// The rows of a sheet that hold anything.
    pub(crate) fn rows(&mut self, sheet: &str) -> Result<Vec<Record>, InputError> {
        let book = &mut self.book;
        guarded(sheet, || read_sheet(book, sheet))
    }
}

/// Spreadsheet programs take a position code for a formula unless they are told that it is text.
const NO_FORMULA: &str = "a value, not a formula; copy the cells and paste them as values; where a code that begins with = was meant, format the column as text and enter it anew";

/// A formula as its cell shows it to whoever edits it; what it gave where the text stands elsewhere.
fn formula_text(formula: &XlsxFormulaMetadata, value: &DataRef<'_>) -> String {
    match formula {
        XlsxFormulaMetadata::Normal { formula } | XlsxFormulaMetadata::Shared { formula, .. } => {
            format!("={formula}")
        }
        _ => shown(value),
    }
}

/// Reads a sheet cell by cell, in the order in which an office program writes them.
fn read_sheet(book: &mut Book, sheet: &str) -> Result<Vec<Record>, InputError> {
    let failed = |_: XlsxError| unreadable(sheet);
    let formats = shown_otherwise(book, sheet).map_err(failed)?;
    let mut cells = book.worksheet_cells_reader(sheet).map_err(failed)?;
    let mut rows: Vec<Record> = Vec::new();
    while let Some(cell) = cells.next_cell_with_formula_metadata().map_err(failed)? {
        if cell.formula.is_none() && cell.value == DataRef::Empty {
            continue;
        }
        let no_name = no_name((sheet, &rows), (cell.pos, &cell.value), &formats);
        let record = cell_of(&mut rows, sheet, cell.pos)?;
        match (&cell.formula, no_name) {
            (Some(formula), _) => {
                record.push_fault(&formula_text(formula, &cell.value), NO_FORMULA);
            }
            (None, Some(expected)) => record.push_fault(&shown(&cell.value), &expected),
            (None, None) => push_value(record, &cell.value),
        }
    }
    Ok(rows)
}

/// What is expected of a cell in a column that names something, where it shows something else than
/// it holds.
fn no_name(
    (sheet, rows): (&str, &[Record]),
    (position, value): ((u32, u32), &DataRef<'_>),
    formats: &HashMap<(u32, u32), Arc<str>>,
) -> Option<String> {
    let shows = match (formats.get(&position), value) {
        (Some(format), _) => {
            format!("the format “{format}” of the cell shows this number as something else")
        }
        (None, DataRef::DateTime(_) | DataRef::DateTimeIso(_) | DataRef::DurationIso(_)) => {
            "the cell shows a date or a time".to_owned()
        }
        _ => return None,
    };
    names((sheet, rows), position)
        .then(|| format!("a text: {shows}; format the column as text and enter what is meant anew"))
}

/// Whether a cell stands in a column that names something, by the first row of its sheet.
fn names((sheet, rows): (&str, &[Record]), (row, column): (u32, u32)) -> bool {
    let place = usize::try_from(column).unwrap_or(usize::MAX);
    rows.first()
        .is_some_and(|header| header.row <= u64::from(row) && is_name(sheet, header.cell(place)))
}

/// The cells of a sheet with a number that their format shows as something else, with that format.
/// The sheet is read for it only where the workbook has such a format.
fn shown_otherwise(
    book: &mut Book,
    sheet: &str,
) -> Result<HashMap<(u32, u32), Arc<str>>, XlsxError> {
    let mut found = HashMap::new();
    let mut cells = book.worksheet_cells_reader(sheet)?;
    let formats = cells.styles().iter().map(|style| {
        let code = style.number_format.as_ref()?.format_code.as_str();
        let as_typed = code == "General" || code == "@";
        (!as_typed).then(|| Arc::from(code))
    });
    let formats: Vec<Option<Arc<str>>> = formats.collect();
    if formats.iter().all(Option::is_none) {
        return Ok(found);
    }
    while let Some((cell, style)) = cells.next_cell_with_style_id()? {
        let number = match cell.get_value() {
            value @ (DataRef::Int(_) | DataRef::Float(_)) => shown(value),
            _ => continue,
        };
        let format = formats.get(style).and_then(Option::as_ref);
        let format = format.filter(|format| shows_otherwise(format, &number));
        if let Some(format) = format
            && cell.get_position().0 <= SHEET_ROWS_MAX
        {
            found.insert(cell.get_position(), Arc::clone(format));
        }
    }
    Ok(found)
}

/// The record that a cell belongs to, with the empty cells before it filled in.
fn cell_of<'a>(
    rows: &'a mut Vec<Record>,
    sheet: &str,
    (row, column): (u32, u32),
) -> Result<&'a mut Record, InputError> {
    let number = u64::from(row) + 1;
    let refuse = |expected: String| {
        let file = sheet.to_owned();
        Err(InputError::at(Location { file, row: number }, "", expected))
    };
    if SHEET_ROWS_MAX < row {
        return refuse(format!(
            "at most {SHEET_ROWS_MAX} rows in a sheet; put larger tables into a CSV file"
        ));
    }
    let place = usize::try_from(column).unwrap_or(usize::MAX);
    if COLUMNS_MAX <= place {
        return refuse(format!("at most {COLUMNS_MAX} columns"));
    }
    if rows.last().is_none_or(|last| last.row < number) {
        let mut record = Record::default();
        record.begin(number);
        rows.push(record);
    }
    match rows.last_mut() {
        Some(record) if record.row == number && record.width() <= place => {
            while record.width() < place {
                record.push("");
            }
            Ok(record)
        }
        _ => refuse("a workbook with its cells in order; save it anew".to_owned()),
    }
}

fn push_value(record: &mut Record, value: &DataRef<'_>) {
    match value {
        DataRef::DateTime(moment) => match date_text(*moment) {
            Some(date) => record.push(&date),
            None => record.push_fault(
                &shown(value),
                "a date without a time, or a text such as 2026-03-31T10:15+01:00",
            ),
        },
        DataRef::DateTimeIso(text) => {
            let date = text.strip_suffix("T00:00:00").unwrap_or(text);
            record.push(date);
        }
        DataRef::Error(_) => {
            record.push_fault(&shown(value), "a value; the cell shows an error");
        }
        DataRef::DurationIso(_) => record.push_fault(&shown(value), "a value, not a duration"),
        _ => record.push(&shown(value)),
    }
}

/// The date of a cell formatted as a date, if it has no time of day.
fn date_text(moment: ExcelDateTime) -> Option<String> {
    let (year, month, day, ..) = moment.to_ymd_hms_milli();
    let whole = moment.as_f64().fract() == 0.0 && 1.0 <= moment.as_f64();
    (moment.is_datetime() && whole).then(|| format!("{year:04}-{month:02}-{day:02}"))
}

/// A date with its time of day, as the sheet shows it; a duration as its number of days.
fn moment_text(moment: ExcelDateTime) -> String {
    if !moment.is_datetime() {
        return number_text(moment.as_f64());
    }
    let (year, month, day, hour, minute, second, _) = moment.to_ymd_hms_milli();
    format!("{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02}")
}

/// A value as a person would type it.
fn shown(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number_text(*number),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(truth) => truth.to_string(),
        DataRef::DateTime(moment) => moment_text(*moment),
        DataRef::Error(error) => error.to_string(),
        DataRef::Empty => String::new(),
    }
}

/// A number with the fifteen significant digits that a spreadsheet shows: what was typed as
/// 183600.5 is not to come back as 183600.49999999997.
fn number_text(number: f64) -> String {
    let rounded = format!("{number:.14e}").parse().unwrap_or(number);
    let whole = format!("{rounded}");
    if whole == "-0" { "0".to_owned() } else { whole }
}
