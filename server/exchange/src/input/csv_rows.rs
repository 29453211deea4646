//! The rows of a CSV file (RFC 4180, UTF-8), read one after the other at a memory that depends
//! on the longest row and on nothing else.

use super::limits::RECORD_MAX_BYTES;
use super::record::Record;
use csv_core::{ReadRecordResult, Reader};
use std::io::{self, BufRead, Read};

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// Reads records and counts rows as a spreadsheet does: empty lines count, line breaks inside
/// a quoted cell do not.
pub(crate) struct CsvRows<R> {
    input: R,
    line: Vec<u8>,
    /// How much of the line is read.
    at: usize,
    core: Reader,
    cells: Vec<u8>,
    ends: Vec<usize>,
    rows: u64,
}

/// Why no further row of a file can be read.
#[derive(Debug)]
pub(crate) enum CsvFault {
    /// The file could not be read.
    Io(io::Error),
    /// It is no UTF-8.
    Utf16,
    /// A quotation mark is opened and not closed before the end of the file.
    Unclosed {
        /// The row it stands in.
        row: u64,
    },
    /// A record is too long: perhaps a quotation mark that is not closed.
    TooLong {
        /// The row it begins in.
        row: u64,
    },
}

impl From<io::Error> for CsvFault {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

/// Which lines belong to what is being read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lines {
    /// Between records: empty lines are only counted.
    SkipEmpty,
    /// Within a quoted cell: all.
    Any,
}

/// What one line added to a record.
enum Progress {
    Complete,
    Incomplete,
    TooLong,
}

impl<R: BufRead> CsvRows<R> {
    pub(crate) fn new(input: R) -> Self {
        Self {
            input,
            line: Vec::new(),
            at: 0,
            core: Reader::new(),
            cells: vec![0; 1024],
            ends: vec![0; 32],
            rows: 0,
        }
    }

    /// Reads the next row that is not an empty line. False at the end of the file.
    pub(crate) fn next(&mut self, record: &mut Record) -> Result<bool, CsvFault> {
        let (mut bytes, mut cells) = (0, 0);
        let mut between = Lines::SkipEmpty;
        loop {
            let more = self.at < self.line.len() || self.read_line(between)?;
            if !more && between == Lines::SkipEmpty {
                return Ok(false);
            }
            if !more {
                // The last row may lack its line break; it ends a row, but not a quoted cell.
                self.line.push(b'\n');
            }
            between = Lines::Any;
            match self.feed(&mut bytes, &mut cells) {
                Progress::Complete => break,
                Progress::Incomplete if more => {}
                Progress::Incomplete => return Err(CsvFault::Unclosed { row: self.rows + 1 }),
                Progress::TooLong => return Err(self.too_long()),
            }
        }
        self.rows += 1;
        self.fill(record, cells);
        Ok(true)
    }

    fn too_long(&self) -> CsvFault {
        CsvFault::TooLong { row: self.rows + 1 }
    }

    /// Reads a line into the buffer. False at the end of the file.
    fn read_line(&mut self, lines: Lines) -> Result<bool, CsvFault> {
        loop {
            self.at = 0;
            self.line.clear();
            let limit = RECORD_MAX_BYTES as u64 + 1;
            let mut limited = self.input.by_ref().take(limit);
            limited.read_until(b'\n', &mut self.line)?;
            if self.rows == 0 && lines == Lines::SkipEmpty {
                self.skip_mark()?;
            }
            if RECORD_MAX_BYTES < self.line.len() {
                return Err(self.too_long());
            }
            let empty = matches!(self.line[self.at..], [b'\n'] | [b'\r', b'\n']);
            if lines == Lines::Any || !empty {
                return Ok(self.at < self.line.len());
            }
            self.rows += 1;
        }
    }

    /// Skips a byte order mark, and refuses UTF-16.
    fn skip_mark(&mut self) -> Result<(), CsvFault> {
        let utf16 = [b"\xff\xfe", b"\xfe\xff"];
        if utf16.iter().any(|mark| self.line.starts_with(*mark)) || self.line.contains(&0) {
            return Err(CsvFault::Utf16);
        }
        if self.line.starts_with(BYTE_ORDER_MARK) {
            self.at = BYTE_ORDER_MARK.len();
        }
        Ok(())
    }

    /// Takes the rest of the line into the record; an empty rest ends the file.
    fn feed(&mut self, bytes: &mut usize, cells: &mut usize) -> Progress {
        loop {
            let (result, read, written, ended) = self.core.read_record(
                &self.line[self.at..],
                &mut self.cells[*bytes..],
                &mut self.ends[*cells..],
            );
            self.at += read;
            *bytes += written;
            *cells += ended;
            match result {
                ReadRecordResult::Record => {
                    if self.line[self.at..] == *b"\n" {
                        self.at = self.line.len();
                    }
                    return Progress::Complete;
                }
                ReadRecordResult::InputEmpty | ReadRecordResult::End => {
                    return Progress::Incomplete;
                }
                ReadRecordResult::OutputFull if RECORD_MAX_BYTES <= self.cells.len() => {
                    return Progress::TooLong;
                }
                ReadRecordResult::OutputFull => self.cells.resize(self.cells.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(self.ends.len() * 2, 0),
            }
        }
    }

    fn fill(&self, record: &mut Record, cells: usize) {
        record.begin(self.rows);
        let mut start = 0;
        for &end in &self.ends[..cells] {
            record.push_bytes(&self.cells[start..end]);
            start = end;
        }
    }
}
