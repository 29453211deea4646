//! Rows that make one fact together: those of a unit, of a train, of a formation. They stand
//! one after the other, so that only one group is in memory at a time.

use super::cells::Cells;
use super::error::InputError;
use super::limits::GROUP_MAX_ROWS;
use super::record::Record;
use super::table_rows::TableRows;

/// A table whose rows belong together where the texts of the key columns are the same.
pub(crate) struct Groups {
    /// The table.
    pub(crate) rows: TableRows,
    keys: &'static [&'static str],
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
    pub(crate) fn new(rows: TableRows, keys: &'static [&'static str]) -> Self {
        Self {
            rows,
            keys,
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
                Ok(()) if group.records.len() < GROUP_MAX_ROWS => {
                    group.records.push(std::mem::take(&mut record));
                }
                Ok(()) => {
                    let expected =
                        format!("expected at most {GROUP_MAX_ROWS} rows that belong together");
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
            self.keys
                .iter()
                .all(|key| first.text(key) == next.text(key))
        })
    }
}
