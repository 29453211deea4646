//! Where generated rows go.

use crate::columns::Table;
use std::collections::HashMap;
use std::fmt::{self, Display};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// Takes rows of the tables of the format, those of one table in their order.
pub trait Sink {
    /// Takes a row: a cell for each column of the table.
    fn row(&mut self, table: &'static Table, cells: &[String]) -> io::Result<()>;
}

/// Writes each table into a CSV file of a folder.
pub struct FolderSink {
    folder: PathBuf,
    files: HashMap<&'static str, csv::Writer<File>>,
}

impl FolderSink {
    /// Makes the folder, unless it is there. Files in it are overwritten as rows come.
    pub fn create(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        Ok(Self {
            folder: folder.to_owned(),
            files: HashMap::new(),
        })
    }

    /// Writes what is still in memory.
    pub fn finish(self) -> io::Result<()> {
        self.files
            .into_values()
            .try_for_each(|mut file| file.flush())
    }

    fn file(&mut self, table: &'static Table) -> io::Result<&mut csv::Writer<File>> {
        use std::collections::hash_map::Entry;
        match self.files.entry(table.name) {
            Entry::Occupied(file) => Ok(file.into_mut()),
            Entry::Vacant(place) => {
                let path = self.folder.join(format!("{}.csv", table.name));
                let mut file = csv::Writer::from_path(path)?;
                file.write_record(table.columns.iter().map(|column| column.name))?;
                Ok(place.insert(file))
            }
        }
    }
}

impl Sink for FolderSink {
    fn row(&mut self, table: &'static Table, cells: &[String]) -> io::Result<()> {
        Ok(self.file(table)?.write_record(cells)?)
    }
}

/// The cells of a row from the values of some columns; the other cells are empty.
pub(super) fn cells(table: &Table, values: &[(&str, &dyn Display)]) -> Vec<String> {
    let mut cells = vec![String::new(); table.columns.len()];
    for (column, value) in values {
        let place = table.place(column);
        debug_assert!(place.is_some(), "{} has no {column}", table.name);
        if let Some(cell) = place.and_then(|place| cells.get_mut(place)) {
            *cell = value.to_string();
        }
    }
    cells
}

/// A value that may be absent, as a cell.
pub(super) struct Maybe<T>(pub(super) Option<T>);

impl<T: Display> Display for Maybe<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.as_ref().map_or(Ok(()), |value| value.fmt(f))
    }
}

/// Values of a list, as a cell.
pub(super) fn listed<T: Display>(values: impl IntoIterator<Item = T>) -> String {
    let texts: Vec<String> = values.into_iter().map(|value| value.to_string()).collect();
    texts.join(";")
}
