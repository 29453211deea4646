//! A row of a file as texts, whatever it was read from.

use super::error::shortened;
use super::limits::CELL_MAX_BYTES;
use domain::unseen::expected_of_text;

/// A row: its cells one after the other, and what is wrong with cells that are no text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Record {
    /// Its number as a spreadsheet shows it.
    pub(crate) row: u64,
    text: String,
    ends: Vec<usize>,
    /// Cells that cannot be read whatever they are for. Their text is empty.
    pub(crate) faults: Vec<CellFault>,
}

/// A cell that holds no text that could be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CellFault {
    /// Its place in the row, from 0.
    pub(crate) place: usize,
    /// What stands there, shortened.
    pub(crate) value: String,
    /// What would have been right.
    pub(crate) expected: String,
}

impl Record {
    /// Empties the record for another row.
    pub(crate) fn begin(&mut self, row: u64) {
        self.row = row;
        self.text.clear();
        self.ends.clear();
        self.faults.clear();
    }

    /// The number of its cells.
    pub(crate) fn width(&self) -> usize {
        self.ends.len()
    }

    /// Whether no cell holds anything.
    pub(crate) fn is_blank(&self) -> bool {
        self.text.is_empty() && self.faults.is_empty()
    }

    /// The text of a cell; empty beyond the last.
    pub(crate) fn cell(&self, place: usize) -> &str {
        let start = place.checked_sub(1).and_then(|p| self.ends.get(p));
        match (start.unwrap_or(&0), self.ends.get(place)) {
            (&start, Some(&end)) => &self.text[start..end],
            (_, None) => "",
        }
    }

    /// Adds a cell from its bytes.
    pub(crate) fn push_bytes(&mut self, bytes: &[u8]) {
        match std::str::from_utf8(bytes) {
            Ok(text) => self.push(text),
            Err(_) => self.push_fault(
                &String::from_utf8_lossy(bytes),
                "text in UTF-8; this is another encoding, perhaps Latin-1 or Windows-1252",
            ),
        }
    }

    /// Adds a cell.
    pub(crate) fn push(&mut self, text: &str) {
        if CELL_MAX_BYTES < text.len() {
            return self.push_fault(text, &format!("at most {CELL_MAX_BYTES} bytes in a cell"));
        }
        if text.chars().any(char::is_control) {
            return self.push_fault(text, "no line breaks and no control characters");
        }
        if let Some(expected) = (!text.is_ascii()).then(|| expected_of_text(text)).flatten() {
            return self.push_fault(text, &expected);
        }
        self.text.push_str(text);
        self.ends.push(self.text.len());
    }

    /// Adds a cell that cannot be read.
    pub(crate) fn push_fault(&mut self, value: &str, expected: &str) {
        self.faults.push(CellFault {
            place: self.ends.len(),
            value: shortened(value),
            expected: expected.to_owned(),
        });
        self.ends.push(self.text.len());
    }
}
