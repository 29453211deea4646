//! The same tables as sheets of a workbook.

use super::sample::{SAMPLE, sample_folder};
use super::{options, read};
use crate::input::{Input, InputError};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};
use std::path::PathBuf;
use tempfile::TempDir;

fn saved(mut workbook: Workbook) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("fleet.xlsx");
    workbook.save(&path).expect("a workbook");
    (folder, path)
}

/// What is said of a workbook with one sheet of parts.
fn errors_of_parts(fill: impl Fn(&mut Worksheet)) -> Vec<String> {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet().set_name("parts").expect("a name");
    for (column, name) in (0..).zip(["part", "title", "kind"]) {
        sheet.write_string(0, column, name).expect("a cell");
    }
    fill(sheet);
    let (_folder, path) = saved(workbook);
    read(&path).1.iter().map(ToString::to_string).collect()
}

/// Writes a cell as a person would: numbers as numbers, dates as dates, the rest as text.
fn write_typed(sheet: &mut Worksheet, row: u32, column: u16, text: &str) {
    let is_serial = text.starts_with('0') && 1 < text.len();
    let date = ExcelDateTime::parse_from_str(text)
        .ok()
        .filter(|_| text.len() == 10);
    let result = match (date, text.parse::<f64>()) {
        (Some(date), _) => {
            let format = Format::new().set_num_format("yyyy-mm-dd");
            sheet.write_datetime_with_format(row, column, &date, &format)
        }
        (None, Ok(number)) if !is_serial => sheet.write_number(row, column, number),
        _ if text.is_empty() => return,
        _ => sheet.write_string(row, column, text),
    };
    result.expect("a cell");
}

fn sample_workbook() -> (TempDir, PathBuf) {
    let mut workbook = Workbook::new();
    for (name, content) in SAMPLE {
        let sheet = workbook.add_worksheet().set_name(name).expect("a name");
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(content.as_bytes());
        for (row, record) in (0..).zip(reader.records()) {
            for (column, cell) in (0..).zip(record.expect("a row").iter()) {
                write_typed(sheet, row, column, cell);
            }
        }
    }
    saved(workbook)
}

#[test]
fn a_workbook_and_a_folder_of_the_same_content_give_the_same_commands() {
    let (_folder, workbook) = sample_workbook();
    let (from_book, errors) = read(&workbook);
    assert_eq!(errors, []);
    let folder = sample_folder();
    let (from_folder, _) = read(folder.path());
    let commands = |all: Vec<(String, _)>| -> Vec<_> { all.into_iter().map(|(_, c)| c).collect() };
    let places: Vec<String> = from_folder
        .iter()
        .map(|(p, _)| p.replace(".csv", ""))
        .collect();
    assert_eq!(
        from_book.iter().map(|(p, _)| p.clone()).collect::<Vec<_>>(),
        places
    );
    assert_eq!(commands(from_book), commands(from_folder));
}

#[test]
fn a_formula_is_no_value() {
    let errors = errors_of_parts(|sheet| {
        sheet.write_string(1, 0, "K1").expect("a cell");
        sheet
            .write_formula(1, 1, Formula::new("=A2&\"x\"").set_result("K1x"))
            .expect("a cell");
        sheet.write_string(1, 2, "hose").expect("a cell");
    });
    let [error] = &errors[..] else {
        panic!("{errors:?}")
    };
    let expected = "parts, row 2, column title: “=A2&\"x\"”; \
                    expected a value, not a formula; copy the cells and paste them as values";
    assert!(error.starts_with(expected), "{error}");
    assert!(error.contains("a code that begins with ="), "{error}");
}

#[test]
fn dates_with_a_time_and_cells_beyond_the_header_are_refused() {
    let errors = errors_of_parts(|sheet| {
        let format = Format::new().set_num_format("yyyy-mm-dd hh:mm");
        let time = ExcelDateTime::parse_from_str("2026-03-31 10:15").expect("a time");
        sheet.write_string(1, 0, "K1").expect("a cell");
        sheet
            .write_datetime_with_format(1, 1, &time, &format)
            .expect("a cell");
        sheet.write_string(1, 2, "hose").expect("a cell");
        sheet.write_string(2, 3, "beyond").expect("a cell");
    });
    assert_eq!(errors.len(), 2, "{errors:#?}");
    assert!(errors[1].contains("row 2, column title"), "{errors:#?}");
    assert!(errors[1].contains("a date without a time"), "{errors:#?}");
    let as_shown = "“2026-03-31 10:15:00”";
    assert!(errors[1].contains(as_shown), "{errors:#?}");
    assert!(
        errors[0].contains("row 3: the row has 4 cells; expected 3 cells"),
        "{errors:#?}"
    );
}

#[test]
fn empty_rows_count_and_numbers_keep_what_was_typed() {
    let errors = errors_of_parts(|sheet| {
        sheet.write_number(4, 0, 12.0).expect("a cell");
        sheet
            .write_number(4, 1, 183_600.499_999_999_97)
            .expect("a cell");
        sheet.write_number(4, 2, 1e308).expect("a cell");
    });
    assert_eq!(errors.len(), 1);
    assert!(
        errors[0].starts_with("parts, row 5, column kind: “1000"),
        "{errors:#?}"
    );
}

/// What people read in such a cell is 0041, and it would come in as 41.
#[test]
fn a_number_that_its_format_shows_as_something_else_names_nothing() {
    let format = Format::new().set_num_format("0000");
    let errors = errors_of_parts(|sheet| {
        for (row, number) in [(1, 41.0), (2, 4101.0)] {
            sheet
                .write_number_with_format(row, 0, number, &format)
                .expect("a cell");
            // A title is no name.
            sheet
                .write_number_with_format(row, 1, 7.0, &format)
                .expect("a cell");
            sheet.write_string(row, 2, "hose").expect("a cell");
        }
    });
    let expected = "parts, row 2, column part: “41”; expected a text: the format “0000” of the \
                    cell shows this number as something else; format the column as text and enter \
                    what is meant anew";
    assert_eq!(errors, [expected]);
}

/// What people read in these cells is 1.10 and 7-Jan.
#[test]
fn a_date_and_a_number_with_more_decimals_name_nothing() {
    let date = ExcelDateTime::parse_from_str("2012-01-07").expect("a date");
    let day = Format::new().set_num_format("d-mmm");
    let decimals = Format::new().set_num_format("0.00");
    let errors = errors_of_parts(|sheet| {
        sheet
            .write_datetime_with_format(1, 0, &date, &day)
            .expect("a cell");
        sheet
            .write_number_with_format(2, 0, 1.1, &decimals)
            .expect("a cell");
        sheet.write_number(3, 0, 1.1).expect("a cell");
        for row in 1..=3 {
            sheet.write_string(row, 1, "A valve").expect("a cell");
            sheet.write_string(row, 2, "hose").expect("a cell");
        }
    });
    let expected = [
        "parts, row 2, column part: “2012-01-07 00:00:00”; expected a text: the cell shows a date \
         or a time; format the column as text and enter what is meant anew",
        "parts, row 3, column part: “1.1”; expected a text: the format “0.00” of the cell shows \
         this number as something else; format the column as text and enter what is meant anew",
    ];
    assert_eq!(errors, expected);
}

#[test]
fn a_sheet_of_an_unknown_name_is_named() {
    let mut workbook = Workbook::new();
    workbook
        .add_worksheet()
        .set_name("Parts list")
        .expect("a name");
    let (_folder, path) = saved(workbook);
    let (_, errors) = read(&path);
    assert_eq!(errors.len(), 1);
    assert_eq!(errors[0].location.file, "Parts list");
}

fn open_bytes(bytes: &[u8]) -> Result<Vec<String>, InputError> {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("fleet.xlsx");
    std::fs::write(&path, bytes).expect("a file");
    let input = Input::open(&path, options())?;
    let errors = input
        .filter_map(Result::err)
        .flat_map(|unread| unread.errors);
    Ok(errors.map(|error| error.to_string()).collect())
}

#[test]
fn a_damaged_workbook_is_an_error_and_no_panic() {
    let (_folder, path) = sample_workbook();
    let whole = std::fs::read(path).expect("a file");
    assert!(open_bytes(&whole[..whole.len() / 2]).is_err());
    assert!(open_bytes(b"PK").is_err());
    for step in (0..whole.len()).step_by(whole.len() / 60) {
        let mut damaged = whole.clone();
        damaged[step] ^= 0x55;
        // Whatever it says, it says it without stopping.
        let _ = open_bytes(&damaged);
    }
}

/// A workbook whose parts are these.
fn archive(parts: &[(&str, &[u8])]) -> Vec<u8> {
    use std::io::Write;
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in parts {
        let options = zip::write::SimpleFileOptions::default();
        writer.start_file(*name, options).expect("a part");
        writer.write_all(content).expect("a part");
    }
    writer.finish().expect("an archive").into_inner()
}

#[test]
fn a_small_file_that_unpacks_to_much_is_refused() {
    let spaces = vec![b' '; 5 * 1024 * 1024];
    let bomb = archive(&[("xl/styles.xml", &spaces)]);
    assert!(bomb.len() < 100_000, "{} bytes", bomb.len());
    let error = open_bytes(&bomb).expect_err("refused");
    let expected = "a part xl/styles.xml that unpacks to at most 4194304 bytes";
    assert!(error.expected.starts_with(expected), "{error}");
}

#[test]
fn a_workbook_that_announces_too_many_texts_is_refused() {
    let texts = b"<?xml version=\"1.0\"?><sst count=\"1\" uniqueCount = '99999999999999999999'/>";
    let error = open_bytes(&archive(&[("xl/sharedStrings.xml", texts)])).expect_err("refused");
    assert_eq!(error.expected, "at most 5000000 texts in a workbook");
}
