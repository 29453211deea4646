//! Rows that make one fact together: those of a unit, of a train, of a formation. They stand
//! one after the other, so that only one group is in memory at a time.

use super::cells::Cells;
use super::error::InputError;
use super::record::Record;
use super::table_rows::TableRows;

/// What makes rows of a table belong together.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Together {
    /// Columns whose texts are the same.
    pub(crate) keys: &'static [&'static str],
    /// The most rows that may: they are in memory at once.
    pub(crate) rows_max: usize,
}

/// A table whose rows belong together.
pub(crate) struct Groups {
    /// The table.
    pub(crate) rows: TableRows,
    together: Together,
    /// The first row of the next group.
    ahead: Option<Record>,
}

/// The rows of a group, and what is wrong with rows among them.
pub(crate) struct Group {
    /// At least one, unless rows could not be read.
    pub(crate) records: Vec<Record>,
    /// Rows that could not be read at all.
    pub(crate) errors: Vec<InputError>,
}

impl Groups {
    pub(crate) fn new(rows: TableRows, together: Together) -> Self {
        Self {
            rows,
            together,
            ahead: None,
        }
    }

    /// The next group. A row that cannot be read is counted to the group before it.
    pub(crate) fn next(&mut self) -> Option<Group> {
        let mut group = Group {
            records: self.ahead.take().into_iter().collect(),
            errors: Vec::new(),
        };
        let mut record = Record::default();
        while let Some(row) = self.rows.next(&mut record) {
            match row {
                Err(error) => group.errors.push(error),
                Ok(()) if !self.continues(&group, &record) => {
                    self.ahead = Some(record);
                    return Some(group);
                }
                Ok(()) if group.records.len() < self.together.rows_max => {
                    group.records.push(std::mem::take(&mut record));
                }
                Ok(()) => {
                    let most = self.together.rows_max;
                    let expected = format!("expected at most {most} rows that belong together");
                    let error = InputError::at(self.rows.location(&record), "", expected);
                    group.errors.push(error);
                }
            }
        }
        let any = !group.records.is_empty() || !group.errors.is_empty();
        any.then_some(group)
    }

    fn continues(&self, group: &Group, record: &Record) -> bool {
        group.records.first().is_none_or(|first| {
            let first = Cells::new(&self.rows, first);
            let next = Cells::new(&self.rows, record);
            let mut keys = self.together.keys.iter();
            keys.all(|key| first.text(key) == next.text(key))
        })
    }
}
