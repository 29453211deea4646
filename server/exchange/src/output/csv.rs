//! Lists as CSV (RFC 4180, UTF-8).

use super::{Cell, OutputError};
use std::io::{self, Write};

/// Writes a list as CSV for people who open it in a spreadsheet.
///
/// A spreadsheet takes a cell that begins with `=`, `+`, `-`, `@`, a tab or a line break for a
/// formula and would run it; position codes begin so. Texts that do are written with a single
/// quotation mark before them, which spreadsheets take as the sign of a text. Such a list is
/// therefore not for bringing in again: the input format keeps its codes as they are.
pub fn write_csv<W: Write>(
    output: W,
    header: &[&str],
    rows: impl IntoIterator<Item = Vec<Cell>>,
) -> Result<(), OutputError> {
    let mut writer = ::csv::Writer::from_writer(output);
    writer.write_record(header).map_err(io::Error::from)?;
    for row in rows {
        writer
            .write_record(row.iter().map(text))
            .map_err(io::Error::from)?;
    }
    writer.flush()?;
    Ok(())
}

fn text(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) => {
            format!("'{text}")
        }
        Cell::Text(text) => text.clone(),
        Cell::Number(number) if number.is_finite() => number.to_string(),
        Cell::Day(day) => day.to_string(),
        Cell::Number(_) | Cell::Empty => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(rows: Vec<Vec<Cell>>) -> String {
        let mut output = Vec::new();
        write_csv(&mut output, &["position", "value"], rows).expect("memory takes it");
        String::from_utf8(output).expect("UTF-8")
    }

    #[test]
    fn no_text_opens_as_a_formula_and_numbers_stay_numbers() {
        let text = |t: &str| Cell::Text(t.to_owned());
        let list = written(vec![
            vec![text("=BS1-Q1"), Cell::Number(-3.5)],
            vec![text("@x"), Cell::Day("2026-03-31".parse().expect("a day"))],
            vec![text("a \"b\", c"), Cell::Empty],
            vec![text("\tx"), Cell::Number(f64::NAN)],
        ]);
        let expected = "position,value\n'=BS1-Q1,-3.5\n'@x,2026-03-31\n\
                        \"a \"\"b\"\", c\",\n'\tx,\n";
        assert_eq!(list, expected);
    }

    #[test]
    fn a_row_of_another_length_than_the_header_is_refused() {
        let rows = vec![vec![Cell::Empty]];
        assert!(write_csv(Vec::new(), &["a", "b"], rows).is_err());
    }
}
