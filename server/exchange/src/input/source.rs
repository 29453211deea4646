//! Where an input comes from: a folder of CSV files, or an XLSX workbook.

use super::csv_rows::CsvRows;
use super::error::InputError;
use super::table_rows::{Rows, TableRows};
use super::things::Thing;
use super::unread::Unread;
use super::workbook::Workbook;
use crate::columns::{FORMATIONS, TABLES, Table, table};
use std::fs::{self, File};
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

/// An input that can be opened table by table.
pub(crate) enum Source {
    Folder(PathBuf),
    Workbook {
        book: Box<Workbook>,
        sheets: Vec<String>,
    },
}

const EXPECTED: &str = "a folder of CSV files, or an XLSX workbook";

impl Source {
    /// Looks at what lies at a path.
    pub(crate) fn at(path: &Path) -> Result<Self, InputError> {
        let name = name_of(path);
        let refuse = |error: &io::Error| InputError::of_file(&name, &error.to_string(), EXPECTED);
        if fs::metadata(path).map_err(|e| refuse(&e))?.is_dir() {
            return Ok(Self::Folder(path.to_owned()));
        }
        let mut begin = Vec::new();
        let file = File::open(path).map_err(|e| refuse(&e))?;
        file.take(2)
            .read_to_end(&mut begin)
            .map_err(|e| refuse(&e))?;
        if begin != b"PK" {
            return Err(InputError::of_file(&name, "", EXPECTED));
        }
        let book = Box::new(Workbook::open(path, &name)?);
        let sheets = book.sheet_names();
        Ok(Self::Workbook { book, sheets })
    }

    /// Files or sheets that do not belong to the format: perhaps a name with a slip in it,
    /// whose rows would be lost unnoticed. Of which table that is, is told where it can be.
    pub(crate) fn strangers(&self) -> Vec<Unread> {
        let names = match self {
            Self::Folder(folder) => match csv_files(folder) {
                Ok(names) => names,
                Err(error) => {
                    let name = name_of(folder);
                    return vec![InputError::of_file(&name, &error.to_string(), EXPECTED).into()];
                }
            },
            Self::Workbook { sheets, .. } => sheets.clone(),
        };
        let known: Vec<&str> = TABLES.iter().map(|table| table.name).collect();
        let known = known.join(", ");
        if names.is_empty() {
            let name = match self {
                Self::Folder(folder) => name_of(folder),
                Self::Workbook { .. } => "the workbook".to_owned(),
            };
            let expected = format!("at least one table, of those named {known}");
            return vec![InputError::of_file(&name, "", expected).into()];
        }
        let belongs = |name: &str| table(bare(name)).is_some() || bare(name) == FORMATIONS.name;
        let strangers = names.iter().filter(|name| !belongs(name));
        let told = strangers.map(|name| {
            let meant = TABLES
                .into_iter()
                .find(|table| alike(table.name, bare(name)));
            let expected = match meant {
                Some(table) => format!("the name {}, to the letter", table.name),
                None => format!("only tables named {known}"),
            };
            let error = InputError::of_file(name, name, expected);
            Unread::new(vec![error], meant.and_then(Thing::of_table))
        });
        told.collect()
    }

    /// Opens a table and reads its header row. `None` if the input does not have it.
    pub(crate) fn open(
        &mut self,
        table: &'static Table,
    ) -> Option<Result<TableRows, Vec<InputError>>> {
        match self {
            Self::Folder(folder) => {
                let name = format!("{}.csv", table.name);
                let rows = match File::open(folder.join(&name)) {
                    Ok(file) => Rows::Csv(Box::new(CsvRows::new(BufReader::new(file)))),
                    Err(error) if error.kind() == io::ErrorKind::NotFound => return None,
                    Err(error) => {
                        let expected = "a file that can be read";
                        let error = InputError::of_file(&name, &error.to_string(), expected);
                        return Some(Err(vec![error]));
                    }
                };
                Some(TableRows::open(table, name, rows))
            }
            Self::Workbook { book, sheets } => {
                sheets.iter().find(|sheet| *sheet == table.name)?;
                let name = table.name.to_owned();
                Some(match book.rows(table.name) {
                    Ok(rows) => TableRows::open(table, name, Rows::Sheet(rows.into_iter())),
                    Err(error) => Err(vec![error]),
                })
            }
        }
    }

    /// The number of lines of all tables without their header rows. Reads the files once;
    /// `None` for a workbook.
    pub(crate) fn lines(&self) -> Option<u64> {
        let Self::Folder(folder) = self else {
            return None;
        };
        let lines_of = |table: &&Table| {
            let file = File::open(folder.join(format!("{}.csv", table.name))).ok()?;
            Some(count_lines(file).ok()?.saturating_sub(1))
        };
        Some(TABLES.iter().filter_map(lines_of).sum())
    }
}

fn bare(name: &str) -> &str {
    name.strip_suffix(".csv").unwrap_or(name)
}

/// Whether a name is that of a table but for case, signs between words and the last s.
fn alike(table: &str, name: &str) -> bool {
    let letters = |name: &str| -> String {
        let name = name.to_lowercase();
        let name = name.strip_suffix(".csv").unwrap_or(&name);
        let letters: String = name.chars().filter(|c| c.is_alphanumeric()).collect();
        letters.trim_end_matches('s').to_owned()
    };
    letters(table) == letters(name)
}

fn name_of(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}

/// The names of the CSV files of a folder, in order; hidden ones left out.
fn csv_files(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        let is_csv = name.to_ascii_lowercase().ends_with(".csv");
        if is_csv && !name.starts_with('.') {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}

fn count_lines(mut file: File) -> io::Result<u64> {
    let mut chunk = vec![0; 64 * 1024];
    let mut lines = 0;
    loop {
        match file.read(&mut chunk)? {
            0 => return Ok(lines),
            size => {
                let line_ends = chunk[..size].iter().map(|byte| u64::from(*byte == b'\n'));
                lines += line_ends.sum::<u64>();
            }
        }
    }
}
